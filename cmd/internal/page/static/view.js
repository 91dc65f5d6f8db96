// Zoom and pan: where the picture stands in its box. Pixels of the take have
// their centre at whole numbers; box coordinates are CSS pixels.

export class View {
  constructor() {
    this.box = { w: 1, h: 1 };
    this.picture = { w: 1, h: 1 };
    this.scale = 1; // CSS pixels to a pixel of the take
    this.x = 0; // of the picture's top left corner in the box
    this.y = 0;
  }

  get least() { return Math.min(this.box.w / this.picture.w, this.box.h / this.picture.h); }
  get most() { return Math.max(16, this.least); }
  get zoomed() { return this.scale > this.least * 1.001; }

  // all shows the whole picture.
  all() {
    this.scale = this.least;
    this.#settle();
  }

  // to returns the scale at which a part fills the box, at most 4 CSS pixels to a pixel of the take.
  #to([, , w, h]) { return Math.max(this.least, Math.min(this.box.w / w, this.box.h / h, 4)); }

  // fit shows a part of the picture, [x, y, width, height], as large as it can.
  fit(part) {
    const [x, y, w, h] = part;
    this.scale = this.#to(part);
    this.x = this.box.w / 2 - (x + w / 2) * this.scale;
    this.y = this.box.h / 2 - (y + h / 2) * this.scale;
    this.#settle();
  }

  // fits reports whether a part shows wholly, and not much smaller than it could.
  fits(part) {
    const [x, y, w, h] = part, s = this.seen();
    return this.scale > 0.7 * this.#to(part) && s.x <= x + 2 && s.y <= y + 2 && s.x + s.w >= x + w - 2 && s.y + s.h >= y + h - 2;
  }

  resize(box, picture) {
    const whole = !this.zoomed || this.picture.w !== picture.w || this.picture.h !== picture.h;
    const middle = this.toPicture(this.box.w / 2, this.box.h / 2);
    this.box = box;
    this.picture = picture;
    if (whole) return this.all();
    this.scale = Math.min(Math.max(this.scale, this.least), this.most);
    this.x = box.w / 2 - (middle[0] + 0.5) * this.scale;
    this.y = box.h / 2 - (middle[1] + 0.5) * this.scale;
    this.#settle();
  }

  // zoom scales about a point of the box.
  zoom(by, cx, cy) {
    const [px, py] = this.toPicture(cx, cy);
    this.scale = Math.min(Math.max(this.scale * by, this.least), this.most);
    this.x = cx - (px + 0.5) * this.scale;
    this.y = cy - (py + 0.5) * this.scale;
    this.#settle();
  }

  pan(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.#settle();
  }

  // reveal pans until a pixel of the take is well inside the box.
  reveal([px, py], margin = 40) {
    const [cx, cy] = this.toBox(px, py);
    const dx = Math.max(margin - cx, 0) + Math.min(this.box.w - margin - cx, 0);
    const dy = Math.max(margin - cy, 0) + Math.min(this.box.h - margin - cy, 0);
    this.pan(dx, dy);
  }

  // settle keeps the picture in its box: centred where it is smaller.
  #settle() {
    for (const [at, side] of [["x", "w"], ["y", "h"]]) {
      const free = this.box[side] - this.picture[side] * this.scale;
      this[at] = free >= 0 ? free / 2 : Math.min(0, Math.max(free, this[at]));
    }
  }

  toPicture(cx, cy) { return [(cx - this.x) / this.scale - 0.5, (cy - this.y) / this.scale - 0.5]; }
  toBox(px, py) { return [(px + 0.5) * this.scale + this.x, (py + 0.5) * this.scale + this.y]; }

  // within moves a point of the take onto the picture.
  within([px, py]) {
    return [Math.min(Math.max(px, -0.5), this.picture.w - 0.5), Math.min(Math.max(py, -0.5), this.picture.h - 0.5)];
  }

  // seen returns the part of the take that shows, in whole pixels.
  seen() {
    const [x0, y0] = this.toPicture(0, 0);
    const [x1, y1] = this.toPicture(this.box.w, this.box.h);
    const x = Math.max(0, Math.floor(x0)), y = Math.max(0, Math.floor(y0));
    return { x, y, w: Math.min(this.picture.w, Math.ceil(x1) + 1) - x, h: Math.min(this.picture.h, Math.ceil(y1) + 1) - y };
  }
}
