// The sheet: a take, a moment, the marks, the reading, keep. This file brings the
// parts together; it knows the state, they do not know each other.

import { $, keepUnits, notice, say, spaced, unnotice } from "./dom.js";
import { ask, listen, quiet, whenBack } from "./net.js";
import { Ask } from "./ask.js";
import { Athletes, earlier } from "./athletes.js";
import { beside, leaveBeside } from "./beside.js";
import { buttons } from "./buttons.js";
import { Follow } from "./follow.js";
import { Frames } from "./frames.js";
import { drawing, drawn, fillForm, keep, links, position, positionsOf, setRoster } from "./keep.js";
import { nameOf } from "./landmarks.js";
import { lensHeard, lensPlace } from "./lens.js";
import { Loupe } from "./loupe.js";
import { protocolOf } from "./protocol.js";
import { Moment } from "./moment.js";
import { goTo, keepMoment, keptMoment, placeOf } from "./places.js";
import { Proposed } from "./proposed.js";
import { addPoint, nameFor, pointsShown, putPoint, removePoint } from "./points.js";
import { Reading } from "./reading.js";
import { Setup } from "./setup.js";
import { Shelf } from "./shelf.js";
import { Stage } from "./stage.js";
import { Today } from "./today.js";
import { View } from "./view.js";
import { Work } from "./work.js";

keepUnits();

let take = null, work = null;
let held = null; // {key, at}: the mark that is being dragged

const view = new View();
const stage = new Stage(view, new Loupe(view), {
  place,
  remove: (key) => work.change(`${nameFor(key)} taken off`, (d) => removePoint(d, moment.n, key)),
  hold: () => {},
  letGo: () => { held = null; refresh(); },
  drag(key, at) {
    held = { key, at };
    stage.marks = marksNow();
    stage.paint();
    if (whole()) reading.quick(take.id, asked((d) => putPoint(d, moment.n, key, at)));
  },
  face: (way) => work.change("facing", (d) => { d.facing = way; }),
  drop(key) {
    if (!held) return;
    const { at } = held;
    held = null;
    work.change(`${nameFor(key)} moved`, (d) => putPoint(d, moment.n, key, at));
  },
  nudge(key, at) {
    work.change(`${nameFor(key)} moved`, (d) => putPoint(d, moment.n, key, at), `nudge ${key}`);
  },
  confirm: (key) => proposed.confirm(key ?? proposed.left[0]),
  step: (by) => moment.step(by),
  peak: () => follow.peak(),
  finer: () => moment.again(),
});
const moment = new Moment({
  show: (n, p, small) => stage.show(n, p, small),
  moved(n) {
    held = null;
    stage.n = n;
    keepMoment(take.id, n);
    refresh();
  },
  offline: () => whenBack(() => moment.again()),
  peak: () => follow.peak(),
});
const reading = new Reading({
  fan: (f) => { stage.fan = f; stage.paint(); },
  found: (part) => stage.found(part),
  faces(ways) {
    setup.faces = ways;
    stage.faces = ways;
    stage.paint();
    if (work) setup.show(work.doc, placed());
  },
  confirm: (deg) => work.change("the angle confirmed", (d) => { Work.on(d, moment.n).beyond_deg = deg; }),
  shown: () => { $("saves").hidden = false; $("keep").hidden = Boolean(reading.got.proposed); links(now()); before(); },
});
const asking = new Ask({
  changed(focus) {
    refresh();
    if (focus) stage.surface.focus({ preventScroll: true });
  },
});
const follow = new Follow({ id: () => take.id, body: () => asked(), seeds, seed, go: (n) => moment.go(n), changed: () => refresh() });
const proposed = new Proposed({ id: () => take?.id, work: () => work, placed: () => placed(), items: (round) => asking.items(round), n: () => moment.n, go: (n) => moment.go(n), changed: () => refresh() });
const athletes = new Athletes({ look: keepMoment });
const shelf = new Shelf({
  open,
  many: () => { if (location.hash && location.hash !== "#today") location.hash = "#today"; },
  came: () => today.list(),
});
let setup, today;

const placed = () => work.placed(moment.n);
const now = () => ({ id: take.id, frame: moment.n, version: work.doc.version, settled: settle, body: () => asked() });

// followed reports whether stickers give the marks of this moment.
const followed = () => (placed().rounds.length === 0 || placed().seeds) && follow.covers(moment.n);

// whole is true when a reading can be asked for.
function whole() {
  if (followed()) return true;
  const round = placed().rounds.at(-1) ?? {};
  return asking.complete(round);
}

// asked returns the document for a request about this moment, changed by fn.
function asked(fn) {
  let d = work.doc;
  if (fn) {
    d = structuredClone(d);
    fn(d);
  }
  return { ...d, frame: moment.n, frames: d.frames[moment.n] ? { [moment.n]: d.frames[moment.n] } : {} };
}

