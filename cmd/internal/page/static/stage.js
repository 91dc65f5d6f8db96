// The picture with its overlay: marks, the fan, the cross.

import { $, svgEl } from "./dom.js";
import { pin, unpin } from "./frames.js";
import { Handles } from "./handles.js";
import { keys } from "./keys.js";
import { pointers } from "./pointers.js";

export class Stage {
  // to has place(at), hold(key), letGo(key), drag(key, at), drop(key), nudge(key, at), remove(key), step(by),
  // peak(), face(way) and finer(), which fetches a picture of more pixels.
  constructor(view, loupe, to) {
    this.view = view;
    this.loupe = loupe;
    this.to = to;
    this.n = 0;
    this.marks = []; // {key, name, at, earlier, quiet}
    this.asked = null; // what the next point is for
    this.cross = null; // where the keys would place, in pixels of the take
    this.fan = null;
    this.faces = null; // the ways the chest may face, if that is asked
    this.print = $("print");
    this.canvas = $("picture");
    this.surface = $("stage");
    pointers(this);
    this.handles = new Handles(this, keys(this));
    $("zoom-in").onclick = () => this.zoom(1.6);
    $("zoom-out").onclick = () => this.zoom(1 / 1.6);
    $("zoom-all").onclick = () => this.whole();
    $("zoom-athlete").onclick = () => this.follow();
    new ResizeObserver(() => this.measure()).observe(this.print);
  }

  // open shows the frames of a take from now on.
  open(frames) {
    this.frames = frames;
    this.by = "self"; // who set the view: "self", following the athlete, or "hand"
    this.moves = null; // where somebody moves, from the server
    this.read = null; // {n, part}: the part that shows the athlete, of a frame that is read
    if (this.shown) unpin(this.shown.p);
    this.shown = null;
    for (const what of ["shown", "sharp", "painted"]) delete this.print.dataset[what]; // nothing of this take yet
    this.part = null;
    this.cross = null;
    this.marks = [];
    this.fan = null;
    this.faces = null;
    this.loupe.reset(frames);
    const { width, height } = frames.take;
    this.print.style.setProperty("--shape", `${width} / ${height}`);
    this.print.style.setProperty("--tall", height / width);
    this.print.classList.toggle("portrait", height > width);
    this.measure();
    this.view.all();
  }

  // measure fits the view to its box.
  measure() {
    if (!this.frames) return;
    const w = this.print.clientWidth, h = this.print.clientHeight;
    if (!w || !h) return;
    this.view.resize({ w, h }, { w: this.frames.take.width, h: this.frames.take.height });
    const dpr = devicePixelRatio || 1;
    this.canvas.width = Math.round(w * dpr);
    this.canvas.height = Math.round(h * dpr);
    const finer = this.frames.fit(this.view.least * this.frames.take.width * dpr);
    this.#draw(); // in the frame that has the new size, since a sized canvas is empty
    if (finer && this.shown) this.to.finer(); // else the first picture is still on its way
    else this.#sharpen();
  }

  // whole shows the whole picture, and no longer follows the athlete.
  whole() {
    this.by = "hand";
    this.view.all();
    this.changed();
  }

  // follow shows the athlete, also in the frames that are stepped to.
  follow() {
    this.by = "self";
    const part = this.athlete(this.n);
    if (part) this.view.fit(part);
    this.changed();
  }

  // athlete returns the part of frame n that shows the athlete: the smaller of the part that moves and the
  // part from the marks, if it holds all marks; null if neither is known.
  athlete(n) {
    const m = this.moves;
    const parts = [m?.parts[Math.min(m.parts.length - 1, Math.round(n / m.each))], this.read?.n === n ? this.read.part : null].filter(Boolean);
    const holds = ([x, y, w, h]) => this.marks.every((k) => k.kind !== "landmark" || k.at[0] > x && k.at[0] < x + w && k.at[1] > y && k.at[1] < y + h);
    return parts.filter(holds).sort((a, b) => a[2] * a[3] - b[2] * b[3])[0] ?? parts.at(-1) ?? null;
  }

  // found takes the part of this frame that shows the athlete. The view follows unless it is set by
  // hand or shows that already.
  found(part) {
    this.read = { n: this.n, part };
    if (this.by === "self" && this.shown?.n === this.n && !this.view.fits(this.athlete(this.n))) this.follow();
    else this.paint();
  }

  // show shows a picture of frame n; small: the sharp one is still to come.
  show(n, p, small) {
    if (p !== this.shown?.p) {
      pin(p);
      if (this.shown) unpin(this.shown.p);
    }
    const stepped = n === this.n && this.shown?.n !== n; // the picture changes, and the view with it
    this.shown = { n, p, small };
    if (stepped && this.by === "self") {
      const part = this.athlete(n);
      if (part) this.view.fit(part);
    }
    if (this.part && this.part.n !== n) {
      this.part.p.bitmap.close();
      this.part = null;
    }
    this.print.dataset.shown = n;
    this.print.dataset.sharp = small ? "no" : "yes";
    this.paint();
    if (!small) this.#sharpen();
  }

  changed() {
    this.paint();
    this.#sharpen();
  }

  zoom(by, cx = this.view.box.w / 2, cy = this.view.box.h / 2) {
    this.by = "hand";
    this.view.zoom(by, cx, cy);
    this.changed();
  }

