package geometry

import (
	"fmt"
	"strings"
)

// MissingError says that a measure lacks a landmark.
type MissingError struct {
	Measure  string
	Landmark string // the one to be marked first
	hint     string
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("%s needs the landmark %q, which is not marked", e.Measure, e.Landmark)
}

// Hint names the sets of landmarks that would suffice.
func (e *MissingError) Hint() string { return e.hint }

// OptionError says that an option of Bind is missing, unknown, or does not decide the
// sense of the angle or the side to read.
type OptionError struct {
	Measure string
	Option  string   // "facing", "side" or "leg"
	Value   string   // as given; "" if it was not
	Choices []string // the values that would be accepted
	fact    string
	also    string // what else would help
}

func (e *OptionError) Error() string { return e.fact }

// Hint names the values that would be accepted.
func (e *OptionError) Hint() string { return "give " + e.Option + " as " + e.Accepted() }

// Accepted lists the values that would be accepted, and what else would help.
func (e *OptionError) Accepted() string {
	list := orList(e.Choices)
	if e.also != "" {
		list += ", or " + e.also
	}
	return list
}

// MarkError says that marks exist but cannot be used at their positions.
type MarkError struct {
	Measure   string
	Landmarks []string
	fact      string
	hint      string
}

func (e *MarkError) Error() string { return e.fact }

// Hint says how to correct the marks.
func (e *MarkError) Hint() string { return e.hint }

// orList joins words as in "left, right or up".
func orList(words []string) string { return joinList(words, " or ") }

func joinList(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + last + words[n-1]
}
