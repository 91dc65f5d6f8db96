// The reading of the marks, worded by the server.

import { $, drawing, el, say, svgEl } from "./dom.js";
import { ask, quiet, Refused, whenBack } from "./net.js";

export class Reading {
  // to has fan(f) and found(part) for the picture, shown(), confirm(deg), and faces(ways), which asks in the
  // picture for the way the chest faces; null asks nothing.
  constructor(to) {
    this.to = to;
    this.got = null; // the Reading that is shown in full
    this.quicks = 0; // number of angles that came during drags, for tests
  }

  // none shows why there is no reading. faces: the ways the chest may face, if that is
  // missing; confirm: an angle that somebody has to confirm, degrees.
  none(why, { faces = null, confirm = null } = {}) {
    this.#stop();
    this.to.faces(faces);
    this.got = null;
    this.to.fan(null);
    $("result").hidden = $("worth").hidden = true;
    $("todo").textContent = why;
    $("todo").hidden = false;
    $("beyond").hidden = confirm === null;
    $("beyond").onclick = () => this.to.confirm(confirm);
    $("tag").hidden = true;
    $("reading").dataset.state = "none";
  }

  #stop() {
    clearTimeout(this.later);
    this.giveUp?.abort();
    this.next = null;
  }

  // quick follows a mark that is dragged: one request at a time, the last wins.
  quick(id, doc) {
    this.giveUp?.abort();
    clearTimeout(this.later);
    this.full = false;
    this.next = { id, doc };
    if (!this.running) this.#run();
  }

  async #run() {
    this.running = true;
    while (this.next) {
      const { id, doc } = this.next;
      this.next = null;
      try {
        const q = await ask(`/takes/${id}/quick`, { method: "POST", body: doc });
        if (this.full) break; // let go meanwhile
        $("reading").dataset.quicks = ++this.quicks;
        $("value").textContent = q.shown;
        $("plus").textContent = "";
        tag(q.shown, "");
        $("result").hidden = false;
        $("todo").hidden = $("beyond").hidden = true;
        $("reading").dataset.state = "moving";
        this.to.fan(q.fan);
      } catch (e) {
        if (e instanceof Refused) this.none(`${e.message}: ${e.hint}`, e);
      }
    }
    this.running = false;
  }

  // read asks for the full reading, after a pause (ms) if more changes are expected.
  read(id, doc, pause = 0) {
    this.#stop();
    $("reading").setAttribute("aria-busy", "true");
    if ($("reading").dataset.state !== "moving") $("reading").dataset.state = "working";
    this.later = setTimeout(() => this.#read(id, doc), pause);
  }

  async #read(id, doc) {
    const mine = new AbortController();
    this.giveUp = mine;
    this.full = true;
    try {
      const { reading, sheet, rater } = await ask(`/takes/${id}/reading`, { method: "POST", body: doc, signal: mine.signal });
      if (mine.signal.aborted) return;
      this.got = reading;
      this.#show(reading, sheet);
      $("rater-says").textContent = rater || raterUnsaid;
    } catch (e) {
      if (e.name === "AbortError") return;
      if (quiet(e)) whenBack(() => this.giveUp === mine && this.read(id, doc));
      else this.none(`${e.message}: ${e.hint}`, e);
    } finally {
      if (this.giveUp === mine) {
        this.full = false;
        $("reading").setAttribute("aria-busy", "false");
      }
    }
  }

  #show(r, s) {
    $("todo").hidden = $("beyond").hidden = true;
    $("result").hidden = $("worth").hidden = false;
    $("value").textContent = s.value;
    $("plus").textContent = s.plus;
    tag(s.value, r.proposed ? `${s.plus} proposed` : s.plus);
    $("between").textContent = s.between;
    $("what-read").textContent = `${s.title}: ${s.lines}`;
    for (const id of ["say", "say-degrees", "asked", "bands", "origin"]) $(id).hidden = !s.verdict;
    $("asked").hidden = !s.verdict?.asked;
    $("say").hidden = !s.verdict && !r.proposed;
    if (r.proposed) $("say").textContent = "proposed, not confirmed";
    if (s.verdict) {
      $("asked").textContent = `asked ${s.verdict.asked.replace(/^asked /, "")}`;
      $("say").textContent = s.verdict.says[0];
      $("say-degrees").textContent = s.verdict.says.slice(1).join("; ");
      $("origin").textContent = s.verdict.origin;
      $("bands").tBodies[0].replaceChildren(...s.verdict.bands.map((b) => el("tr", { class: b.likely ? "likely" : null },
        el("th", { scope: "row" }, swatch(b.rank), b.label), el("td", {}, b.where), el("td", {}, b.chance))));
    }
    $("ruler").replaceChildren(drawing(s.ruler));
    $("budget").tBodies[0].replaceChildren(...s.budget.map((b) => el("tr", {},
      el("th", { scope: "row" }, b.words, b.how && b.how !== b.words ? el("span", { class: "how" }, b.how) : null),
      el("td", {}, svgEl("svg", { class: "length", viewBox: "0 0 100 8", preserveAspectRatio: "none", "aria-hidden": "true" }, svgEl("rect", { width: 100 * b.share, height: 8 }))),
      el("td", {}, b.deg))));
    $("left-out").textContent = s.not_included ? `not included: ${s.not_included}` : "";
    for (const [id, list] of [["knees", s.knees], ["also", s.beside], ["advice", s.advice], ["notes", s.notes], ["cautions", s.cautions]]) {
      $(id).replaceChildren(...list.map((t) => el("li", {}, t)));
      $(id).hidden = list.length === 0;
    }
    $("command").textContent = s.command;
    $("command").parentElement.hidden = !s.command;
    const box = $("reading");
    box.dataset.state = "full";
    box.dataset.angle = r.angle_deg;
    box.dataset.expanded = r.expanded_uncertainty_deg;
    this.to.fan(s.fan);
    this.to.found(s.part);
    this.to.faces(null);
    this.to.shown();
    say(`${s.value.replace("°", " degrees")}, plus or minus ${s.plus.slice(2)}${s.verdict ? `; ${s.verdict.says.join("; ")}` : ""}`);
  }
}

const raterUnsaid = "Whoever places all marks of a frame again, three times or more, has a figure of how well they place them, and readings with their name count with it.";

// tag writes the angle onto the picture.
function tag(value, plus) {
  $("tag").hidden = false;
  $("tag").children[0].textContent = value;
  $("tag").children[1].textContent = plus;
}

function swatch(rank) {
  return svgEl("svg", { class: "swatch", viewBox: "0 0 26 12", "aria-hidden": "true" },
    svgEl("rect", { x: 0.5, y: 0.5, width: 25, height: 11, class: "paper" }),
    ...(rank ? [svgEl("rect", { x: 0.5, y: 0.5, width: 25, height: 11, fill: `url(#band-${Math.min(rank, 5)})` })] : []));
}
