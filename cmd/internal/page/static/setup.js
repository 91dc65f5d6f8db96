// What is read, and what is known of the body and the camera.

import { $, el, radios, setRadio } from "./dom.js";
import { ask } from "./net.js";
import { Pick } from "./pick.js";

const facings = [["", "not said"], ["left", "left"], ["right", "right"], ["up", "up"], ["down", "down"], ["camera", "to the camera"], ["away", "away from it"]];

export class Setup {
  // to has set(what, fn), which changes the work, and wide(d, v) and high(d, v), which set a rectangle's size, m.
  constructor(choices, to) {
    this.choices = choices;
    this.needs = (doc) => choices.skills.find((s) => s.ref === doc.skill)?.needs ?? [];
    const what = $("what");
    what.append(el("option", { value: "" }, "choose"));
    const group = (label, options) => what.append(el("optgroup", { label }, ...options));
    const books = Map.groupBy(choices.skills, (s) => s.book);
    for (const [book, skills] of books) {
      group(book, skills.map((s) => el("option", { value: `skill ${s.ref}` }, askedOf(s))));
    }
    group("an angle alone, with nothing asked", choices.measures.map((m) => el("option", { value: `measure ${m.name}` }, m.title)));
    new Pick(what, "what is read");
    what.onchange = () => {
      const [kind, name] = what.value.split(" ");
      const skill = choices.skills.find((s) => kind === "skill" && s.ref === name);
      to.set("what is read", (d) => {
        d.skill = skill?.ref ?? "";
        d.measure = skill?.measure ?? name ?? "";
      });
    };
    radios($("facing"), "facing", facings, (v) => to.set("facing", (d) => { d.facing = v; }));
    radios($("leg"), "leg", [["", "whole, to the ankle"], ["thigh", "the thigh, to the knee"]], (v) => to.set("leg", (d) => { d.leg = v; }));
    radios($("side-marks"), "side-marks", [["", "as marked"], ["left", "the left"], ["right", "the right"], ["front", "the front"], ["back", "the back"]], (v) => to.set("whose marks count", (d) => { d.side = v; }));
    $("confidence").onchange = () => to.set("how sure a decision must be", (d) => { d.confidence = Number($("confidence").value); });
    $("camera").onchange = () => to.set("the camera", (d) => {
      d.camera = $("camera").value;
      d.oblique_deg = 0; // both say how square the camera is
    });
    $("lens").onchange = () => to.set("the lens", (d) => { d.lens = $("lens").value; });
    this.lenses();
    $("found").onchange = () => to.set("how the landmarks were found", (d) => { d.found = $("found").value; });
    $("rater").onchange = () => to.set("who placed the marks", (d) => { d.rater = $("rater").value.trim(); });
    const number = (id, key, change = (d, v) => { d[key] = v; }) => {
      $(id).onchange = () => {
        const v = amount($(id).value);
        $(id).setAttribute("aria-invalid", v === null);
        if (v !== null) to.set($(id).getAttribute("aria-label") ?? key.split("_")[0], (d) => change(d, v));
      };
    };
    number("oblique", "oblique_deg", (d, v) => {
      d.oblique_deg = v;
      if (v) d.camera = "";
    });
    number("stature", "stature_cm");
    number("distance", "distance_m");
    number("focal", "focal_mm");
    number("wide", "width", to.wide);
    number("high", "height", to.high);
  }

  // lenses fills the list of lenses.
  async lenses() {
    try {
      const { lenses } = await ask("/lenses");
      $("lens").replaceChildren(el("option", { value: "" }, "not known"), ...lenses.map((l) => el("option", { value: l.id }, l.name)));
      this.#lens();
    } catch { /* a reading says what is wrong */ }
  }

  // lens shows the chosen lens, even if its file is gone.
  #lens() {
    const l = $("lens");
    if (this.lens && ![...l.options].some((o) => o.value === this.lens)) l.append(el("option", { value: this.lens }, "one that is gone"));
    l.value = this.lens ?? "";
  }

  measure(doc) { return this.choices.measures.find((m) => m.name === doc.measure) ?? null; }

  show(doc, placed) {
    const m = this.measure(doc);
    $("what").value = doc.skill ? `skill ${doc.skill}` : doc.measure ? `measure ${doc.measure}` : "";
    $("what").dispatchEvent(new Event("shown"));
    $("about").textContent = m?.about ?? "";
    const knees = Object.keys(placed.rounds.at(-1) ?? {}).some((l) => l.endsWith("knee")); // which way they bend
    const asked = m?.facing || doc.facing || this.faces || m?.leg && knees;
    // a facing that must be chosen is beside the marks, else it is with the optional settings
    const at = asked ? $("marks") : $("side-marks").parentElement;
    if ($("facing").parentElement !== at) {
      if (asked) $("ask").before($("facing"));
      else $("side-marks").before($("facing"));
    }
    $("facing").hidden = !m;
    setRadio($("side-marks"), doc.side);
    const sure = String(doc.confidence || 0);
    if (![...$("confidence").options].some((o) => o.value === sure)) $("confidence").append(el("option", { value: sure }, `${100 * doc.confidence} in 100`));
    $("confidence").value = sure;
    $("leg").hidden = !m?.leg;
    setRadio($("facing"), doc.facing);
    setRadio($("leg"), doc.leg === "whole" ? "" : doc.leg);
    $("camera").value = doc.camera === "unknown" ? "" : doc.camera;
    this.lens = doc.lens;
    this.#lens();
    $("found").value = doc.found;
    if ($("rater") !== document.activeElement) $("rater").value = doc.rater;
    put("oblique", doc.oblique_deg);
    put("stature", doc.stature_cm);
    put("distance", doc.distance_m);
    put("focal", doc.focal_mm);
    put("wide", placed.width_m);
    put("high", placed.height_m);
    $("corner-size").hidden = placed.corners.length === 0;
    $("corners-off").hidden = placed.corners.length === 0;
    $("level-off").hidden = placed.level.length === 0;
    $("level").textContent = placed.level.length ? "place it again" : "place it";
    $("corners").textContent = placed.corners.length ? "place them again" : "place them";
  }
}

// put shows a figure, except in a field in which somebody types.
function put(id, v) {
  const e = $(id);
  const text = v ? String(v) : "";
  if (e === document.activeElement && e.value !== (e.dataset.put ?? "")) return;
  if (amount(e.value) !== v) e.value = text;
  e.dataset.put = e.value;
}

// askedOf words a skill with what it asks.
export const askedOf = (s) => s.ratio ? `${s.title}, in shoulder widths` : `${s.title}, asked ${s.asked_deg}°`;

// amount reads a figure from 0 on, with a decimal point or comma; empty text is 0,
// and text that is no figure null.
export function amount(text) {
  const t = text.trim().replace(",", ".");
  if (t === "") return 0;
  return /^\d*\.?\d+$|^\d+\.$/.test(t) ? Number(t) : null;
}
