package change

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

// finish sets the notes, the sentence, what to look at and the cautions.
func (s *Screen) finish(like []Reading, levels [][]int, coverage float64) {
	if note := MissedNote(like, "gaps to the skill allow for it"); note != "" {
		s.Notes = slices.Insert(s.Notes, 0, note)
	}
	single := false
	for k, members := range levels {
		if len(members) == 0 && conditions[k] != movement.Swung {
			s.Notes = append(s.Notes, fmt.Sprintf("no reading is %s: the gaps about it are not known", conditions[k]))
		}
		single = single || len(members) == 1
	}
	if single {
		s.Notes = append(s.Notes, "where there is one take in a condition, how much takes vary is not known from them: the intervals allow for what others vary")
	}
	states := values(byState, like)
	if len(states) > 1 {
		s.Notes = append(s.Notes, "the readings are in unlike states ("+text.And(states)+"); range differs by it, so that a gap may be the warm-up's")
	}
	if m, ok := movement.Find(s.Movement); ok && m.Note != "" {
		s.Notes = append(s.Notes, m.Note)
	}
	s.passiveSplit(coverage)
	s.Outcome = s.outcome(coverage)
	s.Sentence = s.sentence(coverage)
	s.LooksAt = looksAt(s)
	s.Cautions = cautions(s.Measure)
}

func (s *Screen) sentence(coverage float64) string {
	format := func(g *Gap) string {
		v, u := uncertainty.Format(g.Deg, (g.IntervalDeg[1]-g.IntervalDeg[0])/2)
		return fmt.Sprintf("%s° ± %s°", v, u)
	}
	if s.Missing.To == "in-skill" && s.Missing.noneProbability >= coverage {
		return fmt.Sprintf("nothing is missing: the skill shows what is asked, %g° (%s sure)", s.AskedDeg, reading.Percent(s.Missing.noneProbability))
	}
	out := fmt.Sprintf("%s of %g° are missing", format(&s.Missing), s.AskedDeg)
	if s.AtMost {
		out = fmt.Sprintf("%s more than the %g° that are asked at most", format(&s.Missing), s.AskedDeg)
	}
	if s.Missing.To != "in-skill" {
		out += " " + s.Missing.To
	}
	var shown, unshown []string
	onWay := 0 // shown gaps that are part of what is missing
	for _, g := range s.byProbability() {
		if g.Shown {
			if g.Name != Swing {
				onWay++
			}
			shown = append(shown, fmt.Sprintf("%s %s (%s)", g.Name, format(g), reading.Percent(g.RealProbability)))
		} else {
			unshown = append(unshown, fmt.Sprintf("%s %s (%s)", g.Name, format(g), reading.Percent(g.RealProbability)))
		}
	}
	parts := []string{out}
	if len(shown) > 0 {
		parts = append(parts, "shown: "+text.And(shown))
	}
	if len(unshown) > 0 {
		parts = append(parts, "not shown: "+text.And(unshown))
	}
	swing := slices.ContainsFunc(s.Gaps, func(g Gap) bool { return g.Name == Swing })
	if len(shown) > 1 {
		switch {
		case s.Largest != "" && swing: // swing is no part of what is missing
			parts = append(parts, "of what is missing the largest part is "+s.Largest)
		case s.Largest != "":
			parts = append(parts, "the largest is "+s.Largest)
		case onWay > 1:
			parts = append(parts, "which is the largest is not decided")
		}
	}
	return strings.Join(parts, "; ")
}

