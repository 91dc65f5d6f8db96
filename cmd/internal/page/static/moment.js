// The moment: the strip along the clip, the tape of frames, stepping, and which
// picture shows while the sharp one is fetched.

import { $, notice, unnotice } from "./dom.js";
import { quiet } from "./net.js";

const jump = 12; // a move of more frames is not stepping
const wide = 11; // CSS pixels of a frame on the tape

export class Moment {
  // to has show(n, picture, small), moved(n), offline() and peak().
  constructor(to) {
    this.to = to;
    this.n = 0;
    this.strip = $("strip");
    this.tape = $("tape");
    for (const b of document.querySelectorAll("[data-step]")) b.onclick = () => this.step(Number(b.dataset.step));
    this.strip.addEventListener("keydown", (e) => this.#key(e));
    drag(this.strip, (x, w) => this.go(Math.round((x / w) * (this.take.frames - 1))));
    let from = 0;
    drag(this.tape, (x, _, start) => this.go(from - Math.round((x - start) / wide)), () => { from = this.n; });
    new ResizeObserver(() => this.draw()).observe(this.strip);
  }

  open(take, frames, n) {
    this.close();
    this.take = take;
    this.frames = frames;
    this.marked = [];
    this.direction = 1;
    this.tiles = [];
    $("film").hidden = $("steps").hidden = take.still;
    this.strip.setAttribute("aria-valuemax", take.frames - 1);
    this.n = -1;
    this.go(n);
    this.draw();
  }

  close() {
    this.frames?.close();
    this.giveUp?.abort();
    this.frames = null;
  }

  step(by) { this.go(this.n + by); }

  // go makes n the moment. Its picture shows at once if it is cached, else the
  // small one first and the sharp one as soon as it comes.
  go(n) {
    if (!this.frames) return;
    n = Math.min(Math.max(n, 0), this.take.frames - 1);
    if (n === this.n) return;
    const by = n - this.n;
    if (this.n >= 0) this.direction = Math.sign(by);
    this.n = n;
    this.to.moved(n);
    this.#words();
    this.draw();
    const sharp = this.frames.have(n);
    if (sharp) {
      this.#shown(n, sharp, false);
      this.#ahead();
      return;
    }
    const small = this.frames.haveLook(n);
    if (small) this.#shown(n, small, true);
    else this.#small(n);
    if (Math.abs(by) > jump) this.giveUp?.abort();
    this.#pump();
  }

  // again fetches the picture of this moment once more, at another size.
  again() { if (this.frames) this.#pump(); }

  // small shows the small picture of n if it comes before the sharp one.
  async #small(n) {
    const frames = this.frames;
    try {
      const p = await frames.look(n);
      if (p && frames === this.frames && n === this.n && !frames.have(n)) this.#shown(n, p, true);
    } catch { /* the sharp one says what is wrong */ }
  }

  // pump fetches sharp pictures until that of the moment is there. Those of frames
  // that were passed meanwhile show as they come.
  async #pump() {
    if (this.pumping) return;
    this.pumping = true;
    const frames = this.frames;
    try {
      while (frames === this.frames && !frames.have(this.n)) {
        const n = this.n;
        this.giveUp = new AbortController();
        frames.first(n);
        const slow = setTimeout(() => { $("coming-frame").textContent = `frame ${n} is coming`; $("coming-frame").hidden = false; }, 350);
        try {
          const p = await frames.get(n, this.giveUp.signal);
          if (frames !== this.frames) return;
          unnotice("frame");
          if (n !== this.n) this.#shown(n, p, true);
        } catch (e) {
          if (e.name === "AbortError" && frames === this.frames) continue;
          if (!quiet(e)) notice("frame", { error: e.message, hint: e.hint });
          else if (e.name !== "AbortError") this.to.offline();
          return;
        } finally {
          clearTimeout(slow);
          $("coming-frame").hidden = true;
        }
      }
      if (frames === this.frames) {
        this.#shown(this.n, frames.have(this.n), false);
        this.#ahead();
      }
    } finally {
      this.pumping = false;
      if (frames !== this.frames && this.frames) this.#pump();
    }
  }

