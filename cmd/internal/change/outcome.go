package change

import (
	"slices"

	"ecart/cmd/internal/movement"
)

// Outcome is what a screen can say of the missing degrees.
type Outcome string

const (
	OutcomeShown     Outcome = "gap-shown"       // a gap is above 0
	OutcomeUndecided Outcome = "undecided"       // none is shown, and it is not shown that nothing is missing
	OutcomeNothing   Outcome = "nothing-missing" // what is asked is shown
)

// Outcomes lists them, first what says the most of where degrees are missing.
var Outcomes = []Outcome{OutcomeShown, OutcomeUndecided, OutcomeNothing}

// OutcomeWords are the headings of lists of screens.
var OutcomeWords = map[Outcome]string{OutcomeShown: "a gap is shown", OutcomeUndecided: "undecided", OutcomeNothing: "nothing is missing"}

// outcome is decided with a probability of at least the coverage. In the skill nothing is missing
// where the skill shows what is asked, whatever the gaps are.
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
