package rulebook

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// A Provenance says how a rule book's figure is known.
type Provenance string

// The provenances, the strongest first.
const (
	Published      Provenance = "published"       // read in the document itself, or where its publisher shows it
	SecondHand     Provenance = "second-hand"     // read in a source that quotes the document
	CommonPractice Provenance = "common-practice" // usual practice; no document says so
	FromMemory     Provenance = "from-memory"     // a recollection, not verified
)

// provenances is in descending order of strength.
var provenances = []Provenance{Published, SecondHand, CommonPractice, FromMemory}

// An Origin says where a figure comes from.
type Origin struct {
	Provenance Provenance `json:"provenance"`
	Document   string     `json:"document"`
	Edition    string     `json:"edition"`
	Section    string     `json:"section,omitempty"`
	Source     string     `json:"source"`         // where, or from whom, the figure was obtained
	Seen       string     `json:"seen,omitempty"` // the day the source was last looked at, 2006-01-02
}

// String returns document, section, source and day in one line, without edition and
// provenance.
func (o Origin) String() string {
	var parts []string
	for _, s := range []string{o.Document, o.Section, o.Source} {
		if s != "" && !slices.Contains(parts, s) {
			parts = append(parts, s)
		}
	}
	if o.Seen != "" {
		parts = append(parts, "looked at "+o.Seen)
	}
	return strings.Join(parts, "; ")
}

// A Book is one rule book.
type Book struct {
	ID       string  `json:"book"`
	Title    string  `json:"title"`
	Document string  `json:"document"`
	Edition  string  `json:"edition"`
	Note     string  `json:"note,omitempty"`
	Skills   []Skill `json:"skills"`
	File     string  `json:"file"`
	BuiltIn  bool    `json:"built_in"`
	Replaces bool    `json:"replaces_built_in"` // a user's book that replaces the built-in one with the same id
}

// A Skill is one entry of a rule book, with the origin of its figures.
type Skill struct {
	Book        string  `json:"book"`
	Name        string  `json:"name"`
	Title       string  `json:"title"`
	Default     bool    `json:"default"` // meant by the plain name if several books have the skill
	Measure     string  `json:"measure,omitempty"`
	Ratio       string  `json:"ratio,omitempty"`        // the ratio of lengths that is judged in place of an angle; Measure is what it is read with
	NotMeasured string  `json:"not_measured,omitempty"` // the quantity the rule is worded for, if no measure gives it
	AskedDeg    float64 `json:"asked_deg"`
	AtMost      bool    `json:"at_most"`
	FreeDeg     float64 `json:"free_deg"`
	Straight    string  `json:"straight_legs,omitempty"` // the book's skill with the separate deduction for a bent knee

	straight *reading.StraightLegs
	Bands    []Band   `json:"bands"`
	Origin   Origin   `json:"origin"`
	Cautions []string `json:"cautions,omitempty"`
	Note     string   `json:"note,omitempty"`
	Line     int      `json:"line"` // of its entry in the file, from 1
}

// A Band is one deduction band: a shortfall of more than OverDeg and at most ToDeg degrees;
// ToDeg nil: no upper end. The band of a skill that is not measured has When instead, that of
// a ratio OverRatio and ToRatio.
type Band struct {
	Label     string   `json:"label"`
	Deduction string   `json:"deduction"` // in the book's words; "" if it names none
	OverDeg   float64  `json:"over_deg"`
	ToDeg     *float64 `json:"to_deg"`
	OverRatio float64  `json:"over_ratio,omitempty"` // of a skill with a ratio, in place of degrees
	ToRatio   *float64 `json:"to_ratio,omitempty"`
	When      string   `json:"when,omitempty"`
	Origin    *Origin  `json:"origin,omitempty"` // nil: the skill's
}

// Ref is the skill's unique name: BOOK/NAME.
func (s Skill) Ref() string { return s.Book + "/" + s.Name }

// Reading converts the skill for package reading. Edition, source and provenance are those
// of its weakest figure. A skill that is not measured is an error.
func (s Skill) Reading() (reading.Skill, error) {
	if s.NotMeasured != "" {
		return reading.Skill{}, fault.New(fmt.Sprintf("skill %q is worded for something no measure gives: %s", s.Ref(), s.NotMeasured), fault.Operation("list the skills")+" shows its bands: judge it by eye")
	}
	origin := s.weakest()
	out := reading.Skill{
		Rulebook: s.Book, Name: s.Name, Title: s.Title, Measure: s.Measure,
		AskedDeg: s.AskedDeg, AtMost: s.AtMost, FreeDeg: s.FreeDeg,
		Edition: origin.Edition, Source: origin.String(), Provenance: string(origin.Provenance),
		Cautions: slices.Clone(s.Cautions), Note: s.Note, StraightLegs: s.straight, Ratio: s.Ratio,
	}
	for _, b := range s.Bands {
		if s.Ratio != "" {
			out.RatioBands = append(out.RatioBands, reading.RatioBand{Label: b.Label, Deduction: b.Deduction, Over: b.OverRatio, To: b.ToRatio})
			continue
		}
		to := math.Inf(1)
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		out.Bands = append(out.Bands, reading.Band{Label: b.Label, Deduction: b.Deduction, FromDeg: b.OverDeg, ToDeg: to})
	}
	return out, nil
}

// straightLegs converts the skill to the rule for bent knees that other skills refer to.
func (s Skill) straightLegs() *reading.StraightLegs {
	out := &reading.StraightLegs{Rule: s.Ref(), FreeDeg: s.FreeDeg, Provenance: string(s.weakest().Provenance)}
	var words []string
	for _, b := range s.Bands {
		if s.NotMeasured != "" {
			words = append(words, strings.TrimSpace(b.Deduction+" "+b.When))
			continue
		}
		out.Bands = append(out.Bands, reading.BandProbability{Label: b.Label, Deduction: b.Deduction, FromDeg: b.OverDeg, ToDeg: b.ToDeg})
	}
	out.Words = strings.Join(words, ", ")
	return out
}

// weakest is the origin of the figure with the weakest provenance.
func (s Skill) weakest() Origin {
	origin := s.Origin
	for _, b := range s.Bands {
		if b.Origin != nil && strength(b.Origin.Provenance) > strength(origin.Provenance) {
			origin = *b.Origin
		}
	}
	return origin
}

// strength is 0 for the strongest provenance and grows with weaker ones; -1 for an unknown
// one.
func strength(p Provenance) int { return slices.Index(provenances, p) }

// label is the label of a band that has none of its own.
func (b Band) label(atMost, ratio bool) string {
	word := "short"
	if atMost {
		word = "off"
	}
	deg := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	switch {
	case ratio && b.ToRatio == nil:
		return fmt.Sprintf("more than %s", deg(b.OverRatio))
	case ratio:
		return fmt.Sprintf("%s to %s", deg(b.OverRatio), deg(*b.ToRatio))
	case b.When != "":
		return b.When
	case b.ToDeg == nil:
		return fmt.Sprintf("more than %s %s", deg(b.OverDeg), word)
	default:
		return fmt.Sprintf("%s to %s %s", deg(b.OverDeg), deg(*b.ToDeg), word)
	}
}