  #shown(n, p, small) {
    $("print").classList.toggle("broken", p.broken);
    this.to.show(n, p, small);
  }

  #ahead() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.frames?.fetchAhead(this.n, this.direction), 15);
  }

  #key(e) {
    if (e.altKey || e.metaKey || e.ctrlKey) return;
    if (e.key === "p") this.to.peak();
    const last = this.take.frames - 1;
    const to = { ArrowLeft: this.n - 1, ArrowDown: this.n - 1, ArrowRight: this.n + 1, ArrowUp: this.n + 1, PageUp: this.n + 10, PageDown: this.n - 10,
      ",": this.n - 1, ".": this.n + 1, "<": this.n - 10, ">": this.n + 10, Home: 0, End: last }[e.key];
    if (to === undefined) return;
    e.preventDefault();
    this.go(e.shiftKey && e.key.startsWith("Arrow") ? this.n + 10 * Math.sign(to - this.n) : to);
  }

  #words() {
    const { frames, times_s, still, width, height } = this.take;
    const words = still ? `a still of ${width} by ${height} pixels` : `frame ${this.n}, ${times_s[this.n].toFixed(3)} s; the last is ${frames - 1}`;
    $("when").textContent = words;
    this.strip.setAttribute("aria-valuenow", this.n);
    this.strip.setAttribute("aria-valuetext", words);
  }

  // draw paints strip and tape soon.
  draw() {
    if (!this.frames || this.take.still || this.drawing) return;
    this.drawing = requestAnimationFrame(() => {
      this.drawing = 0;
      if (!this.frames) return;
      this.#tiles();
      this.#tape();
      $("cursor").style.left = `${(100 * this.n) / Math.max(1, this.take.frames - 1)}%`;
    });
  }

  #tiles() {
    const c = $("tiles"), dpr = devicePixelRatio || 1;
    const w = this.strip.clientWidth, h = this.strip.clientHeight;
    if (!w) return;
    c.width = w * dpr;
    c.height = h * dpr;
    const g = c.getContext("2d");
    g.scale(dpr, dpr);
    const tile = Math.max(24, Math.min(h * (this.take.width / this.take.height), w / 3));
    const count = Math.max(1, Math.round(w / tile));
    let missing = 0;
    for (let i = 0; i < count; i++) {
      const each = this.take.look_each;
      const n = Math.floor(Math.round(((i + 0.5) / count) * (this.take.frames - 1)) / each) * each;
      const x = Math.round((i * w) / count), to = Math.round(((i + 1) * w) / count);
      const p = this.tiles[n];
      g.fillStyle = "#dfded5";
      g.fillRect(x, 0, to - x - 1, h);
      if (p?.bitmap) cover(g, p.bitmap, x, 0, to - x - 1, h);
      else missing++;
      if (!p) this.#tile(n);
    }
    c.dataset.whole = missing ? "no" : "yes"; // for tests and pictures
    g.fillStyle = "#b9402a";
    for (const n of this.marked) g.fillRect(Math.round((w * n) / Math.max(1, this.take.frames - 1)) - 1, h - 6, 3, 6);
  }

  async #tile(n) {
    const frames = this.frames;
    this.tiles[n] = {};
    try {
      const p = await frames.look(n);
      if (frames !== this.frames) return;
      if (!p) {
        setTimeout(() => { if (frames === this.frames) { delete this.tiles[n]; this.draw(); } }, 900);
        return;
      }
      // a copy, since the cache closes pictures
      this.tiles[n] = { bitmap: await createImageBitmap(p.bitmap, { resizeWidth: 160, resizeHeight: Math.max(1, Math.round((160 * p.bitmap.height) / p.bitmap.width)) }) };
      this.draw();
    } catch { delete this.tiles[n]; }
  }

  #tape() {
    const c = this.tape, dpr = devicePixelRatio || 1;
    const w = c.clientWidth, h = c.clientHeight;
    c.width = w * dpr;
    c.height = h * dpr;
    const g = c.getContext("2d");
    g.scale(dpr, dpr);
    g.font = '12px "Liberation Sans", Arial, sans-serif';
    g.textAlign = "center";
    const half = Math.ceil(w / 2 / wide);
    for (let n = Math.max(0, this.n - half); n <= Math.min(this.take.frames - 1, this.n + half); n++) {
      const x = Math.round(w / 2 + (n - this.n) * wide) + 0.5;
      const ten = n % 10 === 0;
      g.fillStyle = "#6a655b";
      g.fillRect(x - 0.5, 0, 1, ten ? 13 : n % 5 === 0 ? 9 : 6);
      if (ten) g.fillText(this.take.times_s[n].toFixed(2), x, 27);
      if (this.marked.includes(n)) {
        g.fillStyle = "#b9402a";
        g.fillRect(x - 1.5, 0, 3, 13);
      }
    }
    g.fillStyle = "#1f1c17";
    g.beginPath();
    g.moveTo(w / 2 - 5, 0);
    g.lineTo(w / 2 + 5, 0);
    g.lineTo(w / 2, 9);
    g.fill();
  }
}

function cover(g, bitmap, x, y, w, h) {
  const s = Math.max(w / bitmap.width, h / bitmap.height);
  const sw = w / s, sh = h / s;
  g.drawImage(bitmap, (bitmap.width - sw) / 2, (bitmap.height - sh) / 2, sw, sh, x, y, w, h);
}

// drag calls fn(x, width, start) while the pointer is down on an element, in CSS pixels from its left.
function drag(element, fn, begin = () => {}) {
  let start = null;
  const at = (e) => {
    const r = element.getBoundingClientRect();
    return [e.clientX - r.left, r.width];
  };
  element.addEventListener("pointerdown", (e) => {
    element.setPointerCapture(e.pointerId);
    start = at(e)[0];
    begin();
    fn(...at(e), start);
  });
  element.addEventListener("pointermove", (e) => start !== null && fn(...at(e), start));
  for (const end of ["pointerup", "pointercancel"]) element.addEventListener(end, () => { start = null; });
}
