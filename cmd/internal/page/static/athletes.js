// The athletes: the roster of the journal, one athlete's months, and the line of earlier
// readings under the ruler. All words and drawings come from the server.

import { $, chartWide, drawing, el, plain, say } from "./dom.js";
import { ask, quiet, whenBack } from "./net.js";
import { amount } from "./setup.js";
import { openSheets } from "./sheets.js";
import { corrections } from "./correct.js";
import { groupSection } from "./group.js";
import { planFold } from "./plan.js";
import { squadSection } from "./squad.js";

export class Athletes {
  // to.look(id, frame) is called before a link to a take is followed.
  constructor(to) {
    this.to = to;
    this.number = null; // of the athlete that shows, null for the roster
    this.roster = []; // as the server last sent it
    this.names();
  }

  // show shows the roster, or the athlete with a number.
  async show(number = null) {
    if (number !== this.number) {
      $("athletes-all").replaceChildren();
      $("athletes-says").textContent = "";
      this.asked = {}; // the angle that each movement asks, degrees, by its name
    }
    this.number = number;
    this.showing?.abort();
    const mine = (this.showing = new AbortController());
    $("athletes").setAttribute("aria-busy", "true");
    try {
      if (number === null) this.#roster(await ask("/athletes", { signal: mine.signal }));
      else this.#athlete(await ask(`/athletes/${number}?wide=${chartWide()}${this.#asked()}`, { signal: mine.signal }));
      if (document.activeElement === document.body) $("athletes-h").focus({ preventScroll: true }); // the link that led here is gone
    } catch (e) {
      if (this.showing !== mine) return;
      if (quiet(e)) whenBack(() => this.showing === mine && this.show(this.number));
      else if (e.status === 404 && number !== null) location.replace("#athletes");
      else $("athletes-all").replaceChildren(el("p", { class: "wrong" }, el("strong", {}, e.message), e.hint ? `: ${e.hint}` : ""));
    } finally {
      if (this.showing === mine) $("athletes").setAttribute("aria-busy", "false");
    }
  }

  // changed is called when readings were kept, erased or filed under another name.
  changed() {
    this.names();
    if (document.body.classList.contains("roster") && !$("athletes").querySelector(".correct[open]")) this.show(this.number);
  }

  // numbered returns the number of an athlete by the name, null if it is not in the journal.
  numbered(name) { return this.roster.find((a) => a.name.toLowerCase() === name.trim().toLowerCase())?.number ?? null; }

  // names fills the list of names that fields offer.
  async names() {
    try {
      const { athletes } = await ask("/athletes");
      this.roster = athletes;
      $("names").replaceChildren(...athletes.map((a) => el("option", { value: a.name })));
    } catch { /* show says why */ }
  }

  #roster({ athletes, damaged, groups, plans, movements, list }) {
    $("athletes-h").textContent = "the athletes";
    $("athletes-counts").textContent = damaged;
    $("athletes-back").hidden = true;
    $("athletes-all").replaceChildren(...[athletes.length === 0
      ? el("p", { class: "empty" }, "Nobody yet. A reading that is kept under a name stands here, with those before it.")
      : el("ul", { class: "names" }, ...athletes.map((a) => el("li", {},
        el("a", { href: `#athletes/${a.number}` }, el("span", { class: "name" }, a.name), el("span", {}, a.last), el("span", { class: "faint" }, a.counts))))), squadSection(movements, list, athletes.length > 0), groupSection(groups, list), planFold(plans, null)].filter(Boolean));
  }

  #athlete(a) {
    $("athletes-h").textContent = a.name;
    $("athletes-counts").textContent = a.counts;
    $("athletes-back").hidden = false;
    document.title = `${a.name}, écart`;
    const done = (says) => {
      say(says);
      $("athletes-says").textContent = says;
      this.names();
      this.show(this.number).then(() => $("athletes-h").focus());
    };
    const sheets = sheetsOf(a, this.asked ?? {});
    $("athletes-all").replaceChildren(a.statures.length ? el("p", { class: "statures" }, el("strong", {}, "how tall: "), a.statures.join(", ")) : "", ...a.measures.map((m) => this.#measure(a, m, sheets, done)), ...a.contrasts.map((c) => this.#contrast(c, sheets)),
      a.damaged.length ? el("section", { class: "kept" }, el("h3", {}, "damaged"), el("ol", { class: "rows" }, ...a.damaged.map((d) => el("li", {}, el("span", {}, d.says), corrections(d.number, `reading ${d.number}`, "", done))))) : "");
  }

  #measure(a, m, sheets, done) {
    const id = `m-${keyOf(m)}`;
    return el("section", { class: "measure", "aria-labelledby": id },
      el("h3", { id }, m.title),
      el("div", { class: "both" },
        el("div", {},
          m.missing ? el("p", {}, m.missing) : null,
          ...m.trends.flatMap((t) => [el("p", { class: "says" }, t.says), el("p", { class: "faint" }, t.kind)]),
          m.sides ? el("p", { class: "sides" }, "left against right: ", m.sides) : null,
          ...m.steps.map((s) => el("p", {}, s)),
          m.movement && m.gaps.length === 0 ? el("p", { class: "faint" }, m.no_gaps) : null,
          m.movement && (m.gaps.length === 0 || this.asked?.[m.movement]) ? this.#ask(m) : null),
        el("div", {}, ...m.charts.map(drawing))),
      ...m.gaps.map((g) => el("div", { class: "both gaps" },
        el("div", {}, el("h4", {}, `the gaps, ${g.title}`), el("p", { class: "says" }, g.says)),
        el("div", {}, g.chart ? drawing(g.chart) : null))),
      el("p", { class: "doings saves" }, sheetButton("sheet of the months", sheets, `months ${keyOf(m)}`), m.gaps.length ? sheetButton("sheet of the gaps", sheets, `gaps ${m.movement}`) : null),
      fold("what is to be known", [...m.notes, ...m.cautions]),
      planFold([{ measure: m.measure, title: m.title }], a.number),
      el("h4", {}, "the readings"),
      el("ol", { class: m.readings.some((r) => r.take) ? "rows pictured" : "rows" }, ...m.readings.map((r) => this.#reading(a, r, sheets, done))));
  }

  #asked() { return Object.entries(this.asked ?? {}).map(([movement, deg]) => `&asked=${movement}:${deg}`).join(""); }

  // #ask is a form for the angle that a movement asks, if its readings have none.
  #ask(m) {
    const id = `asked-${m.movement}`;
    return el("form", { class: "asked", onsubmit: (e) => {
      e.preventDefault();
      const v = amount($(id).value);
      $(id).setAttribute("aria-invalid", String(!v || v > 360));
      if (!v || v > 360) return;
      this.asked[m.movement] = v;
      this.show(this.number);
    } }, el("p", { class: "field" }, el("label", { for: id }, "what is asked, degrees"), el("input", { id, inputmode: "decimal", autocomplete: "off", maxlength: 6, value: this.asked?.[m.movement] ?? "" }), el("button", {}, "show the gaps")));
  }

  // #contrast shows two positions that differ in one thing.
  #contrast(c, sheets) {
    const id = `c-${c.name}`;
    return el("section", { class: "measure", "aria-labelledby": id },
      el("h3", { id }, c.title),
      ...c.sides.map((s) => el("div", { class: "both gaps" },
        el("div", {}, el("h4", {}, s.title), el("p", { class: "says" }, s.says)),
        el("div", {}, s.chart ? drawing(s.chart) : null))),
      el("p", {}, "it separates ", c.separates),
      ...c.next.map((n) => el("p", {}, "next is looked at, ", n)),
      fold("what it cannot say, and where it comes from", [...c.cannot, c.source]),
      fold("what is to be known", c.notes),
      el("p", { class: "doings saves" }, sheetButton("sheet of the pair", sheets, `contrast ${c.name}`)));
  }

  #reading(a, r, sheets, done) {
    return el("li", { "data-reading": r.number },
      r.take ? el("a", { class: "small", href: `#${r.take}`, onclick: () => this.to.look(r.take, r.frame) },
        el("img", { src: `/takes/${r.take}/frames/${r.frame}?w=192`, alt: `the picture of reading ${r.number}`, loading: "lazy", width: 96, height: 54 })) : null,
      el("span", { class: "day" }, r.day, el("span", { class: "faint" }, `reading ${r.number}`)),
      el("span", { class: "angle" }, r.angle),
      el("span", { class: "band" }, r.band, el("span", { class: "faint" }, r.how)),
      el("span", { class: "row-do" }, r.take ? sheetButton("sheet", sheets, `reading ${r.number}`) : null,
        corrections(r.number, `reading ${r.number} of ${r.day}`, a.name, done)));
  }
}

