package rules

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
)

// printBook prints one rule book of the list.
func printBook(p *terminal.Printer, b rulebook.Book, lib *rulebook.Library) {
	p.Wrap(b.ID+"  ", b.Title)
	switch {
	case b.Replaces:
		p.Wrap("  ", "yours, in place of the built-in one: "+b.File)
	case !b.BuiltIn:
		p.Wrap("  ", "yours: "+b.File)
	}
	shared := sharedProvenance(b)
	if shared != "" {
		p.Wrap("  ", "every figure: "+shared)
	}
	for _, k := range b.Skills {
		text := askedWords(k)
		if shared == "" {
			text += ", " + shortProvenance(k.Origin.Provenance)
		}
		if k.Default && len(lib.Named(k.Name)) > 1 {
			text += "; meant where no book is named"
		}
		p.Wrap(fmt.Sprintf("  %-17s ", k.Name), text)
	}
	p.Line("")
}

// sharedProvenance returns the provenance of all figures of a book; "" if they differ.
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

// askedWords returns the angle that a skill asks, with its measure.
func askedWords(k rulebook.Skill) string {
	switch {
	case k.NotMeasured != "":
		return "not measured"
	case k.Ratio != "":
		return "legs apart in shoulder widths"
	case k.AtMost:
		return fmt.Sprintf("%s at most %g°", k.Measure, k.AskedDeg+k.FreeDeg)
	case k.FreeDeg > 0:
		return fmt.Sprintf("%s at least %g°, to %g short is free", k.Measure, k.AskedDeg, k.FreeDeg)
	}
	return fmt.Sprintf("%s at least %g°", k.Measure, k.AskedDeg)
}

// askedHead comes before what a skill asks.
func askedHead(k rulebook.Skill) string {
	if k.Ratio != "" {
		return "judges "
	}
	return "asks "
}

// shortProvenance returns a provenance as a word or two.
func shortProvenance(v rulebook.Provenance) string {
	switch v {
	case rulebook.CommonPractice:
		return "common practice"
	case rulebook.FromMemory:
		return "from memory"
	}
	return string(v)
}

// printBookHead prints what holds for a whole book.
func printBookHead(p *terminal.Printer, b rulebook.Book) {
	p.Wrap(b.ID+"  ", b.Title)
	if !b.BuiltIn {
		p.Wrap("  ", "yours: "+b.File)
	}
	if b.Note != "" {
		p.Wrap("  ", b.Note)
	}
	p.Line("")
}

// printSkill prints one skill with everything known about its figures.
func printSkill(p *terminal.Printer, k rulebook.Skill) {
	p.Line("%s", k.Ref())
	p.Wrap("  ", k.Title)
	if k.NotMeasured != "" {
		p.Wrap("  ", "worded for what this tool does not measure: "+k.NotMeasured)
	} else {
		p.Wrap("  ", askedHead(k)+askedWords(k))
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
			p.Wrap(fmt.Sprintf("  %-14s ", whereWords(k, b)), what)
		case what == "":
			p.Wrap("  ", b.When)
		default:
			p.Wrap("  ", b.When+": "+what)
		}
	}
	p.Line("")
	printOrigin(p, "", k.Origin)
	for i, o := range others {
		printOrigin(p, fmt.Sprintf("[%d] ", i+1), o)
	}
	if k.Note != "" {
		p.Wrap("  noted:   ", k.Note)
	}
	if k.NotMeasured == "" && k.Ratio == "" && len(k.Bands) > 1 {
		p.Wrap("  noted:   ", rulebook.Convention)
	}
	for _, c := range k.Cautions {
		p.Wrap("  caution: ", c)
	}
}

// neverSeen has the reasons why a figure has no day on which its source was looked at.
var neverSeen = map[rulebook.Provenance]string{
	rulebook.Published:      "no day is given",
	rulebook.SecondHand:     "no day is given",
	rulebook.CommonPractice: "never: no document says it",
	rulebook.FromMemory:     "never: it is from memory",
}

// printOrigin prints everything known about where a figure comes from.
func printOrigin(p *terminal.Printer, sign string, o rulebook.Origin) {
	seen := o.Seen
	if seen == "" {
		seen = neverSeen[o.Provenance]
	}
	if sign != "" {
		p.Line("  %s", strings.TrimSpace(sign))
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
		tooLong := func(word string) bool { return utf8.RuneCountInString(head+word) > terminal.PrintWidth }
		switch {
		case row.text == "":
		case slices.ContainsFunc(strings.Fields(row.text), tooLong): // an address
			p.Line("  %s", row.head)
			p.Wrap("    ", row.text)
		default:
			p.Wrap(head, row.text)
		}
	}
}

// whereWords returns how far short a band lies, or how many shoulder widths it covers.
func whereWords(k rulebook.Skill, b rulebook.Band) string {
	word := "short"
	if k.AtMost {
		word = "off"
	}
	switch {
	case k.Ratio != "":
		return reading.RatioBand{Over: b.OverRatio, To: b.ToRatio}.Where()
	case b.ToDeg == nil:
		return fmt.Sprintf("over %g %s", b.OverDeg, word)
	}
	return fmt.Sprintf("%g-%g %s", b.OverDeg, *b.ToDeg, word)
}
