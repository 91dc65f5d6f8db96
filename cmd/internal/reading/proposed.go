package reading

import (
	"fmt"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

// HowConfirmed says how a person made a mark of a proposal.
type HowConfirmed string

const (
	NotConfirmed  HowConfirmed = ""
	ConfirmedEach HowConfirmed = "each" // by itself
	ConfirmedAll  HowConfirmed = "all"  // with all others at once
)

// What is said of a reading from proposals, everywhere.
const (
	ProposedWords  = "proposed, not confirmed"
	ProposedNote   = "the marks are proposed from the picture and nobody has confirmed them: this is no measurement, so no verdict is given and nothing is kept"
	ProposedAdvice = "look at each proposed mark in the picture, correct it where it is off, and confirm it"
)

// checkProposed refuses what contradicts itself; of names the mark, for the message.
func (p *Placement) checkProposed(of string) error {
	if !slices.Contains([]HowConfirmed{NotConfirmed, ConfirmedEach, ConfirmedAll}, p.Confirmed) {
		return fault.New(fmt.Sprintf("%s has \"confirmed\": %q", of, strict.Clip(string(p.Confirmed))), "it is each (this mark by itself) or all (with the others at once)")
	}
	if p.Proposed && p.Confirmed != NotConfirmed {
		return fault.New(of+" is proposed and confirmed at once", "leave \"proposed\" out of a mark that a person has confirmed")
	}
	return nil
}

// Proposed reports whether any of the marks is a proposal.
func (m *Marks) Proposed() bool {
	return slices.ContainsFunc(m.Marks, func(p Placement) bool { return p.Proposed })
}

// Confirm returns the marks with all proposals confirmed in that way. They keep their
// covariance: a person who finds a proposal right has not placed it any better.
func (m *Marks) Confirm(how HowConfirmed) *Marks {
	out := *m
	out.Marks = slices.Clone(m.Marks)
	for i := range out.Marks {
		if p := &out.Marks[i]; p.Proposed {
			p.Proposed, p.Confirmed = false, how
		}
	}
	return &out
}

// proposed reports whether a mark that the reading uses, or that decided its side, is a
// proposal.
func (q *Request) proposed(m *model) bool {
	used := append(slices.Clone(m.names), m.bound.Deciders()...)
	return slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return p.Proposed && slices.Contains(used, p.Landmark) })
}
