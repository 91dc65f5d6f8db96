// How many takes find a change by a day, below the roster and beside an athlete's months. All
// words and figures come from the server.

import { chartWide, drawing, el } from "./dom.js";
import { ask, quiet } from "./net.js";
import { openSheets } from "./sheets.js";

let count = 0;

// planFold returns the unfolding section of a plan; measures are those to choose from, and athlete is a
// number of the journal, null for nobody in particular.
export function planFold(measures, athlete) {
  if (measures.length === 0) return null;
  const id = `plan-${count++}`, soon = new Date();
  soon.setMonth(soon.getMonth() + 3);
  const what = el("select", { id: `${id}-what` }, ...measures.map((m) => el("option", { value: m.measure }, m.title)));
  const deg = el("input", { id: `${id}-deg`, inputmode: "decimal", autocomplete: "off", size: 4, value: "5" });
  const by = el("input", { id: `${id}-by`, type: "date", value: soon.toISOString().slice(0, 10) });
  const out = el("div", { "aria-live": "polite" });
  const work = el("button", { type: "button", onclick: () => show(work, out, `measure=${what.value}&change=${encodeURIComponent(deg.value.replace(",", ".").trim())}&by=${by.value}${athlete === null ? "" : `&athlete=${athlete}`}`) }, "work it out");
  return el("details", { class: "plan" }, el("summary", {}, "how many takes find a change"),
    el("div", {},
      measures.length > 1 ? el("p", { class: "field" }, el("label", { for: `${id}-what` }, "the measure"), what) : null,
      el("p", { class: "field" }, el("label", { for: `${id}-deg` }, "a change of"), el("span", {}, deg, " degrees")),
      el("p", { class: "field" }, el("label", { for: `${id}-by` }, "by"), by),
      el("p", { class: "doings" }, work), out));
}

async function show(button, out, query) {
  button.disabled = true;
  out.replaceChildren(el("p", { class: "faint" }, "working it out"));
  try {
    const p = await ask(`/plan?${query}&wide=${chartWide()}`);
    out.replaceChildren(el("p", { class: "says" }, p.says), p.chart ? drawing(p.chart) : "", el("p", { class: "faint" }, "The smallest change that is found in 8 of 10 cases. What finds the change asked for is in bold, with a dot."),
      ...p.setups.flatMap((s) => [
        el("table", {}, el("caption", {}, s.setup),
          el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "takes"), ...p.every.map((e) => el("th", { scope: "col" }, e)))),
          el("tbody", {}, ...s.rows.map((r) => el("tr", {}, el("th", { scope: "row" }, r.takes), ...r.found.map((c) => el("td", { class: c.finds ? "finds" : null }, (c.finds ? "● " : "") + c.deg)))))),
        el("p", { class: "faint" }, s.says)]),
      el("p", { class: "doings saves" }, el("button", { type: "button", "data-sheet": "plan", onclick: () => openSheets([{ words: "the plan", address: `/plan.html?${query}`, readers: ["coach"] }]) }, "sheet of the plan")),
      el("ul", { class: "faint" }, ...[...p.notes, ...p.cautions].map((t) => el("li", {}, t))));
  } catch (e) {
    if (!quiet(e)) out.replaceChildren(el("p", { class: "wrong" }, el("strong", {}, e.message), e.hint ? `: ${e.hint}` : ""));
  } finally { button.disabled = false; }
}
