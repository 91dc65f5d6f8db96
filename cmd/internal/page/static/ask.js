// Which landmark is asked for next, and the list of what is placed.

import { $, el, spaced } from "./dom.js";
import { drawingOf, nameOf, touchOf } from "./landmarks.js";

export class Ask {
  // to.changed() is called when something else is asked for.
  constructor(to) {
    this.to = to;
    this.reset();
    $("ask-skip").onclick = () => {
      this.picked = null;
      to.changed();
    };
  }

  reset() {
    this.measure = null;
    this.leg = "";
    this.needs = []; // landmarks that the skill needs and the measure does not
    this.ways = new Map(); // step: the way chosen
    this.picked = null; // a landmark, "level" or "corners" that was chosen out of turn
    this.now = null;
  }

  // items returns the landmarks to place, in order; round has those placed so far.
  items(round) {
    if (!this.measure) return [];
    // proposed marks of one side keep its name: "left-shoulder" stands for the shoulder
    const plain = (l) => !/^(left|right|front|back)-/.test(l), names = this.measure.steps.flatMap((s) => s.ways.flat());
    const side = names.some((l) => /^(left|right)-/.test(l)) ? "" : ["left-", "right-"].find((s) => names.some((l) => plain(l) && s + l in round)) ?? "";
    const seen = new Set(); // a knee is asked for instead of the ankle, or beside it
    return this.measure.steps.flatMap((step, i) => {
      const ways = unique(step.ways.map((way) => way.map((l) => this.leg === "thigh" && this.measure.leg ? l.replace("ankle", "knee") : l).map((l) => plain(l) ? side + l : l)));
      const had = ways.findIndex((way) => way.some((l) => l in round));
      const chosen = this.ways.get(i) ?? Math.max(0, had);
      const way = ways[Math.min(chosen, ways.length - 1)];
      return way.map((landmark, j) => ({ landmark, optional: step.optional && !this.needs.includes(landmark), later: step.later, step: i, ways, way: ways.indexOf(way), first: j === 0 }));
    }).filter((i) => !seen.has(i.landmark) && seen.add(i.landmark));
  }

  // complete is true when all that is needed is placed.
  complete(round) { return this.measure && this.items(round).every((i) => i.optional || i.landmark in round); }

  // find sets and returns what is asked for now.
  find(placed, followed) {
    const round = placed.rounds.at(-1) ?? {};
    const items = this.items(round);
    if (this.picked === "level" && placed.level.length < 2) return (this.now = "level");
    if (this.picked === "corners" && placed.corners.length < 4) return (this.now = "corners");
    if (items.some((i) => i.landmark === this.picked)) return (this.now = this.picked);
    this.picked = null;
    if (followed) return (this.now = null);
    // Optional landmarks are offered in the list and never asked for by themselves: a
    // second click on the picture would place one by mistake.
    this.now = items.find((i) => !(i.landmark in round) && !i.optional)?.landmark ?? null;
    return this.now;
  }

  // show updates the page. followed: the landmarks that stickers give on this frame, null for none.
  show(placed, followed) {
    const now = this.find(placed, followed);
    const round = placed.rounds.at(-1) ?? {};
    const items = this.items(round);
    $("ask").hidden = !now;
    if (now) {
      const have = now === "level" ? placed.level.length : now === "corners" ? placed.corners.length : 0;
      const key = `${now} ${have}`;
      if (this.shown !== key) {
        this.shown = key;
        $("ask-drawing").replaceChildren(drawingOf(now));
        $("ask-name").textContent = nameOf(now, have);
        $("ask-touch").textContent = touchOf(now);
      }
      $("ask-do").hidden = !items.some((i) => i.landmark === now && i.optional && !(now in round));
    } else this.shown = null;
    $("now").textContent = now ? nameOf(now, now === "level" ? placed.level.length : placed.corners.length) : "";
    $("now").hidden = !now;
    this.#list(items, placed, round, followed);
    this.#line(items, round, followed);
  }

  // line says in one line what is placed. The list below it folds when all is placed.
  #line(items, round, followed) {
    const here = items.filter((i) => i.landmark in round || followed?.includes(i.landmark)).map((i) => spaced(i.landmark));
    const more = items.filter((i) => i.optional && !(i.landmark in round)).map((i) => spaced(i.landmark));
    const whole = Boolean(items.length && (followed || this.complete(round)));
    $("placed-line").textContent = here.length ? `marks: ${here.join(", ")}${whole && more.length ? `; can be added: ${pairs(more).join(", ")}` : ""}` : "marks";
    if (whole !== this.whole) $("placed-fold").open = !whole;
    this.whole = whole;
  }

  #list(items, placed, round, followed) {
    const rows = items.map((i) => {
      const times = placed.rounds.filter((r) => i.landmark in r).length;
      const here = i.landmark in round;
      const state = followed?.includes(i.landmark) && i.landmark !== this.now ? "followed" : here ? times > 1 ? `placed ${times} times` : "placed" : i.landmark === this.now ? "place it now" : i.optional ? "may be added" : "to be placed";
      const other = i.first && i.ways.length > 1 && !here ? i.ways[(i.way + 1) % i.ways.length] : null;
      return el("li", { class: here ? "here" : i.landmark === this.now ? "next" : null, "aria-current": i.landmark === this.now ? "step" : null },
        el("span", { class: "name" }, spaced(i.landmark)), el("span", { class: "state" }, state),
        el("span", { class: "do" },
          i.landmark === this.now ? null : el("button", { type: "button", "aria-label": `${here ? "move" : "place"} the ${spaced(i.landmark)}`, "data-pick": i.landmark, onclick: () => { this.picked = i.landmark; this.to.changed(true); } }, here ? "move" : "place"),
          other ? el("button", { type: "button", onclick: () => { this.ways.set(i.step, (i.way + 1) % i.ways.length); this.picked = null; this.to.changed(); } }, `${other.map(spaced).join(" and ")} instead`) : null));
    });
    const focused = document.activeElement?.dataset?.pick;
    $("placed").replaceChildren(...rows);
    if (focused) $("placed").querySelector(`[data-pick="${focused}"]`)?.focus();
  }
}

function unique(ways) {
  const seen = new Set();
  return ways.filter((w) => !seen.has(w.join()) && seen.add(w.join()));
}

// pairs writes two landmarks of both sides as one: "front knee" and "back knee" are "both knees".
function pairs(names) {
  const other = { front: "back", left: "right", back: "front", right: "left" };
  const out = names.map((n) => {
    const [side, what] = n.split(" ");
    return names.includes(`${other[side]} ${what}`) ? `both ${what}s` : n;
  });
  return [...new Set(out)];
}
