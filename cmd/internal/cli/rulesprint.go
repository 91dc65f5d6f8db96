package cli

import (
	"fmt"

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
	for _, k := range b.Skills {
		text := askedWords(k) + ", " + shortProvenance(k.Origin.Provenance)
		if k.Default && len(lib.Named(k.Name)) > 1 {
			text += "; meant where no book is named"
		}
		p.wrap(fmt.Sprintf("  %-17s ", k.Name), text)
	}
	p.line("")
}

// askedWords say what a skill asks of which measure.
func askedWords(k rulebook.Skill) string {
	switch {
	case k.NotMeasured != "":
		return "judged by eye"
	case k.AtMost:
		return fmt.Sprintf("%s at most %g°", k.Measure, k.AskedDeg+k.FreeDeg)
	case k.FreeDeg > 0:
		return fmt.Sprintf("%s %g°, to %g short is free", k.Measure, k.AskedDeg, k.FreeDeg)
	}
	return fmt.Sprintf("%s %g°", k.Measure, k.AskedDeg)
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

// skill is one skill with everything known about its figures.
func (p *printer) skill(k rulebook.Skill) {
	p.line("%s", k.Ref())
	p.wrap("  ", k.Title)
	if k.NotMeasured != "" {
		p.wrap("  ", "worded for what this tool does not measure: "+k.NotMeasured)
	} else {
		p.wrap("  ", "asks "+askedWords(k))
	}
	for _, b := range k.Bands {
		what := b.Deduction
		if what == "" {
			what = b.Label
		}
		if b.Origin != nil {
			what += ", " + shortProvenance(b.Origin.Provenance)
		}
		p.wrap(fmt.Sprintf("  %-14s ", whereWords(b, k.AtMost)), what)
	}
	p.line("")
	p.wrap("  ", words(provenanceWords, string(k.Origin.Provenance)))
	p.wrap("  ", k.Origin.String())
	if e := k.Origin.Edition; e != "" && e != "none" {
		p.wrap("  ", "edition: "+e)
	}
	if k.Note != "" {
		p.wrap("  ", k.Note)
	}
	if k.NotMeasured == "" && len(k.Bands) > 1 {
		p.wrap("  ", rulebook.Convention)
	}
	for _, c := range k.Cautions {
		p.wrap("  caution: ", c)
	}
}

// whereWords say how far short a band lies.
func whereWords(b rulebook.Band, atMost bool) string {
	word := "short"
	if atMost {
		word = "off"
	}
	switch {
	case b.When != "":
		return b.When
	case b.ToDeg == nil:
		return fmt.Sprintf("over %g %s", b.OverDeg, word)
	}
	return fmt.Sprintf("%g-%g %s", b.OverDeg, *b.ToDeg, word)
}
