package change

import (
	"fmt"
	"math"

	"ecart/cmd/internal/movement"
)

// flat is a full split, degrees. Both legs on a level floor cannot pass it.
const flat = 180

// FullSplit says whether a full passive split was shown on the day of a screen. It is asked where
// a skill wants an over-split.
type FullSplit struct {
	Shown       string   `json:"shown"`                 // yes, within (the uncertainty), no, or unknown: no passive reading
	Probability *float64 `json:"probability,omitempty"` // that the passive split is at least 180 degrees
}

// What FullSplit.Shown can be.
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

// aboveFlat is the probability that the angle of a level is at least a full split, of a normal
// distribution.
func aboveFlat(l *Level) float64 {
	return 0.5 * math.Erfc((flat-l.AngleDeg)/(l.StandardDeg*math.Sqrt2))
}
