package page

import (
	"fmt"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// rulerOf draws the ruler of r as SVG, 400 units wide; the page scales it. ends are those of the
// ruler in degrees, both 0 for what the reading asks.
func rulerOf(r *reading.Reading, ends [2]float64) string {
	const wide, pad, text = 400, 8, 15
	s := &draw.Sheet{W: wide, T: text, L: draw.NewLetters()}
	s.H = s.Ruler(draw.NewRuler(r, ends, pad, wide-pad), 0)
	said := fmt.Sprintf("ruler: the reading is %.1f degrees, between %.1f and %.1f", r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	if r.Skill != nil {
		said += fmt.Sprintf("; %g degrees are asked", r.Skill.ThresholdDeg)
	}
	return s.SVG(said, "", 0)
}
