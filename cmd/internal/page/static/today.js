// Today: one row for each take, what is set for all of them above, and the summary of the session
// below. All words, figures and rulers come from the server.

import { $, drawing, el, notice, plain, say, unnotice } from "./dom.js";
import { ask, quiet, whenBack } from "./net.js";
import { ForAll } from "./forall.js";
import { alarm, Names, storeNotes } from "./names.js";
import { setToday } from "./places.js";
import { openSheets } from "./sheets.js";

export class Today {
  // to has open(id), athlete(name), removed(id) and changed(), which is called when the rows have changed.
  constructor(choices, to) {
    this.to = to;
    this.is = null; // the day as the server sent it
    this.rows = new Map(); // id: {row, parts}
    this.forAll = new ForAll(choices, { changed: () => this.list() });
    this.names = new Names($("naming-names"), { named: (name) => this.#name(name) });
    this.naming = null; // the take that was chosen to be named; null: the first without a name
    $("naming-new").onsubmit = (e) => {
      e.preventDefault();
      const name = $("naming-name").value.trim();
      if (name) this.#name(name);
      $("naming-name").value = "";
    };
    $("no-pose-off").onclick = () => {
      try { localStorage.setItem("no-pose", "said"); } catch { /* it is said again */ }
      $("no-pose").hidden = true;
    };
    addEventListener("resize", () => { for (const { item } of this.rows.values()) item.style.minHeight = ""; });
    $("to-session").onclick = () => openSheets([{ words: "the session", address: "/today/session.html", readers: ["coach"] }]);
    $("to-next").onclick = () => this.to.open(this.next());
    $("list-off").onclick = () => ask("/today/list", { method: "DELETE" }).catch((e) => { if (!quiet(e)) notice("list", e.words); });
  }

  // next returns the next take of which nothing is kept, in the order of the rows and round again;
  // undefined if there is none.
  next(after = null) {
    const rows = (this.is?.rows ?? []).filter((r) => r.id);
    const from = rows.findIndex((r) => r.id === after) + 1;
    return [...rows.slice(from), ...rows.slice(0, from)].find((r) => r.state !== "kept" && r.id !== after)?.id;
  }

  row(id) { return this.is?.rows.find((r) => r.id && r.id === id); }
  count() { return (this.is?.rows ?? []).filter((r) => r.id).length; }
  place(id) { return (this.is?.rows ?? []).findIndex((r) => r.id === id) + 1; }

  // toward words the button that keeps the reading of a take (null for none) and goes to the next.
  toward(take) {
    const others = take && this.row(take.id) && this.count() > 1;
    $("keep-next").hidden = !others;
    $("keep-do").classList.toggle("plain", Boolean(others));
    $("keep-do").textContent = others ? "keep" : "keep this reading";
    if (!others) return;
    const id = this.next(take.id), next = this.row(id), who = plain($("athlete").value.trim());
    $("keep-next").textContent = `keep${who ? ` for ${who}` : ""}, ${next ? `next: ${next.athlete || `take ${this.place(id)}`}` : "then the session"}`;
  }

  // list fetches the rows; calls during a request lead to one more request after it.
  async list() {
    if (this.listing) {
      this.again = true;
      return this.listing;
    }
    this.listing = this.#list();
    try {
      await this.listing;
    } finally {
      this.listing = null;
    }
    if (this.again) {
      this.again = false;
      return this.list();
    }
  }

  async #list() {
    const asked = performance.now();
    try {
      this.is = await ask("/today");
      this.asked = asked;
      unnotice("shelf");
    } catch (e) {
      if (quiet(e)) whenBack(() => this.list());
      else notice("shelf", e.words);
      return;
    }
    this.show();
    this.to.changed();
    clearTimeout(this.later); // the event of a reading may come before this window listens
    if (this.is.rows.some((r) => r.state === "being")) this.later = setTimeout(() => this.list(), 1000);
  }

  show() {
    const t = this.is;
    setToday(`${t.day}${t.rows.length ? ` · ${t.counts}` : ""}`);
    this.forAll.show(t.all, t.all_says, this.asked, t.rows.length > 0);
    $("no-pose").hidden = !t.no_pose || hintClosed();
    const busy = t.rows.length > 0 || $("coming").children.length > 0;
    $("take").classList.toggle("busy", busy);
    $("rows-part").hidden = t.rows.length === 0;
    this.#rows(t);
    this.#naming(t);
    this.#came(t);
    $("list-part").hidden = !t.list;
    $("list-says").textContent = t.list ? [`the list ${t.list}`, ...t.list_notes].join("; ") : "";
    $("before").hidden = t.before.length === 0;
    $("older").replaceChildren(...t.before.map((b) => this.#older(b)));
  }

  #rows(t) {
    const items = [];
    let axis = -1;
    for (const [i, r] of t.rows.entries()) {
      if (r.axis >= 0 && r.axis !== axis) items.push(axisOf(t.axes[r.axis]));
      if (r.axis >= 0) axis = r.axis;
      const key = r.id || `absent ${r.name} ${r.athlete}`;
      let have = this.rows.get(key);
      if (!have) this.rows.set(key, (have = this.#make(r)));
      have.number = i + 1;
      this.#fill(have, r);
      items.push(have.item);
    }
    for (const [key, have] of this.rows) if (!items.includes(have.item)) this.rows.delete(key);
    const shelf = $("shelf");
    items.forEach((item, i) => { if (shelf.children[i] !== item) shelf.insertBefore(item, shelf.children[i] ?? null); });
    while (shelf.children.length > items.length) shelf.lastChild.remove();
  }

  // make makes the elements of a row, which stay as long as the row.
  #make(r) {
    const p = {
      img: el("img", { alt: "", loading: "lazy", width: 160, height: 90 }), who: el("span", { class: "who-name" }), file: el("span", { class: "faint" }), more: el("span", { class: "row-more" }),
      ruler: el("div", { class: "row-ruler" }), band: el("b"), chances: el("span", { class: "faint" }), value: el("span", { class: "row-value" }), plus: el("span", { class: "faint" }),
      says: el("span"), missing: el("span", { class: "missing" }),
    };
    const open = () => this.to.open(r.id);
    p.picture = r.id ? el("button", { type: "button", class: "print-small", onclick: open }, p.img) : el("span", { class: "no-print" });
    p.name = r.id ? el("button", { type: "button", class: "row-who", onclick: () => this.#choose(r.id) }, p.who, p.file, p.more) : el("span", { class: "row-who" }, p.who, p.file, p.more);
    p.state = r.id ? el("button", { type: "button", class: "row-state", onclick: open }, p.says, p.missing) : el("span", { class: "row-state" }, p.says, p.missing);
    p.remove = r.id ? el("button", { type: "button", class: "remove", onclick: () => this.#remove(r) }, "remove") : "";
    const item = el("li", { "data-id": r.id || null }, p.picture, p.name, p.ruler, el("span", { class: "row-band" }, p.band, p.chances), el("span", { class: "row-angle" }, p.value, p.plus), p.state, p.remove);
    return { item, parts: p, shown: "" };
  }

  #fill(have, r) {
    const key = JSON.stringify([r, have.number, this.current === r.id, this.#toName() === r.id]);
    if (key === have.shown) return;
    have.shown = key;
    this.#holdHeight(have.item);
    const p = have.parts, called = r.athlete || r.name;
    have.item.className = r.state;
    have.item.classList.toggle("to-name", Boolean(r.id) && this.#toName() === r.id);
    const src = r.id ? `/takes/${r.id}/thumb?at=${encodeURIComponent(r.moment || r.state)}` : "";
    if (src && p.img.getAttribute("src") !== src) p.img.src = src;
    if (r.id) {
      p.picture.setAttribute("aria-label", `open ${called}`);
      if (this.current === r.id) p.picture.setAttribute("aria-current", "true");
      else p.picture.removeAttribute("aria-current");
      p.remove.setAttribute("aria-label", `remove ${r.name} from this machine`);
    }
    p.who.textContent = r.athlete || "who?";
    p.who.classList.toggle("nobody", !r.athlete);
    p.file.textContent = r.name;
    p.more.textContent = [r.moment, r.differs, r.without].filter(Boolean).join(" · ");
    p.ruler.replaceChildren(r.ruler ? drawing(r.ruler) : "");
    p.band.textContent = r.band;
    p.chances.textContent = r.chances;
    p.value.textContent = r.value;
    p.plus.textContent = r.plus;
    p.says.textContent = r.says;
    p.missing.textContent = r.missing.length ? `${r.id && r.state !== "kept" ? "missing: " : ""}${r.missing.join("; ")}` : "";
  }

  // holdHeight keeps a row from shrinking while its words change, so that a click meets the row that was aimed at. The room
  // that its reading will need is kept free in today.css.
  #holdHeight(item) {
    const tall = item.getBoundingClientRect().height;
    if (tall > 0) item.style.minHeight = `${tall}px`;
  }

  // toName returns the take to which a tapped name goes.
  #toName() {
    const rows = (this.is?.rows ?? []).filter((r) => r.id && r.state !== "kept");
    return (rows.find((r) => r.id === this.naming) ?? rows.find((r) => !r.athlete))?.id ?? null;
  }

  #choose(id) {
    const r = this.row(id);
    if (r?.state === "kept") return this.to.athlete(r.athlete); // it is corrected where it is kept
    this.naming = this.naming === id ? null : id;
    this.show();
    $("naming-names").querySelector("button")?.focus({ preventScroll: true });
  }

  #naming(t) {
    const id = this.#toName();
    $("naming").hidden = !id;
    if (!id) return;
    const r = this.row(id);
    $("naming-what").textContent = `who is it on ${r.name}, take ${this.place(id)} of ${this.count()}?`;
    this.names.show(t.names, r.athlete);
  }

  // name puts a name on the take that waits for one, and goes on to the next.
  async #name(name) {
    const id = this.#toName();
    if (!id) return;
    this.naming = null;
    this.row(id).athlete = plain(name); // so that a second tap goes to the next take
    this.show();
    const said = await storeNotes(id, { athlete: name });
    alarm($("naming-alike"), said?.athlete ?? "", said?.alike, async (other) => {
      await storeNotes(id, { athlete: other });
      this.list();
    });
    if (said) say(`${said.athlete} is on take ${this.place(id)}`);
    this.list();
  }

  #came(t) {
    $("came-says").replaceChildren(...t.came.map((c) => el("li", {}, c)));
    $("came-open").replaceChildren(...t.open.map((u) => el("li", {}, el("b", {}, u.who), `: ${u.why}`)));
    $("came-help").replaceChildren(...t.help.map((h) => el("li", {}, h)));
    $("came-help-part").hidden = t.help.length === 0;
    const next = this.next(), r = this.row(next), kept = t.rows.some((x) => x.state === "kept");
    $("to-next").hidden = !next;
    $("to-next").textContent = r ? `next: ${r.athlete || `take ${this.place(next)}`}` : "";
    $("to-session").hidden = !kept;
  }

  #older(t) {
    return el("li", { "data-id": t.id },
      el("button", { type: "button", class: "print-small", "aria-current": this.current === t.id ? "true" : null, onclick: () => this.to.open(t.id) },
        el("img", { src: `/takes/${t.id}/thumb`, alt: "", loading: "lazy", width: 160, height: 90 }),
        el("span", { class: "title" }, t.name),
        ...t.kept.map((k) => el("span", { class: "kept" }, k)),
        el("span", { class: "faint" }, [day(t.opened), t.kept.length ? "" : t.marked ? "marked, not kept" : "no marks yet"].filter(Boolean).join(", "))),
      el("button", { type: "button", class: "remove", "aria-label": `remove ${t.name} from this machine`, onclick: () => this.#remove(t) }, "remove"));
  }

  #remove(t) {
    notice("remove", { error: `${t.name} and its marks are taken off this machine`, hint: "readings that were kept stay" },
      ["take it off", async () => {
        try {
          await ask(`/takes/${t.id}`, { method: "DELETE" });
          this.to.removed(t.id);
          this.list();
        } catch (e) { if (!quiet(e)) notice("remove", e.words); }
      }],
      ["leave it", () => {}]);
  }
}

// hintClosed reports whether the hint that marks can be proposed was closed.
function hintClosed() {
  try { return localStorage.getItem("no-pose") === "said"; } catch { return false; }
}

// axisOf returns the figures above the rulers of one measure.
function axisOf(a) {
  return el("li", { class: "axis", "aria-hidden": "true" }, el("span", { class: "axis-title" }, a.title),
    el("div", { class: "axis-ticks" }, ...a.ticks.map((t) => {
      const e = el("span", { class: t.asked ? "asked" : null }, t.text);
      const half = `${t.text.length / 2}ch`; // on a narrow page a figure at an end stays within it
      e.style.left = `clamp(${half}, ${(100 * t.share).toFixed(2)}%, calc(100% - ${half}))`;
      return e;
    })));
}

function day(opened) {
  return new Date(opened).toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
}