// byProbability lists the gaps, the most likely to be the largest first.
func (s *Screen) byProbability() []*Gap {
	var out []*Gap
	for i := range s.Gaps {
		out = append(out, &s.Gaps[i])
	}
	slices.SortStableFunc(out, func(a, b *Gap) int {
		x, y := a.Deg, b.Deg
		if a.LargestProbability != nil {
			x, y = *a.LargestProbability, *b.LargestProbability
		}
		switch {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// Outcome is what a screen can say of the missing degrees.
type Outcome string

const (
	OutcomeShown     Outcome = "gap-shown"       // a gap is above 0
	OutcomeUndecided Outcome = "undecided"       // none is shown, and it is not shown that nothing is missing
	OutcomeNothing   Outcome = "nothing-missing" // what is asked is shown
)

// Outcomes lists the outcomes in the order in which screens are listed.
var Outcomes = []Outcome{OutcomeShown, OutcomeUndecided, OutcomeNothing}

// OutcomeWords are the headings of lists of screens.
var OutcomeWords = map[Outcome]string{OutcomeShown: "a gap is shown", OutcomeUndecided: "undecided", OutcomeNothing: "nothing is missing"}

// outcome is decided with a probability of at least the coverage. If the skill shows what is asked,
// nothing is missing, whatever the gaps are.
func (s *Screen) outcome(coverage float64) Outcome {
	none := s.Missing.noneProbability >= coverage
	switch {
	case none && s.Missing.To == movement.InSkill:
		return OutcomeNothing
	case slices.ContainsFunc(s.Gaps, func(g Gap) bool { return g.Shown }):
		return OutcomeShown
	case none:
		return OutcomeNothing
	}
	return OutcomeUndecided
}

// LargestShown is the largest gap that is shown, nil if none is.
func (s *Screen) LargestShown() (out *Gap) {
	for i := range s.Gaps {
		if g := &s.Gaps[i]; g.Shown && (out == nil || g.Deg > out.Deg) {
			out = g
		}
	}
	return out
}

// Looking lists what to look at next for one gap. It is common practice in gyms, without
// a source; it is a list of places to look and not a finding.
type Looking struct {
	Gap        string   `json:"gap"`
	Means      string   `json:"means"`
	At         []string `json:"at"`
	Provenance string   `json:"provenance"`
}

var explainGap = map[string]string{
	Range:   "the helper took the limb no further",
	Control: "the helper took the limb further than own strength does",
	Use:     "own strength takes the limb further than the skill shows",
	Swing:   "its own speed takes the limb further than own strength holds it: range that is not controlled",
}

// looksAt lists what to look at for each gap that is shown, the gap most likely to be the
// largest first.
func looksAt(s *Screen) []Looking {
	out := []Looking{}
	m, _ := movement.Find(s.Movement)
	for _, g := range s.byProbability() {
		if at := m.LooksAt[g.Name]; g.Shown && at != nil {
			out = append(out, Looking{g.Name, explainGap[g.Name], at, movement.Practice})
		}
	}
	return out
}

// cautions are printed under every screen of the measure.
func cautions(measure string) []string {
	out := []string{
		"this measures; it finds no cause and prescribes nothing: a person qualified for it examines the athlete and decides",
		"never through pain: pain, clicking or giving way means stop and see a clinician",
	}
	if measure == "hip-split" {
		out = append(out, reading.OverSplitCaution)
	}
	return out
}

// flat is a full split, degrees. Both legs on a level floor cannot pass it.
const flat = 180

// FullSplit says whether a full passive split was shown on the day of a screen. It is set where
// more than a full split is asked.
type FullSplit struct {
	Shown       string   `json:"shown"`                 // yes, within (the uncertainty), no, or unknown: no passive reading
	Probability *float64 `json:"probability,omitempty"` // that the passive split is at least 180 degrees
}

// Values of FullSplit.Shown.
const (
	FullShown  = "yes"
	FullWithin = "within"
	FullNot    = "no"
	FullAbsent = "unknown"
)

// passiveSplit marks the passive level of a split that a floor may have stopped, and, where more
// than a full split is asked, sets s.FullSplit. It adds a note for each.
func (s *Screen) passiveSplit(coverage float64) {
	if s.Measure != "hip-split" {
		return
	}
	var passive *Level
	for i := range s.Levels {
		if s.Levels[i].Condition == movement.Passive {
			passive = &s.Levels[i]
		}
	}
	if passive != nil && AtLeast(s.Measure, s.Variant, passive.Condition, passive.IntervalDeg) {
		passive.AtLeast = true
		s.Notes = append(s.Notes, AtLeastNote)
	}
	if s.AskedDeg <= flat || s.AtMost {
		return
	}
	f := &FullSplit{Shown: FullAbsent}
	s.FullSplit = f
	asked := fmt.Sprintf("%g° is more than a full split", s.AskedDeg)
	if passive == nil {
		s.Notes = append(s.Notes, asked+": whether a full passive split has been shown is not known, since no reading of this day is passive")
		return
	}
	p := aboveFlat(passive)
	f.Probability = &p
	switch {
	case p >= coverage:
		f.Shown = FullShown
		s.Notes = append(s.Notes, asked+": a full passive split has been shown")
	case 1-p >= coverage:
		f.Shown = FullNot
		s.Notes = append(s.Notes, asked+": a full passive split has not been shown; an over-split is asked only on top of one")
	default:
		f.Shown = FullWithin
		s.Notes = append(s.Notes, asked+": the passive split agrees with a full one within its uncertainty; on a floor it can show no more")
	}
}

// AtLeast reports whether a floor may have stopped a reading, so that its range is at least the angle
// read: a passive split in the usual position whose interval holds a full split.
func AtLeast(measure, variant, condition string, interval [2]float64) bool {
	return measure == "hip-split" && variant == "" && condition == movement.Passive && interval[0] <= flat && flat <= interval[1]
}

// AtLeastNote is the note of a passive split that agrees with a full one.
const AtLeastNote = "the passive split may have ended at a floor, which stops it at 180°: read it as at least this; with the front foot raised it can show more"

// aboveFlat is the probability that the angle of a level is at least a full split, by a normal
// distribution.
func aboveFlat(l *Level) float64 {
	return 0.5 * math.Erfc((flat-l.AngleDeg)/(l.StandardDeg*math.Sqrt2))
}
