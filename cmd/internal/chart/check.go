package chart

import (
	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// checkReading refuses what cannot be drawn. An interval that is not known can.
func checkReading(r *reading.Reading) error {
	if r == nil {
		return hand.Problem("read a frame first", "there is no reading to draw")
	}
	if !hand.Angles(r.AngleDeg) {
		return hand.Problem(hand.ReadAgain, "the reading's angle (%g) is not an angle in degrees", r.AngleDeg)
	}
	if err := hand.CheckDensity(r.Density); err != nil {
		return err
	}
	if r.Skill != nil && r.Verdict != nil {
		return hand.CheckVerdict(*r.Skill, *r.Verdict, true)
	}
	return nil
}
