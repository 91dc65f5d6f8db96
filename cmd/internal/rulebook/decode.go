package rulebook

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"time"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/strict"
)

const (
	maxProblems = 30  // reported at once
	maxText     = 600 // characters in one text
	maxName     = 40  // characters in an id or a name
)

var (
	namePattern   = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	numberPattern = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?$`)
)

// A decoder converts one tree to a Book and collects the problems.
type decoder struct {
	file     string
	known    func(measure string) bool
	skill    string // the skill being read
	problems []Problem
}

// decode reads the text of one rule book. The book is complete only if no problem is
// returned. known reports whether a measure exists; nil accepts any.
func decode(file string, text []byte, known func(measure string) bool) (*Book, []Problem) {
	root, problems := parseTree(text)
	d := &decoder{file: file, known: known, problems: problems}
	var book *Book
	if len(problems) == 0 {
		book = d.book(root)
	}
	slices.SortStableFunc(d.problems, func(a, b Problem) int {
		return cmp.Or(a.Line-b.Line, a.Column-b.Column)
	})
	if n := len(d.problems); n > maxProblems {
		d.problems = append(d.problems[:maxProblems], Problem{Text: fmt.Sprintf("and %d more problems", n-maxProblems),
			Do: "put these right first and check again"})
	}
	for i := range d.problems {
		d.problems[i].File = file
	}
	return book, d.problems
}

// bad records a problem.
func (d *decoder) bad(at place, do, format string, args ...any) {
	d.problems = append(d.problems, Problem{Line: at.Line, Column: at.Column, Skill: d.skill, Text: fmt.Sprintf(format, args...), Do: do})
}

func (d *decoder) book(n *node) *Book {
	if !d.table(n, "the file", "schema", "book", "title", "document", "edition", "note", "skills") {
		return nil
	}
	if s := d.word(n, "schema", true); s != "" && s != Schema {
		d.bad(n.Get("schema").At, fmt.Sprintf("write \"schema: %s\"", Schema), "schema %q is not one this version reads", clip(s))
	}
	b := &Book{
		File: d.file, ID: d.name(n, "book"), Title: d.text(n, "title", true),
		Document: d.text(n, "document", true), Edition: d.text(n, "edition", true), Note: d.text(n, "note", false),
	}
	first := map[string]int{}
	items := d.list(n, "skills")
	for _, item := range items {
		s := d.skillEntry(item, b)
		if line, twice := first[s.Name]; twice && s.Name != "" {
			d.bad(item.At, "rename or remove one of them", "the name is used twice, first on line %d", line)
		} else {
			first[s.Name] = item.At.Line
		}
		b.Skills = append(b.Skills, s)
		d.skill = ""
	}
	d.straightLegs(items, b)
	return b
}

func (d *decoder) skillEntry(n *node, b *Book) Skill {
	s := Skill{Book: b.ID, Line: n.At.Line}
	if v := n.Get("name"); v != nil && isScalar(v) {
		d.skill = clip(v.Text)
	}
	if !d.table(n, "a skill", "name", "title", "default", "measure", "ratio", "not_measured", "asked_deg", "at_most", "free_deg",
		"straight_legs", "origin", "bands", "cautions", "note") {
		return s
	}
	s.Name, s.Title = d.name(n, "name"), d.text(n, "title", true)
	s.Default, s.Note = d.yes(n, "default"), d.text(n, "note", false)
	if v := n.Get("cautions"); v != nil && v.Kind == strict.List {
		for _, c := range v.Items {
			s.Cautions = append(s.Cautions, d.words(c, "a caution"))
		}
	} else if v != nil {
		d.bad(v.At, "write it as a list, each line with a dash", "cautions holds %s", kindOf(v))
	}
	s.Origin = d.origin(n, Origin{Document: b.Document, Edition: b.Edition})

	kind := "measure"
	for _, other := range []string{"ratio", "not_measured"} {
		if n.Get(other) != nil {
			kind = other
		}
	}
	switch kind {
	case "measure":
		d.asked(n, &s)
	case "ratio":
		s.Ratio = d.word(n, "ratio", true)
		if s.Measure = reading.RatioMeasure(s.Ratio); s.Measure == "" && s.Ratio != "" {
			d.bad(n.Get("ratio").At, "write legs-apart: how far the ankles or knees are apart, in shoulder widths", "unknown ratio %q", clip(s.Ratio))
		}
	default:
		s.NotMeasured = d.text(n, "not_measured", true)
	}
	if kind != "measure" {
		for _, key := range []string{"measure", "ratio", "asked_deg", "at_most", "free_deg", "straight_legs"} {
			if v := n.Get(key); v != nil && key != kind {
				d.bad(v.At, fmt.Sprintf("remove %s or %s", key, kind), "%s beside %s", key, kind)
			}
		}
	}
	places, whole := []place{}, len(d.problems)
	for _, item := range d.list(n, "bands") {
		s.Bands = append(s.Bands, d.band(item, s, kind))
		places = append(places, item.At)
	}
	// a band that could not be read would only cause further problems
	if len(d.problems) == whole {
		d.checkBands(s, places)
	}
	return s
}

// asked reads the keys of a skill that is measured.
func (d *decoder) asked(n *node, s *Skill) {
	s.Measure = d.word(n, "measure", true)
	if s.Measure != "" && d.known != nil && !d.known(s.Measure) {
		d.bad(n.Get("measure").At, "take the name of a measure, such as hip-split", "unknown measure %q", clip(s.Measure))
	}
	s.AtMost = d.yes(n, "at_most")
	s.AskedDeg = d.degrees(n, "asked_deg", true)
	s.FreeDeg = d.degrees(n, "free_deg", false)
	s.Straight = d.nameOf(n, "straight_legs", false)
	if s.AskedDeg >= 360 || s.AtMost && s.AskedDeg >= 180 {
		limit := "360"
		if s.AtMost {
			limit = "180, with at_most,"
		}
		d.bad(n.Get("asked_deg").At, "ask for an angle the measure can have", "asked_deg is %g, and has to be below %s", s.AskedDeg, limit)
	}
	if s.FreeDeg >= 180 {
		d.bad(n.Get("free_deg").At, "free_deg is the shortfall that costs nothing, such as 10", "free_deg is %g, and has to be below 180", s.FreeDeg)
	}
}

// straightLegs resolves the key straight_legs: the rules for bent knees that skills refer to.
func (d *decoder) straightLegs(items []*node, b *Book) {
	for i := range b.Skills {
		s := &b.Skills[i]
		d.skill = s.Name
		if s.Straight == "" {
			continue
		}
		at := slices.IndexFunc(b.Skills, func(o Skill) bool { return o.Name == s.Straight })
		switch {
		case at < 0:
			d.bad(items[i].Get("straight_legs").At, "name a skill of this book, without the book", "no skill %q, which straight_legs names", clip(s.Straight))
		case b.Skills[at].NotMeasured == "" && !(b.Skills[at].Measure == "knee-bend" && b.Skills[at].AtMost && b.Skills[at].AskedDeg == 0):
			d.bad(items[i].Get("straight_legs").At, "name a skill of knee-bend with asked_deg 0 and at_most, or one that is not measured", "skill %q, which straight_legs names, is not about bent knees", clip(s.Straight))
		default:
			s.straight = b.Skills[at].straightLegs()
		}
	}
}

// bandEnds are the keys of a band's ends by the kind of its skill: where it begins, and where it ends unless it is
// the last.
var bandEnds = map[string][2]string{"measure": {"over_deg", "to_deg"}, "ratio": {"over_ratio", "to_ratio"}, "not_measured": {"when", "when"}}

func (d *decoder) band(n *node, s Skill, kind string) Band {
	var b Band
	if !d.table(n, "a band", "label", "deduction", "over_deg", "to_deg", "over_ratio", "to_ratio", "when", "origin") {
		return b
	}
	b.Label, b.Deduction = d.text(n, "label", false), d.deduction(n)
	if n.Get("origin") != nil {
		o := d.origin(n, s.Origin)
		b.Origin = &o
	}
	ends := bandEnds[kind]
	for _, key := range []string{"over_deg", "to_deg", "over_ratio", "to_ratio", "when"} {
		v := n.Get(key)
		if v == nil || key == ends[0] || key == ends[1] {
			continue
		}
		switch kind {
		case "not_measured":
			d.bad(v.At, "say in words when the band applies, with the key when", "%s in a band of a skill that is not measured", key)
		case "ratio":
			d.bad(v.At, "write over_ratio and to_ratio, such as 1 for shoulder width", "%s in a band of a skill with a ratio", key)
		default:
			d.bad(v.At, "write over_deg and to_deg, or say ratio or not_measured in the skill", "%s in a band of a skill that asks for an angle", key)
		}
	}
	switch kind {
	case "not_measured":
		b.When = d.text(n, "when", true)
	case "ratio":
		b.OverRatio = d.ratio(n, "over_ratio")
		if n.Get("to_ratio") != nil {
			to := d.ratio(n, "to_ratio")
			b.ToRatio = &to
		}
	default:
		b.OverDeg = d.degrees(n, "over_deg", true)
		if n.Get("to_deg") != nil {
			to := d.degrees(n, "to_deg", true)
			b.ToDeg = &to
		}
	}
	if b.Label == "" {
		b.Label = b.label(s.AtMost, kind == "ratio")
	}
	return b
}

// origin reads the key origin; document and edition default to those of base.
func (d *decoder) origin(n *node, base Origin) Origin {
	v := n.Get("origin")
	if v == nil {
		d.bad(n.At, "add origin with provenance and source: no figure goes without", "provenance is missing")
		return base
	}
	if !d.table(v, "origin", "provenance", "document", "edition", "section", "source", "seen") {
		return base
	}
	o := Origin{
		Provenance: Provenance(d.word(v, "provenance", true)), Source: d.text(v, "source", true),
		Document: base.Document, Edition: base.Edition,
		Section: d.text(v, "section", false), Seen: d.word(v, "seen", false),
	}
	if s := d.text(v, "document", false); s != "" {
		o.Document = s
	}
	if s := d.text(v, "edition", false); s != "" {
		o.Edition = s
	}
	if o.Provenance != "" && strength(o.Provenance) < 0 {
		d.bad(v.Get("provenance").At, "take published, second-hand, common-practice or from-memory", "unknown provenance %q", clip(string(o.Provenance)))
	}
	if o.Seen != "" {
		if _, err := time.Parse(time.DateOnly, o.Seen); err != nil {
			d.bad(v.Get("seen").At, "write it like 2026-09-01, or leave it out", "seen %q is not a date", clip(o.Seen))
		}
	}
	return o
}