// keyOf returns the key of a measure in a position.
const keyOf = (m) => (m.variant ? `${m.measure}-${m.variant}` : m.measure);

// sheetsOf returns the sheets that there are for an athlete.
function sheetsOf(a, asked) {
  const base = `/athletes/${a.number}`, readers = ["coach", "athlete", "parent"];
  return [...a.contrasts.map((c) => ({ key: `contrast ${c.name}`, words: `${c.title}, ${a.name}`, address: `${base}/contrast.html?contrast=${c.name}`, readers: ["coach"] })), ...a.measures.flatMap((m) => [
    { key: `months ${keyOf(m)}`, words: `the months of ${a.name}, ${m.title}`, address: `${base}/months.html?measure=${m.measure}${m.variant && `&variant=${m.variant}`}`, readers },
    ...(m.gaps.length ? [{ key: `gaps ${m.movement}`, words: `the gaps of ${a.name}, ${m.movement}`, address: `${base}/gaps.html?movement=${m.movement}${asked[m.movement] ? `&asked=${m.movement}:${asked[m.movement]}` : ""}`, readers }] : []),
    ...m.readings.filter((r) => r.take).map((r) => ({ key: `reading ${r.number}`, words: `the reading of ${r.day}, ${m.title} ${r.angle}`, address: `/readings/${r.number}/sheet.html?take=${r.take}`,
      readers: ["athlete", "parent", "judge"], picture: { src: `/takes/${r.take}/frames/${r.frame}?w=1024`, width: r.width, height: r.height, key: `${r.take} ${r.frame}` } })),
  ])];
}

// sheetButton opens the panel with one of the sheets chosen.
function sheetButton(words, sheets, key) {
  const i = sheets.findIndex((k) => k.key === key);
  return el("button", { type: "button", "data-sheet": key, "aria-label": words === "sheet" ? `sheet of ${key}` : null, onclick: () => openSheets(sheets, i) }, words);
}

function fold(title, list) {
  return list.length ? el("details", {}, el("summary", {}, title), el("ul", { class: "faint" }, ...list.map((t) => el("li", {}, t)))) : null;
}

let later, asking;

// earlier shows the athlete's earlier readings under the ruler, after a pause in typing.
export function earlier(order) {
  clearTimeout(later);
  asking?.abort();
  const show = (says) => {
    $("earlier").textContent = says;
    $("earlier").hidden = !says;
  };
  if (!order.athlete.trim() || !order.measure) return show("");
  later = setTimeout(async () => {
    asking = new AbortController();
    try {
      show((await ask("/athletes/earlier", { method: "POST", body: { ...order, athlete: plain(order.athlete) }, signal: asking.signal })).says);
    } catch (e) { if (!quiet(e)) show(""); }
  }, 200);
}
