// The marks on the picture as buttons, their names, and the question which way the chest faces.

import { $, el } from "./dom.js";
import { places } from "./keys.js";

export class Handles {
  // keys(e, key) is called for a key that is pressed on a mark.
  constructor(stage, keys) {
    this.stage = stage;
    this.keys = keys;
    this.buttons = new Map(); // by the key of the mark
  }

  // show puts the handles where their marks are.
  show() {
    const v = this.stage.view, { marks } = this.stage;
    const middle = marks.reduce((s, m) => s + m.at[0] / marks.length, 0);
    const left = new Set(this.buttons.keys());
    for (const m of marks) {
      left.delete(m.key);
      let h = this.buttons.get(m.key);
      if (!h) {
        h = el("button", { type: "button", class: `handle ${m.kind}`, "aria-roledescription": "mark", "data-key": m.key }, el("i"), el("span", { "aria-hidden": "true" }));
        h.addEventListener("keydown", (e) => this.keys(e, m.key));
        h.addEventListener("focus", () => { if (h.matches(":focus-visible")) this.#lookAt(m.key); });
        h.addEventListener("blur", () => this.stage.loupe.off());
        this.buttons.set(m.key, h);
        $("handles").append(h);
      }
      const [x, y] = v.toBox(...m.at);
      h.style.transform = `translate(${x}px, ${y}px)`;
      h.classList.toggle("proposed", m.proposed);
      h.classList.toggle("turn", m.turn);
      h.hidden = x < -1 || y < -1 || x > v.box.w + 1 || y > v.box.h + 1;
      const words = `${m.name}${m.proposed ? ", proposed," : ""} at ${places(m.at[0])}, ${places(m.at[1])}`;
      if (h.getAttribute("aria-label") !== words) h.setAttribute("aria-label", words);
      if (h.lastChild.textContent !== m.tag) h.lastChild.textContent = m.tag;
    }
    this.#tags(middle);
    this.#arrows();
    for (const key of left) {
      const h = this.buttons.get(key);
      if (document.activeElement === h) this.stage.surface.focus();
      h.remove();
      this.buttons.delete(key);
    }
  }

  // tags puts each mark's name where it hides no other mark and no other name; if there
  // is no such place, the name shows only while the mark has the focus.
  #tags(middle) {
    const { w, h } = this.stage.view.box;
    const letter = w < 520 ? 6.4 : 7.6, high = w < 520 ? 17 : 20;
    const boxes = this.stage.marks.map((m) => {
      const [x, y] = this.stage.view.toBox(...m.at);
      return [x - 10, y - 10, x + 10, y + 10];
    });
    this.stage.marks.forEach((m, i) => {
      const [x, y] = this.stage.view.toBox(...m.at);
      const wide = letter * m.tag.length + 10;
      const ways = {
        after: [x + 12, y + 4, x + 12 + wide, y + 4 + high], before: [x - 12 - wide, y + 4, x - 12, y + 4 + high],
        above: [x - wide / 2, y - 12 - high, x + wide / 2, y - 12], below: [x - wide / 2, y + 12, x + wide / 2, y + 12 + high],
      };
      const off = (m.at[0] - middle) * this.stage.view.scale;
      const order = Math.abs(off) < 60 && m.kind === "landmark" ? ["above", "after", "before", "below"] : off < 0 ? ["before", "below", "above", "after"] : ["after", "below", "above", "before"];
      const free = (b) => b[0] >= 0 && b[1] >= 0 && b[2] <= w && b[3] <= h && boxes.every((o, j) => j === i || b[2] < o[0] || b[0] > o[2] || b[3] < o[1] || b[1] > o[3]);
      const way = order.find((name) => free(ways[name])) ?? "bare";
      if (way !== "bare") boxes.push(ways[way]);
      const handle = this.buttons.get(m.key);
      for (const name of ["before", "above", "below", "bare"]) handle.classList.toggle(name, name === way);
    });
  }

  // arrows shows the arrows on the chest that ask which way it faces.
  #arrows() {
    const ways = (this.stage.faces ?? []).filter((w) => w in arrows);
    const box = $("faces");
    box.hidden = ways.length === 0;
    if (box.hidden) return;
    if (box.dataset.ways !== ways.join()) {
      box.dataset.ways = ways.join();
      box.replaceChildren(...ways.map((w) => el("button", { type: "button", class: w, "aria-label": `the chest faces ${w}`, onclick: () => this.stage.to.face(w) }, arrows[w])));
    }
    const [x, y] = this.stage.view.toBox(...this.#chest());
    const { w, h } = this.stage.view.box;
    box.style.transform = `translate(${Math.min(Math.max(x, 70), w - 70)}px, ${Math.min(Math.max(y, 70), h - 70)}px)`;
  }

  // chest returns the place of the chest: near the shoulder on the way to the hip, else the mark
  // there is of the two, else the middle of the picture.
  #chest() {
    const at = (base) => this.stage.marks.find((m) => m.kind === "landmark" && m.key.split("-").at(-1) === base)?.at;
    const s = at("shoulder"), h = at("hip");
    if (s && h) return [0.7 * s[0] + 0.3 * h[0], 0.7 * s[1] + 0.3 * h[1]];
    return s ?? h ?? [this.stage.view.picture.w / 2, this.stage.view.picture.h / 2];
  }

  // lookAt shows a mark under the loupe.
  #lookAt(key) {
    const s = this.stage, m = s.mark(key);
    if (!m || s.shown?.n !== s.n) return;
    s.view.reveal(m.at);
    s.changed();
    s.loupe.on(s.n, m.at);
  }
}

const arrows = { left: "←", right: "→", up: "↑", down: "↓" };