// marksNow returns the points that show.
const marksNow = () => pointsShown(placed(), asking.items(placed().rounds.at(-1) ?? {}), whole(), held, proposed.left[0]);

// place places what is asked for at a pixel of the take.
function place(at) {
  if (proposed.asks) return proposed.meant(at);
  const what = asking.now;
  if (!what) return;
  const p = placed();
  const again = what in (p.rounds.at(-1) ?? {});
  work.change(`${nameFor(what)} ${again ? "moved" : "placed"}`, (d) => addPoint(d, moment.n, what, at));
  if (asking.picked === what && !["level", "corners"].includes(what)) asking.picked = null;
  refresh();
  say(`${nameOf(what)} is placed${asking.now ? `; next: ${nameOf(asking.now, placed()[asking.now]?.length)}` : ""}`);
}

// seeds returns the document for following from this moment, and from those whose marks are seeds
// already, if more.
function seeds(more) {
  const d = asked();
  const all = Object.entries(work.doc.frames).filter(([n, p]) => more && p.seeds && Number(n) !== moment.n);
  return { ...d, frames: { ...d.frames, ...Object.fromEntries(all) } };
}

// seed makes the marks of this moment seeds of stickers: with those of other moments if more, else alone.
function seed(more) {
  const others = !more && Object.entries(work.doc.frames).some(([n, p]) => p.seeds && Number(n) !== moment.n);
  if (!placed().rounds.length || placed().seeds && !others) return;
  work.change("marks made seeds", (d) => {
    if (!more) for (const p of Object.values(d.frames)) p.seeds = false;
    Work.on(d, moment.n).seeds = true;
  });
}

// refresh shows the present state.
function refresh() {
  if (!work || !take) return;
  const doc = work.doc, p = placed();
  const m = setup.measure(doc);
  if (m !== asking.measure) {
    asking.reset();
    asking.measure = m;
    positionsOf(m);
    protocolOf(m?.name ?? "");
  }
  asking.leg = doc.leg;
  asking.needs = setup.needs(doc);
  setup.show(doc, p);
  asking.show(p, followed() ? follow.landmarks : null);
  proposed.show();
  stage.asked = proposed.asks ? "athlete" : asking.now;
  stage.marks = marksNow();
  stage.paint();
  showButtons(work, p, whole(), followed());
  moment.marked = Object.keys(doc.frames).filter((k) => doc.frames[k].rounds.some((r) => Object.keys(r).length)).map(Number);
  const last = moment.marked.includes(doc.frame) ? doc.frame : moment.marked.at(-1);
  $("to-marked").hidden = moment.marked.length === 0 || moment.marked.includes(moment.n);
  $("to-marked").onclick = () => moment.go(last);
  moment.draw();
  follow.update();
  read();
}

let lastAsked = "";

// read asks for the reading if all is placed and it is not there yet.
function read() {
  const ready = whole();
  const body = ready ? asked() : null;
  const key = JSON.stringify({ ...body, version: 0, id: take.id, followed: ready && followed() });
  if (held) return;
  if (ready && key === lastAsked) return;
  lastAsked = ready ? key : "";
  if (!ready) {
    const left = asking.measure ? asking.items(placed().rounds.at(-1) ?? {}).filter((i) => !i.optional && !(i.landmark in (placed().rounds.at(-1) ?? {}))) : [];
    $("keep").hidden = $("saves").hidden = true;
    const first = moment.marked.length || take.still ? "" : "Go to the moment that counts: along the strip, then frame by frame. ";
    reading.none(!asking.measure ? "Choose what is read; then place its marks." : `${first}Still to be placed: ${left.map((i) => spaced(i.landmark)).join(", ")}.`);
    return;
  }
  if (keyed) reading.quick(take.id, body);
  reading.read(take.id, body, keyed ? 260 : 0);
}

let keyed = false; // the change came from a key that may be held down
addEventListener("keydown", () => { keyed = true; }, true);
addEventListener("pointerdown", () => { keyed = false; }, true);

// before shows this athlete's last readings under the ruler.
const before = () => take && earlier({ athlete: $("athlete").value, measure: asking.measure?.name ?? "", variant: position(), day: $("day").value, take: take.id });
for (const id of ["athlete", "day", "position"]) $(id).addEventListener("input", () => { before(); today.toward(take); });

// settle waits until all that was placed is on disk.
async function settle() {
  for (let i = 0; i < 100 && !work.settled; i++) await new Promise((done) => setTimeout(done, 50));
}

// onward opens the next take of today of which nothing is kept, or today if there is none.
async function onward() {
  await today.list();
  const id = today.next(take.id);
  if (id) return open(id);
  location.hash = "#today";
}

