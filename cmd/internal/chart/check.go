package chart

import (
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// checkReading refuses what cannot be drawn. An interval that is not known can.
func checkReading(r *reading.Reading) error {
	if r == nil {
		return draw.Problem("read a frame first", "there is no reading to draw")
	}
	if !draw.Angles(r.AngleDeg) {
		return draw.Problem(draw.ReadAgain, "the reading's angle (%g) is not an angle in degrees", r.AngleDeg)
	}
	if err := draw.CheckDensity(r.Density); err != nil {
		return err
	}
	if r.Skill != nil && r.Verdict != nil {
		return draw.CheckVerdict(*r.Skill, *r.Verdict, true)
	}
	return nil
}
