package cli

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/rulebook"
)

// book is one rule book in the list.
func (p *printer) book(b rulebook.Book, lib *rulebook.Library) {
	p.wrap(b.ID+"  ", b.Title)
	switch {
	case b.Replaces:
		p.wrap("  ", "yours, in place of the built-in one: "+b.File)
	case !b.BuiltIn:
		p.wrap("  ", "yours: "+b.File)
	}
	shared := sharedProvenance(b)
	if shared != "" {
		p.wrap("  ", "every figure: "+shared)
	}
	for _, k := range b.Skills {
		text := askedWords(k)
		if shared == "" {
			text += ", " + shortProvenance(k.Origin.Provenance)
		}
		if k.Default && len(lib.Named(k.Name)) > 1 {
			text += "; meant where no book is named"
		}
		p.wrap(fmt.Sprintf("  %-17s ", k.Name), text)
	}
	p.line("")
}

// sharedProvenance is how all figures of a book are known; "" where they differ.
func sharedProvenance(b rulebook.Book) string {
	if len(b.Skills) == 0 {
		return ""
	}
	first := b.Skills[0].Origin.Provenance
	for _, k := range b.Skills {
		if k.Origin.Provenance != first {
			return ""
		}
		for _, band := range k.Bands {
			if band.Origin != nil && band.Origin.Provenance != first {
				return ""
			}
		}
	}
	return shortProvenance(first)
}

// askedWords say what a skill asks of which measure.
func askedWords(k rulebook.Skill) string {
	switch {
	case k.NotMeasured != "":
		return "not measured"
	case k.AtMost:
		return fmt.Sprintf("%s at most %g°", k.Measure, k.AskedDeg+k.FreeDeg)
	case k.FreeDeg > 0:
		return fmt.Sprintf("%s at least %g°, to %g short is free", k.Measure, k.AskedDeg, k.FreeDeg)
	}
	return fmt.Sprintf("%s at least %g°", k.Measure, k.AskedDeg)
}

// shortProvenance is a provenance as a word or two.
func shortProvenance(v rulebook.Provenance) string {
	switch v {
	case rulebook.CommonPractice:
		return "common practice"
	case rulebook.FromMemory:
		return "from memory"
	}
	return string(v)
}

// bookHead is what holds for a whole book.
func (p *printer) bookHead(b rulebook.Book) {
	p.wrap(b.ID+"  ", b.Title)
	if !b.BuiltIn {
		p.wrap("  ", "yours: "+b.File)
	}
	if b.Note != "" {
		p.wrap("  ", b.Note)
	}
	p.line("")
}

// skill is one skill with everything known about its figures.
func (p *printer) skill(k rulebook.Skill) {
	p.line("%s", k.Ref())
	p.wrap("  ", k.Title)
	if k.NotMeasured != "" {
		p.wrap("  ", "worded for what this tool does not measure: "+k.NotMeasured)
	} else {
		p.wrap("  ", "asks "+askedWords(k))
	}
	others := []rulebook.Origin{}
	for _, b := range k.Bands {
		what := b.Deduction
		if what == "" && b.When == "" {
			what = b.Label
		}
		if b.Origin != nil {
			if !slices.Contains(others, *b.Origin) {
				others = append(others, *b.Origin)
			}
			what = strings.TrimSpace(fmt.Sprintf("%s [%d]", what, 1+slices.Index(others, *b.Origin)))
		}
		switch {
		case b.When == "":
			p.wrap(fmt.Sprintf("  %-14s ", whereWords(b, k.AtMost)), what)
		case what == "":
			p.wrap("  ", b.When)
		default:
			p.wrap("  ", b.When+": "+what)
		}
	}
	p.line("")
	p.origin("", k.Origin)
	for i, o := range others {
		p.origin(fmt.Sprintf("[%d] ", i+1), o)
	}
	if k.Note != "" {
		p.wrap("  noted:   ", k.Note)
	}
	if k.NotMeasured == "" && len(k.Bands) > 1 {
		p.wrap("  noted:   ", rulebook.Convention)
	}
	for _, c := range k.Cautions {
		p.wrap("  caution: ", c)
	}
}

// neverSeen say why a figure has no day on which its source was looked at.
var neverSeen = map[rulebook.Provenance]string{
	rulebook.Published:      "no day is given",
	rulebook.SecondHand:     "no day is given",
	rulebook.CommonPractice: "never: no document says it",
	rulebook.FromMemory:     "never: it is from memory",
}

// origin is everything known about where a figure comes from.
func (p *printer) origin(sign string, o rulebook.Origin) {
	seen := o.Seen
	if seen == "" {
		seen = neverSeen[o.Provenance]
	}
	if sign != "" {
		p.line("  %s", strings.TrimSpace(sign))
	}
	for _, row := range []struct{ head, text string }{
		{"known", desk.ProvenanceWords(string(o.Provenance))},
		{"document", o.Document},
		{"edition", o.Edition},
		{"section", o.Section},
		{"source", o.Source},
		{"looked at", seen},
	} {
		head := fmt.Sprintf("  %-10s ", row.head)
		tooLong := func(word string) bool { return utf8.RuneCountInString(head+word) > printWidth }
		switch {
		case row.text == "":
		case slices.ContainsFunc(strings.Fields(row.text), tooLong): // an address
			p.line("  %s", row.head)
			p.wrap("    ", row.text)
		default:
			p.wrap(head, row.text)
		}
	}
}

// whereWords say how far short a band lies.
func whereWords(b rulebook.Band, atMost bool) string {
	word := "short"
	if atMost {
		word = "off"
	}
	switch {
	case b.ToDeg == nil:
		return fmt.Sprintf("over %g %s", b.OverDeg, word)
	}
	return fmt.Sprintf("%g-%g %s", b.OverDeg, *b.ToDeg, word)
}