// open shows a take.
async function open(id) {
  let next, w;
  try {
    next = await ask(`/takes/${id}`);
    w = new Work(id);
    take = null;
    work = w;
    await w.load();
  } catch (e) {
    if (quiet(e)) whenBack(() => open(id));
    else notice("take", e.words ?? { error: e.message, hint: e.hint });
    return;
  }
  take = next;
  unnotice("take");
  $("others").textContent = "";
  if (location.hash.slice(1) !== id) history.pushState(null, "", `/#${id}`);
  for (const s of ["moment", "marks", "reading", "placing", "more"]) $(s).hidden = false;
  goTo("picture", take);
  fillForm(take);
  asking.reset();
  follow.none();
  proposed.none();
  drawing(null);
  lastAsked = "";
  const frames = new Frames(take);
  const m = keptMoment();
  const n = m?.id === id ? m.n : w.doc.frame;
  stage.open(frames);
  moment.open(take, frames, Math.min(n, take.frames - 1));
  w.onchange(() => {
    if (w !== work) return;
    refresh();
  });
  listen(id, heard);
  proposed.open();
  moves();
  if (take.warnings?.length) notice("warnings", { error: take.warnings.join("; "), hint: "" });
  else unnotice("warnings");
  today.current = id;
  today.list();
  today.toward(take);
  refresh();
}

// go shows the section of the page that the address after # names.
function go() {
  const at = location.hash.slice(1), place = placeOf(at);
  if (place === "picture" && take?.id !== at) {
    leaveBeside();
    return open(at);
  }
  if (place) goTo(place, take);
  if (place === "beside") return beside(at);
  leaveBeside();
  if (place === "lens") return lensPlace();
  if (place === "athletes") return athletes.show(at.split("/")[1]);
  const m = place === "picture" ? keptMoment() : null;
  if (m?.id === at && m.n !== moment.n) moment.go(m.n);
}
addEventListener("hashchange", go);

async function heard(e) {
  if (e.kind === "shelf" || e.kind === "today") return today.list();
  if (e.kind === "journal") {
    today.list();
    return athletes.changed();
  }
  if (e.kind === "looking" || e.kind === "lens") {
    await lensHeard(e);
    if (e.kind === "lens" && setup) {
      setup.lenses();
      today.forAll.lenses();
    }
    return;
  }
  if (!take) return;
  if (e.kind === "work" && await work.heard(e.version ?? 0, e.from) && !proposed.came()) say("marks came from another window");
  if (e.kind === "parted") {
    location.replace("/#today"); // each of its passes is a row there
    return location.reload();
  }
  if (e.kind === "windows") $("others").textContent = e.windows > 1 ? `open in ${e.windows} windows: what is placed in one shows in the others` : "";
  if (e.kind === "proposing") proposed.going(e);
  if (e.kind === "proposed") proposed.fetch();
  if (e.kind === "following") follow.going(e);
  if (e.kind === "followed") follow.over(e);
  if (e.kind === "drawing") drawing(e);
  if (e.kind === "drawn") drawn(e);
  if (e.kind === "looks") {
    $("looks").textContent = e.done < e.of ? `looking through the clip, ${Math.round((100 * e.done) / e.of)} %` : "";
    moment.draw();
  }
}

// moves asks where somebody moves in the clip, which is known once its small pictures are made.
async function moves() {
  const of = take;
  if (of.still) return;
  try {
    const m = await ask(`/takes/${of.id}/areas`);
    if (of !== take) return;
    if (!m) {
      setTimeout(() => of === take && moves(), 1500); // it is not looked through yet
      return;
    }
    stage.moves = m;
    stage.paint();
  } catch { /* the whole picture shows */ }
}

const showButtons = buttons(() => ({ take, frame: moment.n, work }), asking, stage, athletes, {
  settled: settle, refresh,
  go: (n) => moment.go(n),
  again() {
    lastAsked = "";
    read();
  },
});

async function start() {
  let choices;
  try {
    choices = await ask("/choices");
  } catch (e) {
    if (quiet(e)) whenBack(start);
    else notice("start", e.words);
    return;
  }
  setup = new Setup(choices, {
    set: (what, fn) => work && work.change(`${what} changed`, fn),
    wide: (d, v) => { Work.on(d, moment.n).width_m = v; },
    high: (d, v) => { Work.on(d, moment.n).height_m = v; },
  });
  keep(now, onward);
  today = new Today(choices, {
    open,
    removed: (id) => { if (take?.id === id) location.replace("/"); },
    athlete: (name) => { location.hash = athletes.numbered(name) ? `#athletes/${athletes.numbered(name)}` : "#athletes"; },
    changed() {
      shelf.most = today.is.most_bytes;
      setRoster(today.is.names);
      today.toward(take);
    },
  });
  const place = placeOf(location.hash.slice(1));
  goTo(place === "picture" ? "today" : place ?? "today", take);
  performance.mark("ready");
  listen("", heard);
  await today.list();
  if (place !== "today") await go();
  document.documentElement.dataset.ready = "yes";
}

start();
