// Pictures of frames from the server, fetched ahead and cached.

import { call, Refused } from "./net.js";

const mostSharp = 28; // decoded pictures kept
const mostLooks = 160;
const ahead = 8; // frames fetched in the direction of stepping

// Kept caches the pictures used last and closes those that it drops: at once, or for
// the one that shows, when another replaces it.
class Kept {
  constructor(most) {
    this.most = most;
    this.map = new Map();
  }
  get(key) {
    const v = this.map.get(key);
    if (v) {
      this.map.delete(key);
      this.map.set(key, v);
    }
    return v;
  }
  set(key, v) {
    this.map.set(key, v);
    for (const [old, o] of this.map) {
      if (this.map.size <= this.most) break;
      this.map.delete(old);
      drop(o);
    }
  }
  clear() {
    for (const o of this.map.values()) drop(o);
    this.map.clear();
  }
}

function drop(p) {
  p.dropped = true;
  if (!p.pinned) p.bitmap.close();
}

// pin keeps a picture from being closed while it shows; unpin ends that.
export function pin(p) { p.pinned = true; }
export function unpin(p) {
  p.pinned = false;
  if (p.dropped) p.bitmap.close();
}

export class Frames {
  #sharp = new Kept(mostSharp);
  #looks = new Kept(mostLooks);
  #going = new Map(); // key: promise
  #want = null; // AbortController of the request for the frame to be shown
  #run = 0; // number of the run of fetching ahead; an older run stops
  #ahead = new AbortController(); // of the requests ahead
  #at = 0; // the frame wanted last

  constructor(take) {
    this.take = take;
    this.width = 0; // of the pictures asked for
  }

  path(n) { return `/takes/${this.take.id}/frames/${n}`; }

  // fit sets the width of pictures, device pixels, in steps of 160. It reports
  // whether that changed.
  fit(width) {
    const step = 160;
    const next = Math.min(this.take.width, Math.ceil(width / step) * step);
    if (next === this.width) return false;
    this.width = next;
    this.#sharp.clear();
    return true;
  }

  // have returns the sharp picture of a frame if it is cached.
  have(n) { return this.#sharp.get(n); }
  haveLook(n) { return this.#looks.get(n); }

  // get fetches the sharp picture of a frame; back: the frames before it will be
  // asked for next.
  async get(n, signal, back = false) {
    const had = this.#sharp.get(n);
    if (had) return had;
    const key = `${n} ${this.width}`;
    let going = this.#going.get(key);
    if (!going) {
      going = this.#fetch(`${this.path(n)}?w=${this.width}${back ? "&back=yes" : ""}`, signal).finally(() => this.#going.delete(key));
      this.#going.set(key, going);
    }
    const width = this.width;
    const p = await going;
    if (width === this.width && !this.#sharp.map.has(n)) this.#sharp.set(n, p);
    return this.#sharp.get(n) ?? p;
  }

  // show fetches the sharp picture of the frame to be shown, and aborts the request
  // for the one before.
  async show(n) {
    this.#want?.abort();
    this.#want = new AbortController();
    const back = n < this.#at && this.#at - n <= ahead;
    this.first(n);
    try {
      return await this.get(n, this.#want.signal, back);
    } catch (e) {
      // If the request was one ahead that was aborted, the picture is fetched once more.
      if (e.name === "AbortError" && !this.#want.signal.aborted) return this.get(n, this.#want.signal, back);
      throw e;
    }
  }

  // first ends fetching ahead: frame n is wanted before all others.
  first(n) {
    this.#run++;
    if (Math.abs(n - this.#at) > ahead) { // far away: what is being fetched ahead there is not needed
      this.#ahead.abort();
      this.#ahead = new AbortController();
    }
    this.#at = n;
  }

  // look fetches the small picture of a frame; null if it is not there yet.
  async look(n) {
    const had = this.#looks.get(n);
    if (had) return had;
    const p = await this.#fetch(`${this.path(n)}/look`);
    if (p && !this.#looks.map.has(n)) this.#looks.set(n, p);
    return p;
  }

  // fetchAhead fetches the frames that come next in a direction, +1 or -1, one
  // after the other: the server decodes them in one go.
  async fetchAhead(n, direction) {
    const run = ++this.#run;
    this.#at = n;
    for (let i = 1; i <= ahead && run === this.#run; i++) {
      const next = n + direction * i;
      if (next < 0 || next >= this.take.frames) return;
      try { await this.get(next, this.#ahead.signal, direction < 0); } catch { return; }
    }
  }

  // part fetches a part of a frame (pixels of the take), out pixels wide.
  part(n, x, y, w, h, out, signal) {
    return this.#fetch(`${this.path(n)}/part?x=${x}&y=${y}&pw=${w}&ph=${h}&w=${out}`, signal);
  }

  async #fetch(path, signal) {
    const r = await call(path, { signal });
    if (r.status === 204) return null;
    if (!r.ok) throw new Refused(r.status, await r.json());
    const bitmap = await createImageBitmap(await r.blob());
    return { bitmap, broken: r.headers.has("X-Broken") };
  }

  close() {
    this.#want?.abort();
    this.#ahead.abort();
    this.#run++;
    this.#sharp.clear();
    this.#looks.clear();
  }
}
