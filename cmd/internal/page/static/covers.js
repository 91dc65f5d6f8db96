// Covers drawn by hand: circles over a frame, in pixels of the take.

import { el } from "./dom.js";

const drawn = new Map(); // by frame: the circles drawn on it in this window

export class Covers {
  // changed() is called after a circle was drawn, moved or removed.
  constructor(box, changed) {
    this.changed = changed;
    this.list = [];
    this.print = el("div", { class: "cover-print" });
    box.append(
      el("p", { class: "faint" }, "Press on the middle of a head and drag outwards. A circle is moved by dragging it; with the keyboard, arrows move it, + and − size it, Delete takes it off."),
      this.print,
      el("p", { class: "doings" },
        el("button", { type: "button", onclick: () => this.#add([this.picture.width / 2, this.picture.height / 3, this.picture.height / 10], true) }, "add a cover"),
        el("button", { type: "button", onclick: () => { this.list.length = 0; this.#draw(); this.changed(); } }, "take all off")));
    this.print.addEventListener("pointerdown", (e) => this.#down(e));
  }

  // of shows a frame with the circles that were drawn on it before.
  of(picture) {
    if (this.picture?.key === picture.key) return;
    this.picture = picture;
    if (!drawn.has(picture.key)) drawn.set(picture.key, []);
    this.list = drawn.get(picture.key);
    this.img = el("img", { src: picture.src, alt: "the frame that the sheet shows", draggable: "false" });
    this.#draw();
  }

  // at returns where an event is on the frame, in pixels of the take.
  #at(e) {
    const r = this.img.getBoundingClientRect();
    const s = this.picture.width / r.width;
    return [(e.clientX - r.left) * s - 0.5, (e.clientY - r.top) * s - 0.5];
  }

  #down(e) {
    if (e.button !== 0) return;
    e.preventDefault();
    this.print.setPointerCapture(e.pointerId);
    const [x, y] = this.#at(e);
    const held = this.list.findLast((c) => Math.hypot(c[0] - x, c[1] - y) <= c[2]);
    const least = this.picture.height / 60;
    const c = held ?? [x, y, this.picture.height / 14];
    const off = held ? [held[0] - x, held[1] - y] : null;
    if (!held) this.list.push(c);
    this.#draw();
    const move = (m) => {
      const [px, py] = this.#at(m);
      if (off) [c[0], c[1]] = [px + off[0], py + off[1]];
      else c[2] = Math.max(least, Math.hypot(px - x, py - y));
      this.#draw();
    };
    const up = () => {
      this.print.removeEventListener("pointermove", move);
      this.changed();
    };
    this.print.addEventListener("pointermove", move);
    this.print.addEventListener("lostpointercapture", up, { once: true });
  }

  #add(c, focus) {
    this.list.push(c);
    this.#draw();
    if (focus) this.print.querySelector("button:last-of-type").focus();
    this.changed();
  }

  #key(e, c) {
    const by = e.shiftKey ? 20 : 4;
    const moves = { ArrowLeft: [-by, 0, 0], ArrowRight: [by, 0, 0], ArrowUp: [0, -by, 0], ArrowDown: [0, by, 0], "+": [0, 0, by], "-": [0, 0, -by] }[e.key];
    if (e.key === "Delete" || e.key === "Backspace") this.list.splice(this.list.indexOf(c), 1);
    else if (moves) {
      moves.forEach((m, i) => { c[i] += m; });
      c[2] = Math.max(2, c[2]);
    } else return;
    e.preventDefault();
    const i = this.list.indexOf(c);
    this.#draw();
    this.print.querySelectorAll("button")[i]?.focus();
    clearTimeout(this.later);
    this.later = setTimeout(() => this.changed(), 400);
  }

  #draw() {
    const part = (v, of) => `${(100 * v) / of}%`;
    this.print.replaceChildren(this.img, ...this.list.map((c, i) => {
      const b = el("button", { type: "button", "aria-label": `cover ${i + 1}, ${Math.round(c[2])} pixels about ${Math.round(c[0])}, ${Math.round(c[1])}`, onkeydown: (e) => this.#key(e, c) });
      const { width: w, height: h } = this.picture;
      Object.assign(b.style, { left: part(c[0] - c[2] + 0.5, w), top: part(c[1] - c[2] + 0.5, h), width: part(2 * c[2], w), height: part(2 * c[2], h) });
      return b;
    }));
  }
}
