// The work on a take: the marks and the setup. Every change is stored on the
// server at once, can be undone without limit, and never overwrites what
// another window did.

import { ask, quiet, Refused, whenBack, windowName } from "./net.js";
import { notice, unnotice } from "./dom.js";
import { merged, proposedIn } from "./proposal.js";

const empty = () => ({ version: 0, skill: "", measure: "", leg: "", side: "", facing: "", camera: "", oblique_deg: 0, rater: "", lens: "", confidence: 0, found: "", stature_cm: 0, distance_m: 0, focal_mm: 0, frame: 0, frames: {} });

export class Work {
  #listeners = [];
  #past = [];
  #future = [];
  #saving = false;
  #dirty = false;

  constructor(id) {
    this.id = id;
    this.doc = empty();
  }

  onchange(fn) { this.#listeners.push(fn); }
  #tell() { for (const fn of this.#listeners) fn(); }

  async load() {
    this.doc = this.base = tidy(await ask(`/takes/${this.id}/work`)); // base: as last known to be stored
    const left = unsaved(this.id);
    const same = left && content(tidy(left)) === content(this.doc);
    if (same) keepUnsaved(this.id, null); // it was stored just before the reload
    else if (left && left.version === this.doc.version) {
      this.doc = tidy(left);
      this.#dirty = true;
      this.#save();
    } else if (left) {
      this.#past.push({ doc: this.doc, what: "what was stored" });
      this.#clash(this.doc, left);
    }
    this.#tell();
  }

  // placed returns what is placed on a frame; for a frame with nothing, empty lists that are not stored.
  placed(frame) {
    return this.doc.frames[frame] ?? { rounds: [], seeds: false, level: [], corners: [], width_m: 0, height_m: 0, beyond_deg: 0 };
  }

  // change stores what fn does to a copy of the document. what names the step for
  // undo. Successive changes with the same non-empty join are one step.
  change(what, fn, join = "") {
    const last = this.#past.at(-1);
    if (!join || last?.join !== join) this.#past.push({ doc: this.doc, what, join });
    this.#future = [];
    this.doc = structuredClone(this.doc);
    fn(this.doc);
    this.#changed();
  }

  // on returns a frame's part of a document that is being changed.
  static on(doc, frame) {
    return (doc.frames[frame] ??= { rounds: [], seeds: false, level: [], corners: [], width_m: 0, height_m: 0, beyond_deg: 0 });
  }

  // seal ends a step, so that the next change is a step of its own.
  seal() { if (this.#past.length) this.#past.at(-1).join = ""; }

  get undoes() { return this.#past.at(-1)?.what; }
  get redoes() { return this.#future.at(-1)?.what; }

  undo() { return this.#step(this.#past, this.#future); }
  redo() { return this.#step(this.#future, this.#past); }

  #step(from, to) {
    const s = from.pop();
    if (!s) return;
    to.push({ doc: this.doc, what: s.what });
    this.doc = { ...s.doc, version: this.doc.version };
    this.#changed();
    return s.what;
  }

  #changed() {
    this.#dirty = true;
    document.documentElement.dataset.saved = "no";
    keepUnsaved(this.id, this.doc);
    this.#tell();
    this.#save();
  }

  // settled reports whether all that was placed is stored.
  get settled() { return !this.#dirty; }

  async #save() {
    if (this.#saving || this.stopped) return;
    this.#saving = true;
    try {
      while (this.#dirty) {
        this.#dirty = false;
        const sent = this.doc;
        try {
          const { version } = await ask(`/takes/${this.id}/work?window=${windowName}`, { method: "PUT", body: sent });
          this.doc.version = version;
          this.base = sent;
          keepUnsaved(this.id, this.#dirty ? this.doc : null);
          unnotice("saving");
        } catch (e) {
          this.#dirty = true;
          if (e instanceof Refused && e.status === 409) {
            const theirs = tidy(e.data), both = merged(theirs, this.doc, this.base);
            if (both) {
              this.doc = { ...both, version: theirs.version };
              this.base = theirs;
              this.#tell();
              continue;
            }
            this.#clash(theirs, this.doc);
          }
          else if (quiet(e)) whenBack(() => this.#save());
          else {
            notice("saving", { error: e.message, hint: e.hint }, ["try again", () => this.#save()]);
          }
          break;
        }
      }
    } finally {
      this.#saving = false;
      document.documentElement.dataset.saved = this.#dirty ? "no" : "yes";
    }
  }

  // clash lets a person choose between two windows that changed the same marks.
  #clash(theirs, ours) {
    this.stopped = true;
    const go = (doc, what) => {
      this.stopped = false;
      this.#past.push({ doc: this.doc, what });
      this.doc = { ...doc, version: theirs.version };
      this.#changed();
    };
    notice("clash", { error: "another window changed the marks of this take meanwhile", hint: "choose which of the two goes on; undo brings the other back" },
      ["go on with those of the other window", () => go(theirs, "the marks of this window")],
      ["go on with those of this window", () => { this.#past.push({ doc: theirs, what: "the marks of the other window" }); go(ours, "a choice between two windows"); }]);
  }

  // heard is called when some window stored a version. It resolves to true if that was loaded.
  async heard(version, from) {
    if (from === windowName || version <= this.doc.version || this.#dirty || this.#saving || this.stopped) return;
    let doc;
    try { doc = tidy(await ask(`/takes/${this.id}/work`)); } catch { return; }
    if (this.#dirty || this.#saving || doc.version <= this.doc.version) return;
    this.#past.push({ doc: this.doc, what: proposedIn(doc) ? "the proposed marks" : "what another window did" });
    this.#future = [];
    this.doc = this.base = doc;
    this.#tell();
    return true;
  }
}

// content returns a document as text, without its version, the same for the same marks.
function content(doc) {
  return JSON.stringify({ ...doc, version: 0 }, (_, v) => v && typeof v === "object" && !Array.isArray(v) ? Object.fromEntries(Object.entries(v).sort()) : v);
}

// tidy adds the empty lists that the server leaves out.
function tidy(doc) {
  const d = { ...empty(), ...doc };
  d.frames ??= {};
  for (const p of Object.values(d.frames)) {
    p.rounds ??= [];
    p.level ??= [];
    p.corners ??= [];
  }
  return d;
}

// What is not stored yet outlives a reload in sessionStorage.
const slot = (id) => `unsaved ${id}`;

function keepUnsaved(id, doc) {
  try {
    if (doc) sessionStorage.setItem(slot(id), JSON.stringify(doc));
    else sessionStorage.removeItem(slot(id));
  } catch { /* no room: the server has all but the last changes */ }
}

function unsaved(id) {
  try { return JSON.parse(sessionStorage.getItem(slot(id))); } catch { return null; }
}

