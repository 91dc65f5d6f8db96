// Following stickers through the clip, and the curve of the angle.

import { $, drawing, notice, say } from "./dom.js";
import { ask, quiet } from "./net.js";

export class Follow {
  // to has id(), body(), the work as a request for this moment, seeds(more), the same with the
  // frames whose marks are seeds already, if more, seed(more), which makes this moment's marks seeds,
  // with those or alone, go(n) and changed().
  constructor(to) {
    this.to = to;
    this.none();
    $("follow").onclick = () => this.begin();
    for (const id of ["follow-stop", "follow-off"]) $(id).onclick = () => this.end();
    $("to-peak").onclick = () => this.peak();
  }

  none() {
    this.runs = [];
    this.landmarks = [];
    this.at = -1; // the frame of the peak
    this.key = "";
    this.going(null);
    this.#show(null);
  }

  // covers reports whether the stickers were followed through a frame.
  covers(n) { return this.runs.some(([from, to]) => n >= from && n <= to); }

  peak() { if (this.at >= 0) this.to.go(this.at); }

  async begin() {
    const more = !$("follow-off").hidden; // what was followed is kept and added to
    try {
      await ask(`/takes/${this.to.id()}/follow`, { method: "POST", body: this.to.seeds(more) });
      this.to.seed(more);
      this.going({ done: 0, of: 1 });
      say("the stickers are being followed");
    } catch (e) {
      if (!quiet(e)) notice("follow", { error: e.message, hint: e.hint });
    }
  }

  async end() {
    try {
      await ask(`/takes/${this.to.id()}/follow`, { method: "DELETE" });
      if ($("following").hidden) {
        this.none();
        this.to.changed();
      }
    } catch (e) {
      if (!quiet(e)) notice("follow", { error: e.message, hint: e.hint });
    }
  }

  // going shows how far the following is; null hides that.
  going(e) {
    $("following").hidden = !e;
    $("follow").disabled = Boolean(e);
    if (!e) return;
    $("following-bar").value = e.done / Math.max(1, e.of);
    $("following-words").textContent = e.wanted ? `${e.done} of ${e.of} frames, ${e.found ?? 0} of ${e.wanted} stickers in the last` : "looking for the stickers";
  }

  // over is called when the following has ended.
  over(e) {
    this.going(null);
    if (e.said) notice("follow", e.said);
    else say("the stickers were followed");
    this.key = "";
    this.update();
  }

  // update fetches the curve if the measure or the setup has changed.
  update() {
    const body = this.to.body();
    if (!body.measure) return;
    const { frame, version, frames, ...setup } = body;
    const here = frames[frame] ?? {};
    const key = JSON.stringify([this.to.id(), setup, here.level, here.corners, here.width_m, here.height_m]);
    if (key === this.key) return;
    this.key = key;
    clearTimeout(this.later);
    this.later = setTimeout(() => this.#fetch(body, key), 150);
  }

  async #fetch(body, key) {
    let c;
    try {
      c = await ask(`/takes/${this.to.id()}/curve?wide=${Math.max(100, $("film").clientWidth)}`, { method: "POST", body });
    } catch (e) {
      if (quiet(e)) this.key = "";
      c = null; // the reading says what is missing for this measure
    }
    if (key !== this.key) return;
    this.runs = c?.runs ?? [];
    this.landmarks = c?.landmarks ?? [];
    this.at = c?.peak ?? -1;
    this.#show(c?.svg ? c : null);
    this.to.changed();
  }

  #show(c) {
    $("along").hidden = $("follow-off").hidden = !c;
    $("to-peak").hidden = this.at < 0;
    $("save-clip-part").hidden = !c;
    $("along").replaceChildren(...(c ? [drawing(c.svg)] : []));
    $("along-says").textContent = c?.says ?? "";
  }
}
