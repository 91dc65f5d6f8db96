// How a take is made for what is read: the card of the measure, beside the picture.

import { $, el } from "./dom.js";
import { moved, position } from "./keep.js";
import { ask, quiet } from "./net.js";
import { openSheets } from "./sheets.js";

let measure = "";

// protocolOf shows the card of a measure, "" for none.
export function protocolOf(name) {
  measure = name;
  $("protocol").hidden = !name;
  show();
}

// show fetches the card if it is unfolded. If it is not known how the limb is moved, the card is
// that of a passive take.
async function show() {
  if (!measure || !$("protocol").open) return;
  const q = new URLSearchParams({ name: measure, condition: moved() || "passive", variant: position() });
  try {
    const card = await ask(`/protocol?${q}`);
    $("protocol-card").replaceChildren(
      el("h3", {}, `${card.title}, ${card.condition}`),
      moved() ? "" : el("p", { class: "faint" }, "It is not said yet how the limb is moved: this is the card of a passive take."),
      el("dl", {}, ...card.lines.flatMap((l) => [el("dt", {}, l.head), el("dd", {}, l.text, l.source ? el("span", { class: "faint" }, ` (${l.source})`) : null)])),
      el("p", { class: "faint" }, card.note),
      el("ul", {}, ...card.cautions.map((c) => el("li", {}, c))),
      el("p", { class: "doings" }, el("button", { type: "button", id: "protocol-sheet", onclick: () => openSheets([{ words: `how a take is made: ${card.title}, ${card.condition}`, address: `/protocol.html?${q}`, readers: ["coach"] }]) }, "card to print")));
  } catch (e) {
    if (!quiet(e)) $("protocol-card").replaceChildren(el("p", {}, `${e.message}${e.hint ? `: ${e.hint}` : ""}`));
  }
}

$("protocol").addEventListener("toggle", show);
for (const id of ["moved", "position"]) $(id).addEventListener("change", () => setTimeout(show)); // after what they change
