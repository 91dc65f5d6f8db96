// Package rulebook reads rule books: YAML files of skills, each with the angle
// it asks, the deduction bands below it, and where every figure comes from.
// Some are built in; the user's own stand in a folder and may replace them.
//
// A rule book (schema ecart/rulebook/1):
//
//	schema: ecart/rulebook/1
//	book: halle-nord                  # how it is asked for: halle-nord/split-leap
//	title: Halle Nord, squad goals
//	document: squad goals of the hall # what the figures stand in
//	edition: spring                   # of the document
//	note: ...                         # optional
//	skills:
//	  - name: split-leap
//	    title: split leap, first year
//	    default: true                 # optional: this one answers to the plain name
//	    measure: hip-split
//	    asked_deg: 160                # at least so many degrees
//	    at_most: false                # optional; true: the angle may be at most asked_deg
//	    free_deg: 5                   # optional: short by this much is still met
//	    straight_legs: bent-knees     # optional: the skill of this book by which a bent knee costs something of its own
//	    origin:
//	      provenance: common-practice # published, second-hand, common-practice or from-memory
//	      source: agreed by the coaches
//	      document: ...               # optional, the book's where left out
//	      edition: ...                # optional, the book's where left out
//	      section: ...                # optional
//	      seen: 2026-09-01            # optional: the day the source was last looked at
//	    bands:                        # in degrees short, without gaps, the last without an end
//	      - {over_deg: 5, to_deg: 20, deduction: "0.10"}
//	      - {over_deg: 20, deduction: "0.30"}
//	    cautions: [...]               # optional
//	    note: ...                     # optional
//
// A band may have a label, and an origin of its own where its figure comes from
// elsewhere. A skill whose rule is worded for a quantity that no measure gives
// carries not_measured (what the quantity is) in place of measure, asked_deg,
// at_most and free_deg, and its bands carry when in place of over_deg and
// to_deg: it can be shown and is never approximated by an angle.
//
// at_most takes the size of an angle, whichever way it opens; but of knee-bend and
// leg-separation, whose negative angles are something else (a knee past straight,
// legs crossed), it takes the angle with its sign.
//
// Anchors, aliases and tags are refused: a rule book is read by people. The form
// is a JSON Schema too, rulebook.schema.json, for editors; what it lets through
// or refuses, the decoder does, but for what stands between two keys.
package rulebook

import "ecart/cmd/internal/reading"

// Schema names the version of the file form.
const Schema = "ecart/rulebook/1"

// Convention says how bands worded in whole degrees are read.
const Convention = reading.Convention
