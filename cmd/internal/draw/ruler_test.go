package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
)

// anyReading draws a reading with bands, of a plausible angle.
func anyReading(t *rapid.T) *reading.Reading {
	deg := rapid.Float64Range(-40, 220).Draw(t, "angle")
	sd := rapid.Float64Range(0.05, 40).Draw(t, "sd")
	r := &reading.Reading{AngleDeg: deg, IntervalDeg: [2]float64{deg - 1.96*sd, deg + 1.96*sd}, Density: normal(deg, sd)}
	if rapid.Bool().Draw(t, "asked") {
		atMost := rapid.Bool().Draw(t, "at most")
		r.Skill = &reading.SkillRef{ThresholdDeg: rapid.Float64Range(0, 200).Draw(t, "threshold"), AtMost: atMost, OneWay: atMost && rapid.Bool().Draw(t, "one way")}
		r.Verdict = &reading.Verdict{Bands: []reading.BandProbability{{Deduction: "0.10", ToDeg: new(15.0)}, {Deduction: "0.30", FromDeg: 15}}}
	}
	return r
}

// On any ruler the value, the interval and the asked angle are drawn at their places on the
// scale, nothing leaves the sheet, and no label overlaps another.
func TestRulerPutsThingsInTheirPlace(t *testing.T) {
	const wide, pad, size, exact = 400.0, 8.0, 15.0, 1e-9
	rapid.Check(t, func(t *rapid.T) {
		r := anyReading(t)
		k := NewRuler(r, [2]float64{}, pad, wide-pad)
		s := &Sheet{W: wide, T: size, L: NewLetters()}
		s.H = s.Chances(k, s.Ruler(k, 0))
		require.True(t, k.In(r.AngleDeg), "the angle is on the scale")
		upright := map[float64]bool{} // x of the vertical lines in the reading's colour and in ink, times 1e6
		for _, h := range s.Shapes {
			for _, l := range h.Lines {
				for _, p := range l {
					require.True(t, p.X >= -exact && p.X <= wide+exact && p.Y >= -exact && p.Y <= s.H+exact, "%v leaves the sheet", p)
				}
				if len(l) == 2 && l[0].X == l[1].X && (h.Colour == Measured || h.Colour == Ink) {
					upright[math.Round(l[0].X*1e6)] = true
				}
			}
		}
		stands := func(deg float64) bool { return upright[math.Round(k.At(deg)*1e6)] }
		require.True(t, stands(r.AngleDeg), "the value")
		for _, e := range r.IntervalDeg {
			require.Equal(t, k.In(e), stands(e), "a foot at each end of the interval that is on the scale")
		}
		if r.Skill != nil && k.In(r.AngleAt(0)) {
			require.True(t, stands(r.AngleAt(0)), "what is asked")
		}
		for i, g := range s.Texts {
			b := s.LabelBox(g.Label)
			require.True(t, b.X0 >= -exact && b.X1 <= wide+exact && b.Y0 >= -exact && b.Y1 <= s.H+0.5*size, "%q leaves the sheet: %v", g.Text, b)
			for _, o := range s.Texts[:i] {
				q := s.LabelBox(o.Label)
				require.False(t, b.X0 < q.X1 && q.X0 < b.X1 && b.Y0+exact < q.Y1 && q.Y0+exact < b.Y1, "%q lies on %q", g.Text, o.Text)
			}
		}
	})
}

// An interval that extends beyond the scale ends in an arrow there, not in a foot.
func TestBarBeyondTheScale(t *testing.T) {
	for _, c := range []struct {
		from, to     float64
		feet, arrows int
	}{{150, 160, 2, 0}, {50, 160, 1, 1}, {150, 260, 1, 1}, {0, 300, 0, 2}, {300, 400, 0, 0}} {
		s := &Sheet{T: 9}
		s.Bar(Scale{From: 100, To: 200, B: 500}, 50, [2]float64{c.from, c.to}, Measured, 1)
		feet, arrows := 0, 0
		for _, h := range s.Shapes {
			switch {
			case h.Width > 0:
				feet++
			case len(h.Lines[0]) == 3:
				arrows++
			}
		}
		assert.Equal(t, [2]int{c.feet, c.arrows}, [2]int{feet, arrows}, "%g to %g", c.from, c.to)
	}
}
