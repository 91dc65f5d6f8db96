// Proposed marks: hollow until a person confirms each in turn, or all at once. One that is moved is
// a person's mark.

import { $, say, spaced } from "./dom.js";
import { ask, quiet } from "./net.js";
import { person, proposedIn, unconfirmed } from "./proposal.js";
import { Work } from "./work.js";

export class Proposed {
  // to has id(), work(), placed(), items(round), n() of the moment, go(n) and changed().
  constructor(to) {
    this.to = to;
    this.none();
    $("proposed-one").onclick = () => this.confirm(this.left[0]);
    $("proposed-all").onclick = () => this.all();
    $("proposed-off").onclick = () => this.off();
    $("proposing-stop").onclick = () => this.off();
    addEventListener("keydown", (e) => {
      if (e.key !== "Enter" || e.defaultPrevented || e.ctrlKey || e.altKey || e.metaKey || !this.left.length) return;
      if (e.target.closest("button, a, input, select, textarea, summary")) return;
      e.preventDefault();
      this.confirm(this.left[0]);
    });
  }

  none() {
    this.is = { state: "", part: 0, said: {}, frame: 0 };
    this.left = []; // landmarks to be confirmed, in the order in which they are asked for
    this.at = -1; // the frame at which the take was opened
  }

  // asks reports whether somebody has to click on the athlete who is meant.
  get asks() { return this.is.state === "who" && !person(this.to.work().doc); }

  // open is called when a take is opened.
  open() {
    this.none();
    this.at = this.to.n();
    this.fetch();
  }

  async fetch() {
    const id = this.to.id();
    try {
      const is = await ask(`/takes/${id}/proposal`);
      if (id !== this.to.id()) return;
      const asked = this.is.state;
      this.is = is;
      if (is.state === "who" && asked !== "who") {
        if (this.asks) this.to.go(is.frame);
        say("two people are seen: click on the athlete");
      }
      this.to.changed();
    } catch (e) {
      if (!quiet(e)) this.none(); // marks are placed by hand
    }
  }

  // going shows how far the proposing is.
  going(e) {
    this.is = { ...this.is, state: "going", part: (e.done ?? 0) / 100 };
    this.#bar();
  }

  // came is called when marks came from the server, and reports whether they are proposals. If so, their moment
  // shows, unless somebody has stepped meanwhile.
  came() {
    const { doc } = this.to.work();
    if (!proposedIn(doc)) return false;
    if (this.to.n() === this.at) this.to.go(doc.frame);
    say("marks are proposed: look at each, and confirm it or move it");
    return true;
  }

  // meant sends a place on the athlete who is meant.
  async meant(at) {
    this.is = { ...this.is, state: "waiting", part: 0 };
    this.at = this.to.n();
    this.to.changed();
    try {
      await ask(`/takes/${this.to.id()}/proposal`, { method: "POST", body: { at, frame: this.to.n() } });
    } catch (e) {
      if (!quiet(e)) this.is = { ...this.is, state: "failed", said: { error: e.message, hint: e.hint } };
      this.to.changed();
    }
  }

  confirm(landmark) {
    if (!this.left.includes(landmark)) return;
    this.#change(`the ${spaced(landmark)} confirmed`, (p) => { p.proposed[landmark].confirmed = "each"; });
    say(`the ${spaced(landmark)} is confirmed${this.left.length ? `; next: the ${spaced(this.left[0])}` : ""}`);
  }

  all() {
    const left = this.left;
    this.#change("all proposed marks confirmed at once", (p) => { for (const l of left) p.proposed[l].confirmed = "all"; });
    say("all proposed marks are confirmed");
  }

  // off removes the proposed marks and stops the proposing: marks are placed by hand.
  off() {
    const left = this.left;
    if (left.length) {
      this.#change("the proposed marks taken off", (p, d) => {
        for (const l of left) {
          delete p.proposed[l];
          delete p.rounds[0][l];
        }
        if (!Object.keys(p.rounds[0]).length) p.rounds = [];
        if (p.proposed_facing && d.facing === p.proposed_facing) d.facing = "";
        p.proposed_facing = "";
      });
    }
    this.is = { ...this.is, state: "off" };
    ask(`/takes/${this.to.id()}/proposal`, { method: "DELETE" }).catch(() => {});
    this.to.changed();
  }

  #change(what, fn) {
    const n = this.to.n();
    this.to.work().change(what, (d) => {
      fn(Work.on(d, n), d);
      d.frame = n;
    });
  }

  // show shows what is proposed at this moment, or how far the proposing is.
  show() {
    const placed = this.to.placed(), open = unconfirmed(placed), order = this.to.items(placed.rounds[0] ?? {}).map((i) => i.landmark);
    this.left = order.filter((l) => open.includes(l));
    const n = this.left.length, state = person(this.to.work().doc) ? "" : this.is.state, failed = state === "failed" && !n;
    $("proposed").hidden = !n && !this.asks && !failed;
    $("proposed").classList.toggle("faint", failed);
    $("proposed-says").textContent = n ? "proposed, not confirmed" : this.asks ? "two people are seen: click on the athlete" : failed ? [this.is.said.error, this.is.said.hint].filter(Boolean).join("; ") : "";
    $("proposed-how").hidden = !n;
    $("proposed-one").hidden = $("proposed-all").hidden = !n;
    $("proposed-off").hidden = failed;
    if (n) {
      $("proposed-one").textContent = `the ${spaced(this.left[0])} is right`;
      $("proposed-all").textContent = n > 1 ? `all ${n} are right` : "it is right";
      $("proposed-one").hidden = n === 1;
    }
    if (n || this.asks) {
      $("now").textContent = this.asks ? "click on the athlete" : `is the ${spaced(this.left[0])} right?`;
      $("now").hidden = false;
    }
    $("now").classList.toggle("question", Boolean(n || this.asks));
    if (this.asks) $("ask").hidden = true;
    this.#bar();
  }

  #bar() {
    const on = ["waiting", "going"].includes(this.is.state) && !this.left.length && !person(this.to.work().doc);
    $("proposing").hidden = !on;
    $("proposing-bar").value = this.is.part;
    $("proposing-words").textContent = this.is.state === "waiting" ? "marks will be looked for" : `looking for the athlete, ${Math.round(100 * this.is.part)} %`;
  }
}
