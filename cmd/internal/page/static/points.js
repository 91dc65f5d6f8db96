// The points of one frame in a document of the work: landmarks, a level line, four corners.
// A point has a key: the name of its landmark, "level 0", "level 1", "corner 0" to "corner 3".

import { spaced } from "./dom.js";
import { nameOf } from "./landmarks.js";
import { unconfirmed } from "./proposal.js";
import { Work } from "./work.js";

// nameFor names a point by its key, or what is asked for ("level", "corners", a landmark).
export const nameFor = (key) => key.startsWith("level") ? "level line" : key.startsWith("corner") ? "corner" : spaced(key);

// putPoint moves a point to a pixel of the take.
export function putPoint(doc, frame, key, at) {
  const p = Work.on(doc, frame);
  const [kind, i] = key.split(" ");
  if (kind === "level") p.level[i] = at;
  else if (kind === "corner") p.corners[i] = at;
  else {
    p.rounds.at(-1)[key] = at;
    delete p.proposed?.[key]; // a proposed mark that is moved is a person's
    p.seeds = false;
  }
  doc.frame = frame;
}

// addPoint adds a point for what is asked for.
export function addPoint(doc, frame, what, at) {
  const p = Work.on(doc, frame);
  doc.frame = frame;
  if (what === "level") p.level = [...p.level, at];
  else if (what === "corners") p.corners = [...p.corners, at];
  else {
    if (p.rounds.length === 0) p.rounds.push({});
    p.rounds.at(-1)[what] = at;
    delete p.proposed?.[what];
    p.seeds = false;
  }
}

export function removePoint(doc, frame, key) {
  const p = Work.on(doc, frame);
  const [kind, i] = key.split(" ");
  if (kind === "level") p.level.splice(i, 1);
  else if (kind === "corner") p.corners.splice(i, 1);
  else {
    delete p.rounds.at(-1)[key];
    delete p.proposed?.[key];
  }
}

// pointsShown returns the points of a frame as the stage draws them. items are the landmarks that are
// read; held is {key, at} of the point that is dragged, or null. Earlier rounds show only once the
// last one is whole, so that nobody places by them. turn is the proposed landmark to be confirmed next.
export function pointsShown(placed, items, whole, held, turn) {
  const hollow = unconfirmed(placed);
  const round = placed.rounds.at(-1) ?? {};
  const at = (key, there) => held?.key === key ? held.at : there;
  return [
    ...items.filter((i) => i.landmark in round).map(({ landmark: l }) => ({
      key: l, name: spaced(l), tag: spaced(l), kind: "landmark", at: at(l, round[l]), proposed: hollow.includes(l), turn: l === turn,
      earlier: whole ? placed.rounds.slice(0, -1).map((r) => r[l]).filter(Boolean) : [],
    })),
    ...placed.level.map((q, i) => ({ key: `level ${i}`, name: "level line", tag: "level", kind: "guide", proposed: false, turn: false, at: at(`level ${i}`, q) })),
    ...placed.corners.map((q, i) => ({ key: `corner ${i}`, name: nameOf("corners", i), tag: `${i + 1}`, kind: "guide", proposed: false, turn: false, at: at(`corner ${i}`, q) })),
  ];
}
