// The loupe: the pixels under the finger, at full resolution.

import { $ } from "./dom.js";

const size = 148; // CSS pixels across
const tile = 192; // pixels of the take that are fetched at a time

export class Loupe {
  #tiles = new Map();

  constructor(view) {
    this.view = view;
    this.canvas = $("loupe");
    this.frames = null;
    this.n = -1;
  }

  // on shows the loupe for a pixel of the take; touch: a finger hides what is
  // under it.
  on(n, [px, py], touch = false) {
    if (n !== this.n) {
      this.#tiles.clear();
      this.n = n;
    }
    this.at = [px, py];
    this.#place(touch);
    this.#draw();
    this.#fetch();
  }

  off() {
    this.canvas.hidden = true;
    this.at = null;
  }

  #place(touch) {
    const [cx, cy] = this.view.toBox(...this.at);
    const { w, h } = this.view.box;
    const away = touch ? 28 : 22;
    let x = touch ? cx - size / 2 : cx + away;
    let y = cy - size - away;
    if (y < 4) {
      y = touch ? cy - size / 2 : cy + away;
      if (touch) x = cx > w / 2 ? cx - size - 40 : cx + 40;
    }
    x = Math.min(Math.max(x, 4), Math.max(4, w - size - 4));
    y = Math.min(Math.max(y, 4), Math.max(4, h - size - 4));
    this.canvas.hidden = false;
    this.canvas.style.transform = `translate(${x}px, ${y}px)`;
  }

  get #scale() { return Math.min(24, Math.max(4, 2.5 * this.view.scale)); }

  #draw() {
    const dpr = devicePixelRatio || 1;
    const c = this.canvas;
    if (c.width !== Math.round(size * dpr)) {
      c.width = c.height = Math.round(size * dpr);
      c.style.width = c.style.height = `${size}px`;
    }
    const g = c.getContext("2d");
    const s = this.#scale * dpr;
    const [px, py] = this.at;
    g.setTransform(1, 0, 0, 1, 0, 0);
    g.fillStyle = "#e9ecea";
    g.fillRect(0, 0, c.width, c.height);
    g.setTransform(s, 0, 0, s, c.width / 2 - (px + 0.5) * s, c.height / 2 - (py + 0.5) * s);
    g.imageSmoothingEnabled = true;
    const rough = this.frames.have(this.n) ?? this.frames.haveLook(this.n);
    if (rough) g.drawImage(rough.bitmap, 0, 0, this.view.picture.w, this.view.picture.h);
    g.imageSmoothingEnabled = false;
    let sharp = false;
    for (const { x, y, p } of this.#tiles.values()) {
      if (!p) continue;
      g.drawImage(p.bitmap, x, y);
      sharp ||= px >= x && py >= y && px < x + p.bitmap.width && py < y + p.bitmap.height;
    }
    c.dataset.sharp = sharp;
    g.setTransform(1, 0, 0, 1, 0, 0);
    const m = c.width / 2, gap = 7 * dpr;
    for (const [colour, wide] of [["#fffffff0", 3 * dpr], ["#1f1c17", 1.2 * dpr]]) {
      g.strokeStyle = colour;
      g.lineWidth = wide;
      g.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        g.moveTo(m + dx * gap, m + dy * gap);
        g.lineTo(m + dx * gap * 4, m + dy * gap * 4);
      }
      g.stroke();
    }
  }

  // fetch gets the tile around the point. Tiles overlap by half, so that a point near
  // the edge of one is in the middle of another.
  async #fetch() {
    const frames = this.frames, n = this.n;
    const x = Math.max(0, Math.round((this.at[0] - tile / 2) / (tile / 2)) * (tile / 2));
    const y = Math.max(0, Math.round((this.at[1] - tile / 2) / (tile / 2)) * (tile / 2));
    const key = `${x} ${y}`;
    if (this.#tiles.has(key)) return;
    this.#tiles.set(key, { x, y, p: null });
    try {
      const p = await frames.part(n, x, y, tile, tile, tile);
      if (this.n !== n) return;
      this.#tiles.set(key, { x, y, p });
      if (this.at) this.#draw();
    } catch {
      this.#tiles.delete(key);
    }
  }

  reset(frames) {
    this.frames = frames;
    this.#tiles.clear();
    this.n = -1;
    this.off();
  }
}
