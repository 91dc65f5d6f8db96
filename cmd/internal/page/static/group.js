// The change of all athletes in one measure, below the roster. All words and the drawing come
// from the server.

import { $, chartWide, drawing, el } from "./dom.js";
import { ask, quiet } from "./net.js";
import { openSheets } from "./sheets.js";
import { whoChoice } from "./squad.js";

let measure = "", nameless = false, listed = false, asking = null;

// groupSection returns the section of the group, null if measures is empty. measures are those in
// which there is a change; list is the name of today's list, "" for none.
export function groupSection(measures, list) {
  if (measures.length === 0) return null;
  if (!measures.some((m) => m.measure === measure)) measure = measures[0].measure;
  listed &&= list !== "";
  const section = el("section", { id: "group", class: "measure", "aria-labelledby": "group-h" },
    el("h3", { id: "group-h" }, "all together"),
    el("p", { class: "field" }, el("label", { for: "group-what" }, "the change in"),
      el("select", { id: "group-what", onchange: (e) => { measure = e.target.value; show(measures); } }, ...measures.map((m) => el("option", { value: m.measure, selected: m.measure === measure ? "" : null }, m.title)))),
    whoChoice("group-who", list, listed, (v) => { listed = v; show(measures); }),
    el("p", { class: "tick" }, el("input", { id: "group-nameless", type: "checkbox", onchange: (e) => { nameless = e.target.checked; show(measures); } }),
      el("label", { for: "group-nameless" }, "letters in place of names")),
    el("div", { id: "group-all", "aria-live": "polite" }));
  queueMicrotask(() => {
    if (!$("group-nameless")) return;
    $("group-nameless").checked = nameless;
    show(measures);
  });
  return section;
}

async function show(measures) {
  asking?.abort();
  asking = new AbortController();
  const query = `measure=${measure}${nameless ? "&nameless" : ""}${listed ? "&of=list" : ""}`;
  try {
    const g = await ask(`/group?${query}&wide=${chartWide()}`, { signal: asking.signal });
    const title = measures.find((m) => m.measure === measure).title;
    $("group-all")?.replaceChildren(
      el("div", { class: "both" },
        el("div", {}, ...g.says.map((s) => el("p", { class: "says" }, s)), el("p", { class: "faint" }, g.kind),
          el("dl", { class: "ways" }, ...g.ways.map((way) => el("div", {}, el("dt", {}, way.way, el("span", { class: "faint" }, ` (${way.means})`)), el("dd", {}, way.who))))),
        el("div", {}, g.chart ? drawing(g.chart) : null)),
      el("p", { class: "doings saves" }, el("button", { type: "button", "data-sheet": "group", onclick: () => openSheets([{ words: `the group, ${title}`, address: `/group.html?${query}`, readers: ["coach"] }]) }, "sheet of the group")),
      el("details", {}, el("summary", {}, "what is to be known"), el("ul", { class: "faint" }, ...[...g.notes, ...g.cautions].map((t) => el("li", {}, t)))));
  } catch (e) {
    if (!quiet(e)) $("group-all")?.replaceChildren(el("p", { class: "wrong" }, el("strong", {}, e.message), e.hint ? `: ${e.hint}` : ""));
  }
}
