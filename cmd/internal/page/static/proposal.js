// Which marks of a document are proposals, and how a document with new proposals is merged with another.

// unconfirmed returns the landmarks of a frame whose marks are proposals that nobody confirmed.
export const unconfirmed = (placed) => Object.entries(placed.proposed ?? {}).filter(([l, q]) => !q.confirmed && l in (placed.rounds[0] ?? {})).map(([l]) => l);

// proposedIn reports whether a document has such a mark.
export const proposedIn = (doc) => Object.values(doc.frames).some((p) => unconfirmed(p).length > 0);

// person reports whether a document has a mark that somebody placed, moved or confirmed.
export const person = (doc) => Object.values(doc.frames).some((p) => p.rounds.some((r, i) => Object.keys(r).some((l) => i > 0 || !p.proposed?.[l] || p.proposed[l].confirmed)));

const setup = (doc) => JSON.stringify({ ...doc, version: 0, frame: 0, frames: 0, facing: 0, widest: 0 });

// merged returns the merger of the stored document and this window's, both made from base, if only proposals are new in
// the stored one. It is null otherwise: a person then has to choose.
export function merged(theirs, ours, base) {
  if (person(theirs) || !proposedIn(theirs) || setup(theirs) !== setup(base)) return null;
  if (person(ours)) return { ...ours, widest: theirs.widest }; // a person's marks go before proposals
  return { ...ours, widest: theirs.widest, frames: theirs.frames, frame: theirs.frame, facing: ours.facing || theirs.facing };
}
