// Buttons with names: the roster of the journal and of today.

import { el, notice, plain } from "./dom.js";
import { ask, quiet, windowName } from "./net.js";

// storeNotes stores notes on a take. The answer has the name as the roster spells it, and a name
// that it may have been meant for.
export async function storeNotes(id, what) {
  document.documentElement.dataset.said = "no";
  try {
    return await ask(`/takes/${id}/said?window=${windowName}`, { method: "POST", body: what });
  } catch (e) {
    if (!quiet(e)) notice("said", e.words ?? { error: e.message, hint: e.hint });
    return null;
  } finally {
    document.documentElement.dataset.said = "yes";
  }
}

// mostNames is how many are shown at once; the rest of a large squad is one tap away.
const mostNames = 24;

export class Names {
  // box gets the buttons; to.named(name) is called for the one that is tapped.
  constructor(box, to) {
    this.box = box;
    this.to = to;
    this.shown = "";
  }

  // show shows a roster of {name, kept}; chosen is marked. With left, those who have a kept
  // reading of today come after the others.
  show(names, chosen = "", { left = false } = {}) {
    const key = JSON.stringify([names, chosen, left]);
    if (key === this.shown) return;
    this.shown = key;
    const first = left ? names.filter((n) => !n.kept) : names;
    const rest = left ? names.filter((n) => n.kept) : [];
    const chips = (list) => list.map((n) => el("button", { type: "button", class: n.kept ? "chip kept" : "chip", "data-name": n.name, "aria-pressed": String(n.name === chosen), onclick: () => this.to.named(n.name) },
      n.name, n.kept ? el("span", { class: "spoken" }, ", has a reading of today") : null));
    const more = [...first.slice(mostNames), ...rest];
    this.box.replaceChildren(...chips(first.slice(0, mostNames)),
      more.length ? el("details", { class: "more-names" }, el("summary", {}, `${more.length} more`), el("div", { class: "chips" }, ...chips(more))) : "");
  }
}

// alarm says that a new name is one slip of typing away from another; meant(name) is called with
// the other if that was meant.
export function alarm(box, name, alike, meant) {
  box.hidden = !alike;
  if (!alike) return box.replaceChildren();
  box.replaceChildren(`${plain(name)} is new, and there is ${plain(alike)}: `,
    el("button", { type: "button", onclick: () => { alarm(box, "", ""); meant(alike); } }, `it is ${plain(alike)}`), " ",
    el("button", { type: "button", onclick: () => alarm(box, "", "") }, "somebody else"));
}
