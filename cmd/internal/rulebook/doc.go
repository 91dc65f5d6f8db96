// Package rulebook reads rule books: YAML files of skills, each with the angle
// it asks, the deduction bands below it, and where every figure comes from.
// Some are built in; the user's own are in a folder and may replace them.
//
// A rule book (schema ecart/rulebook/1):
//
//	schema: ecart/rulebook/1
//	book: halle-nord                  # its id: skills are named halle-nord/split-leap
//	title: Halle Nord, squad goals
//	document: squad goals of the hall # the document with the figures
//	edition: spring                   # of the document
//	note: ...                         # optional
//	skills:
//	  - name: split-leap
//	    title: split leap, first year
//	    default: true                 # optional: meant by the plain name split-leap
//	    measure: hip-split
//	    asked_deg: 160                # at least so many degrees
//	    at_most: false                # optional; true: the angle may be at most asked_deg
//	    free_deg: 5                   # optional: short by this much is still met
//	    straight_legs: bent-knees     # optional: this book's skill with the separate deduction for a bent knee
//	    origin:
//	      provenance: common-practice # published, second-hand, common-practice or from-memory
//	      source: agreed by the coaches
//	      document: ...               # optional; default: the book's
//	      edition: ...                # optional; default: the book's
//	      section: ...                # optional
//	      seen: 2026-09-01            # optional: the day the source was last looked at
//	    bands:                        # in degrees short, without gaps, the last without an end
//	      - {over_deg: 5, to_deg: 20, deduction: "0.10"}
//	      - {over_deg: 20, deduction: "0.30"}
//	    cautions: [...]               # optional
//	    note: ...                     # optional
//
// A band may have a label, and its own origin if its figure comes from another source. A
// skill whose rule is worded for a quantity that no measure gives has not_measured (the
// quantity) instead of measure, asked_deg, at_most and free_deg, and its bands have when
// instead of over_deg and to_deg: it is displayed and never approximated by an angle.
//
// A skill about a ratio of lengths has ratio instead of measure, asked_deg, at_most and free_deg, and its
// bands have over_ratio and to_ratio instead of over_deg and to_deg. There is one ratio, legs-apart: how far
// the ankles or the knees are apart, in shoulder widths, each from joint to joint. Below the first band
// nothing is taken off. It is read with the measure leg-separation, whose angle then has no verdict:
//
//	skills:
//	  - name: legs-apart
//	    title: legs apart
//	    ratio: legs-apart
//	    origin: ...
//	    bands:
//	      - {over_ratio: 0, to_ratio: 1, deduction: "0.10"}
//	      - {over_ratio: 1, deduction: "0.30"}
//
// at_most applies to the absolute value of an angle, except for knee-bend and
// leg-separation: their negative angles are a different thing (a knee past straight, legs
// crossed), so it applies to the signed angle.
//
// Anchors, aliases and tags are refused, since people read rule books. For editors, the
// form is also a JSON Schema, rulebook.schema.json. It accepts and refuses what the decoder
// does, except for conditions between several keys.
package rulebook

import "ecart/cmd/internal/reading"

// Schema names the version of the file form.
const Schema = "ecart/rulebook/1"

// Convention says how bands worded in whole degrees are read.
const Convention = reading.Convention
