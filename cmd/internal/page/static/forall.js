// What is set for all takes of today: the block at the top.

import { $, el, notice } from "./dom.js";
import { ask, quiet, windowName } from "./net.js";
import { Pick } from "./pick.js";
import { amount, askedOf } from "./setup.js";

const fields = {
  camera: ["the camera", [["", "not known how it stood"], ["by-eye", "set square by eye"], ["squared", "squared, measured along the floor"]]],
  distance_m: ["how far away, m"],
  lens: ["its lens", [["", "not known"]]],
  setup: ["set-up of the camera, a name"],
  state: ["the body was", [["", "not said"], ["cold", "cold"], ["warm", "warm"], ["after", "at the end of a session"]]],
  condition: ["the limb was moved", [["", "not said"], ["in-skill", "in the skill"], ["active", "by own strength, held"], ["passive", "by a helper or gravity"], ["swung", "swung, not held"]]],
  variant: ["the position", [["", "the usual one"]]],
  found: ["the landmarks were", [["", "not said: counts as seen"], ["seen", "seen in the picture"], ["felt", "felt with the fingers"], ["sticker", "felt, with a sticker on them"]]],
  rater: ["marked by"],
  day: ["day of the takes"],
};

export class ForAll {
  // to.changed() is called after something was set.
  constructor(choices, to) {
    this.to = to;
    this.choices = choices;
    this.saying = false; // a change is on its way to the server
    this.said = 0; // when the last one arrived, of performance.now()
    const what = $("all-what");
    what.append(el("option", { value: "" }, "choose"));
    for (const [book, skills] of Map.groupBy(choices.skills, (s) => s.book)) {
      what.append(el("optgroup", { label: book }, ...skills.map((s) => el("option", { value: `skill ${s.ref}` }, askedOf(s)))));
    }
    what.append(el("optgroup", { label: "an angle alone, with nothing asked" }, ...choices.measures.map((m) => el("option", { value: `measure ${m.name}` }, m.title))));
    new Pick(what, "what is read");
    what.onchange = () => this.#put({});
    for (const m of choices.measures) fields.variant[1].push(...m.variants.map((v) => [v.name, `${m.title}: ${v.words}`]));
    for (const [key, [words, options]] of Object.entries(fields)) {
      const id = `all-${key}`;
      const change = { onchange: () => this.#put({}) };
      $("all-fields").append(el("p", {}, el("label", { for: id }, words), options
        ? el("select", { id, ...change }, ...options.map(([value, text]) => el("option", { value }, text)))
        : el("input", { id, ...change, autocomplete: "off", maxlength: 80, type: key === "day" ? "date" : "text", inputmode: key === "distance_m" ? "decimal" : null })));
    }
  }

  // lenses fills the list of lenses.
  async lenses() {
    try {
      const { lenses } = await ask("/lenses");
      $("all-lens").replaceChildren(el("option", { value: "" }, "not known"), ...lenses.map((l) => el("option", { value: l.id }, l.name)));
      $("all-lens").value = this.all?.lens ?? "";
    } catch { /* a reading says what is wrong */ }
  }

  // show shows what the server answered to a request at the time asked (of performance.now()), unless
  // something was set here after it. A field in which somebody types stays.
  // The block unfolds once there are takes and nothing is set.
  show(all, says, asked, takes) {
    if (this.saying || asked < this.said) return;
    this.all = all;
    const put = (id, v) => { if ($(id) !== document.activeElement) $(id).value = v; };
    put("all-what", all.skill ? `skill ${all.skill}` : all.measure ? `measure ${all.measure}` : "");
    $("all-what").dispatchEvent(new Event("shown"));
    for (const key of Object.keys(fields)) put(`all-${key}`, all[key] || "");
    if (!this.shown) this.lenses();
    $("all-says").textContent = says || "say once what is read, how the camera stood, how the body was";
    this.shown = true;
    if (takes && !this.unfolded) $("all").open = !says;
    this.unfolded ||= takes;
  }

  async #put() {
    const all = { ...this.all };
    const [kind, name] = $("all-what").value.split(" ");
    all.skill = kind === "skill" ? name : "";
    all.measure = kind === "skill" ? this.choices.skills.find((s) => s.ref === name).measure : name ?? "";
    for (const key of Object.keys(fields)) {
      const e = $(`all-${key}`);
      if (key === "lens" && e.value !== all.lens && e.selectedIndex < 0) continue; // one that is gone
      if (key !== "distance_m") all[key] = e.value;
      else {
        const v = amount(e.value);
        e.setAttribute("aria-invalid", v === null);
        if (v !== null) all[key] = v;
      }
    }
    this.all = all;
    document.documentElement.dataset.said = "no";
    this.more = true;
    if (this.saying) return;
    this.saying = true;
    while (this.more) { // one after the other, so that the last one counts
      this.more = false;
      try {
        await ask(`/today/all?window=${windowName}`, { method: "PUT", body: this.all });
      } catch (e) {
        if (!quiet(e)) notice("all", e.words ?? { error: e.message, hint: e.hint });
      }
    }
    this.saying = false;
    this.said = performance.now();
    document.documentElement.dataset.said = "yes";
    this.to.changed();
  }
}