  // sharpen fetches the visible part at full resolution if the zoom goes beyond the
  // resolution of the picture.
  #sharpen() {
    clearTimeout(this.later);
    this.giveUp?.abort();
    if (!this.shown || this.shown.small) return;
    const dpr = devicePixelRatio || 1;
    if (this.view.scale * dpr * this.frames.take.width <= this.shown.p.bitmap.width * 1.05) return;
    if (this.shown.p.bitmap.width >= this.frames.take.width) return; // all there is
    const n = this.n, seen = this.view.seen();
    if (seen.w <= 0 || seen.h <= 0) return;
    this.later = setTimeout(async () => {
      this.giveUp = new AbortController();
      try {
        const p = await this.frames.part(n, seen.x, seen.y, seen.w, seen.h, Math.min(4096, Math.ceil(seen.w * this.view.scale * dpr)), this.giveUp.signal);
        if (n !== this.n) return p.bitmap.close();
        this.part?.p.bitmap.close();
        this.part = { n, p, ...seen };
        this.paint();
      } catch { /* the coarser picture stays */ }
    }, 120);
  }

  paint() {
    if (this.painting) return;
    this.painting = requestAnimationFrame(() => {
      this.painting = 0;
      this.#draw();
    });
  }

  #draw() {
    this.#picture();
    this.#overlay();
  }

  #picture() {
    const v = this.view, dpr = devicePixelRatio || 1;
    const g = this.canvas.getContext("2d");
    g.setTransform(dpr, 0, 0, dpr, 0, 0);
    g.fillStyle = "#e4e3dc";
    g.fillRect(0, 0, v.box.w, v.box.h);
    if (!this.shown) return;
    g.imageSmoothingEnabled = v.scale < 6;
    g.imageSmoothingQuality = "high";
    const { bitmap } = this.shown.p;
    g.drawImage(bitmap, v.x, v.y, v.picture.w * v.scale, v.picture.h * v.scale);
    if (this.part?.n === this.shown.n) {
      const q = this.part;
      g.drawImage(q.p.bitmap, v.x + q.x * v.scale, v.y + q.y * v.scale, q.w * v.scale, q.h * v.scale);
    }
    this.print.dataset.painted = this.shown.n;
    $("zoom-out").disabled = $("zoom-all").disabled = !v.zoomed;
    const part = this.athlete(this.n);
    $("zoom-athlete").disabled = !part || this.by === "self" && v.fits(part);
  }

  #overlay() {
    const v = this.view, here = this.shown?.n === this.n;
    $("over").classList.toggle("away", !here);
    const fan = $("fan");
    fan.setAttribute("transform", `translate(${v.x + v.scale / 2} ${v.y + v.scale / 2}) scale(${v.scale})`);
    if (this.fan !== this.drawn) {
      this.drawn = this.fan;
      fan.replaceChildren(...(this.fan ? fanParts(this.fan) : []));
    }
    const lines = [];
    for (const kind of ["level", "corner"]) {
      const pts = this.marks.filter((m) => m.key.startsWith(kind)).map((m) => v.toBox(...m.at));
      if (pts.length > 1) lines.push(svgEl("path", { class: "guide", d: `M${pts.map((p) => p.join(" ")).join("L")}${pts.length === 4 ? "Z" : ""}` }));
    }
    for (const m of this.marks) {
      for (const e of m.earlier ?? []) {
        const [x, y] = v.toBox(...e);
        lines.push(svgEl("path", { class: "earlier", d: `M${x - 4} ${y}h8M${x} ${y - 4}v8` }));
      }
    }
    if (this.cross) {
      const [x, y] = v.toBox(...this.cross);
      lines.push(svgEl("path", { class: "cross under", d: crossAt(x, y) }), svgEl("path", { class: "cross", d: crossAt(x, y) }));
    }
    $("lines").replaceChildren(...lines);
    this.handles.show();
  }

  mark(key) { return this.marks.find((m) => m.key === key); }

  // nearest is the mark within reach of a point of the box.
  nearest(cx, cy, reach) {
    let best = null, least = reach;
    for (const m of this.marks) {
      const [x, y] = this.view.toBox(...m.at);
      const d = Math.hypot(x - cx, y - cy);
      if (d < least) [best, least] = [m, d];
    }
    return best;
  }
}

const crossAt = (x, y) => `M${x - 16} ${y}h10M${x + 6} ${y}h10M${x} ${y - 16}v10M${x} ${y + 6}v10`;

// fanParts returns the SVG elements of a fan, in pixels of the take.
export function fanParts(f) {
  const path = (cls, d) => d ? svgEl("path", { class: cls, d, "vector-effect": "non-scaling-stroke" }) : null;
  return [
    path("sector", f.sector),
    ...f.wedges.map((d) => path("wedge", d)),
    path("edge", f.edge),
    path("carried", f.carried),
    ...f.asked.map((d) => path("asked-line", d)),
    ...f.arms.map((d) => path("arm under", d)),
    ...f.arms.map((d) => path("arm", d)),
    ...f.ellipses.map((e) => svgEl("ellipse", { class: "worth", cx: e.x, cy: e.y, rx: e.long, ry: e.short, transform: `rotate(${e.tilt} ${e.x} ${e.y})`, "vector-effect": "non-scaling-stroke" })),
  ].filter(Boolean);
}
