// The screens of a squad below the roster: who lacks which degrees, sorted by what is decided, and
// the takes that are missing or would decide. All words and figures come from the server.

import { $, el } from "./dom.js";
import { ask, quiet } from "./net.js";
import { openSheets } from "./sheets.js";

let movement = "", listed = false, asked = "", asking = null;

// whoChoice returns the choice between all athletes and those of today's list; null if there is no list.
export function whoChoice(id, list, on, change) {
  if (list === "") return null;
  return el("p", { class: "field" }, el("label", { for: id }, "of"),
    el("select", { id, onchange: (e) => change(e.target.value === "list") },
      el("option", { value: "" }, "all athletes"), el("option", { value: "list", selected: on ? "" : null }, `the list ${list}`)));
}

// squadSection returns the section of the screens; movements are those to choose from. It is null if there is neither a
// reading nor a list.
export function squadSection(movements, list, readings) {
  if (!readings && list === "") return null;
  listed = list !== "" && (listed || !readings);
  if (!movements.some((m) => m.movement === movement)) movement = movements[0].movement;
  const section = el("section", { id: "squad", class: "measure", "aria-labelledby": "squad-h" },
    el("h3", { id: "squad-h" }, "where degrees are missing"),
    el("p", { class: "field" }, el("label", { for: "squad-what" }, "the screens of"),
      el("select", { id: "squad-what", onchange: (e) => { movement = e.target.value; show(movements); } }, ...movements.map((m) => el("option", { value: m.movement, selected: m.movement === movement ? "" : null }, m.title)))),
    whoChoice("squad-who", list, listed, (v) => { listed = v; show(movements); }),
    el("form", { onsubmit: (e) => { e.preventDefault(); asked = $("squad-asked").value.replace(",", ".").trim(); show(movements); } },
      el("p", { class: "field" }, el("label", { for: "squad-asked" }, "asked, degrees (else what the skills ask)"),
        el("span", {}, el("input", { id: "squad-asked", inputmode: "decimal", autocomplete: "off", size: 5, maxlength: 6, value: asked }), " ", el("button", {}, "show")))),
    el("div", { id: "squad-all", "aria-live": "polite" }));
  queueMicrotask(() => { if ($("squad-all")) show(movements); });
  return section;
}

async function show(movements) {
  asking?.abort();
  asking = new AbortController();
  const query = `movement=${movement}${listed ? "&of=list" : ""}${asked ? `&asked=${encodeURIComponent(asked)}` : ""}`;
  const title = movements.find((m) => m.movement === movement).title;
  const sheets = [{ words: `the screens, ${title}`, address: `/screens.html?${query}`, readers: ["coach"] },
    { words: `the takes to make, ${title}`, address: `/screens/takes.html?${query}`, readers: ["coach"] }];
  try {
    const s = await ask(`/screens?${query}`, { signal: asking.signal });
    $("squad-all")?.replaceChildren(...[
      el("p", { class: "faint" }, s.counts),
      s.groups.length ? table(s) : null,
      s.without.length ? el("p", {}, el("em", {}, "without a screen: "), s.without.join("; ")) : null,
      s.takes ? takes(s) : null,
      el("p", { class: "doings saves" },
        s.groups.length ? el("button", { type: "button", "data-sheet": "screens", onclick: () => openSheets(sheets, 0) }, "sheet of the screens") : null,
        s.takes ? el("button", { type: "button", "data-sheet": "takes", onclick: () => openSheets(s.groups.length ? sheets : sheets.slice(1), s.groups.length ? 1 : 0) }, "takes to print and tick") : null),
      el("details", {}, el("summary", {}, "what is to be known"), el("ul", { class: "faint" }, ...[...s.notes, ...s.cautions].map((t) => el("li", {}, t))))].filter(Boolean));
  } catch (e) {
    if (!quiet(e)) $("squad-all")?.replaceChildren(el("p", { class: "wrong" }, el("strong", {}, e.message), e.hint ? `: ${e.hint}` : ""));
  }
}

function table(s) {
  return el("table", { class: "screens" },
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "athlete"), ...s.heads.map((h) => el("th", { scope: "col" }, h)), el("th", { scope: "col", class: "tell" }, "what would tell"))),
    ...s.groups.map((g) => el("tbody", {},
      el("tr", { class: "part" }, el("th", { scope: "rowgroup", colspan: s.heads.length + 2 }, g.title)),
      ...g.rows.map((r) => el("tr", {},
        el("th", { scope: "row" }, r.who, el("span", { class: "faint" }, ` ${[r.side, r.day].filter(Boolean).join(" ")}`)),
        ...r.cells.map((c, i) => el("td", { class: c.shown ? "shown" : null, "data-head": s.heads[i] }, c.deg, c.there ? el("span", { class: "faint" }, c.there) : null)),
        el("td", { class: "tell" }, ...(r.says ?? []).map((t) => el("span", {}, t))))))));
}

function takes(s) {
  return el("details", { class: "takes" }, el("summary", {}, s.takes),
    ...s.to_take.map((c) => el("section", {}, el("h4", {}, c.condition),
      el("dl", {}, ...c.rows.map(([who, boxes]) => el("div", {}, el("dt", {}, who), el("dd", {}, boxes)))))));
}
