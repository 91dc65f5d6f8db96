package chart

import (
	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// strip draws the bands along k within b, which has the length of k and the strip's
// thickness. Where a band goes on beyond the scale it has no end.
func (s *sheet) strip(b box, k hand.Scale, bands []hand.Band) {
	edge := pen{colour: hand.Asked, width: 0.05 * text}
	upright := k.B < k.A
	for _, d := range bands {
		for _, p := range d.Parts {
			lo, hi := max(p[0], k.From), min(p[1], k.To)
			if lo >= hi {
				continue
			}
			z := box{k.At(lo), b.Y0, k.At(hi), b.Y1}
			if upright {
				z = box{b.X0, k.At(hi), b.X1, k.At(lo)}
			}
			s.hatch(z, d.Hatch(text))
			c := z.corners()
			along, ends := [][]point{{c[0], c[1]}, {c[3], c[2]}}, [][]point{{c[0], c[3]}, {c[1], c[2]}}
			if upright {
				along, ends = ends, [][]point{{c[3], c[2]}, {c[0], c[1]}}
			}
			if p[0] >= k.From {
				along = append(along, ends[0])
			}
			if p[1] <= k.To {
				along = append(along, ends[1])
			}
			s.lines(edge, along)
		}
	}
}

// bulk makes e show all but a thousandth of a reading's density, and its interval.
func (e *extent) bulk(r *reading.Reading) {
	e.hold(r.AngleDeg)
	e.interval(r.IntervalDeg)
	lo, hi := hand.Bulk(r.Density)
	e.interval([2]float64{lo, hi})
}
