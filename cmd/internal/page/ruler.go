package page

import (
	"fmt"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// rulerOf draws the ruler of r as SVG, 400 units wide; the page scales it.
func rulerOf(r *reading.Reading) string {
	const wide, pad, text = 400, 8, 15
	s := &draw.Sheet{W: wide, T: text, L: draw.NewLetters()}
	s.H = s.Ruler(draw.NewRuler(r, [2]float64{}, pad, wide-pad), 0)
	said := fmt.Sprintf("ruler: the reading is %.1f degrees, between %.1f and %.1f", r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	if r.Skill != nil {
		said += fmt.Sprintf("; %g degrees are asked", r.Skill.ThresholdDeg)
	}
	return s.SVG(said, "", 0)
}
