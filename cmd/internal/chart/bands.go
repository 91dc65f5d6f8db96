package chart

import (
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// The distance between hatching strokes, in text sizes: the first band's and the
// last one's.
const (
	hatchWide  = 0.46
	hatchClose = 0.115
	hatchAlone = 0.26 // a single band's
	hatchPen   = 0.05 // a stroke's width
)

// band is a band laid on the angle: the parts of the angle's axis it covers.
type band struct {
	words       string
	probability float64
	rank        int // 0 is what meets, then by cost
	of          int
	parts       [][2]float64
}

// bandsOf returns what meets and the bands below it; none without a verdict.
func bandsOf(r *reading.Reading) []band {
	if r.Skill == nil || r.Verdict == nil {
		return nil
	}
	v := r.Verdict
	inf := math.Inf(1)
	first := inf
	if len(v.Bands) > 0 {
		first = v.Bands[0].FromDeg
	}
	parts := axisOf(r.Skill.ThresholdDeg, r.Skill.AtMost)
	out := []band{{wordMeets, v.MeetsProbability, 0, len(v.Bands), parts(-inf, first)}}
	for i, b := range v.Bands {
		to := inf
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		out = append(out, band{bandWords(b), b.Probability, i + 1, len(v.Bands), parts(b.FromDeg, to)})
	}
	return out
}

// bandsOfAsked returns what meets and what does not, where no more is known.
func bandsOfAsked(asked *float64, atMost bool) []band {
	if asked == nil || !angles(*asked) {
		return nil
	}
	parts := axisOf(*asked, atMost)
	return []band{
		{rank: 0, of: 1, parts: parts(math.Inf(-1), 0)},
		{rank: 1, of: 1, parts: parts(0, math.Inf(1))},
	}
}

// axisOf returns what turns degrees short, from over to to, into angles.
func axisOf(ask float64, atMost bool) func(over, to float64) [][2]float64 {
	return func(over, to float64) [][2]float64 {
		switch {
		case !atMost:
			return [][2]float64{{ask - to, ask - over}}
		case math.IsInf(over, -1):
			return [][2]float64{{-(ask + to), ask + to}}
		}
		return [][2]float64{{ask + over, ask + to}, {-(ask + to), -(ask + over)}}
	}
}

// hatch returns the distance between the band's strokes: even steps of darkness,
// which is pen over distance, from the first band to the last.
func (b band) hatch() float64 {
	switch {
	case b.rank == 0:
		return 0
	case b.of == 1:
		return hatchAlone * text
	}
	along := float64(b.rank-1) / float64(b.of-1)
	return text / (1/hatchWide + along*(1/hatchClose-1/hatchWide))
}

// strip draws the bands along k within b, which has the length of k and the strip's
// thickness. Where a band goes on beyond the scale it has no end.
func (s *sheet) strip(b box, k scale, bands []band) {
	edge := pen{colour: asked, width: 0.05 * text}
	upright := k.B < k.A
	for _, d := range bands {
		for _, p := range d.parts {
			lo, hi := max(p[0], k.From), min(p[1], k.To)
			if lo >= hi {
				continue
			}
			z := box{k.at(lo), b.Y0, k.at(hi), b.Y1}
			if upright {
				z = box{b.X0, k.at(hi), b.X1, k.at(lo)}
			}
			s.hatch(z, d.hatch())
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
	d := r.Density
	total := 0.0
	for _, v := range d.Values {
		total += v
	}
	lo, hi, sum := math.NaN(), math.NaN(), 0.0
	for i, v := range d.Values {
		before := sum
		sum += v
		if before < 0.0005*total && sum >= 0.0005*total {
			lo = d.FromDeg + float64(i)*d.StepDeg
		}
		if before < 0.9995*total && sum >= 0.9995*total {
			hi = d.FromDeg + float64(i+1)*d.StepDeg
		}
	}
	e.interval([2]float64{lo, hi})
}

// curve turns the density into an outline that begins and ends on the base line at
// the given y, no higher than high. The scatter of the draws from bin to bin is
// smoothed, and bins narrower than a point are taken together.
func curve(d reading.Density, k scale, base, high float64) []point {
	if len(d.Values) == 0 {
		return nil
	}
	n := max(1, int(math.Ceil(1/(d.StepDeg*k.points()))))
	values := smooth(d)
	var pts []point
	peak := 0.0
	for i := 0; i < len(values); i += n {
		part := values[i:min(i+n, len(values))]
		sum := 0.0
		for _, v := range part {
			sum += v
		}
		at := d.FromDeg + d.StepDeg*(float64(i)+float64(len(part))/2)
		v := sum / float64(len(part))
		if k.in(at) {
			pts = append(pts, point{k.at(at), v})
		}
		peak = max(peak, v)
	}
	if peak == 0 || len(pts) == 0 {
		return nil
	}
	// The far tails would draw a line along the edge.
	low := func(p point) bool { return p.Y < 0.004*peak }
	for len(pts) > 2 && low(pts[0]) && low(pts[1]) {
		pts = pts[1:]
	}
	for n := len(pts); n > 2 && low(pts[n-1]) && low(pts[n-2]); n = len(pts) {
		pts = pts[:n-1]
	}
	for i := range pts {
		pts[i].Y = base - high*pts[i].Y/peak
	}
	return slices.Concat([]point{{pts[0].X, base}}, pts, []point{{pts[len(pts)-1].X, base}})
}

// smooth averages each bin with its neighbours, 1-2-1, as often as widens the
// density by no more than about one part in a hundred: a pass adds half a bin
// squared to its variance.
func smooth(d reading.Density) []float64 {
	const widened = 0.02 // of the variance
	sum, mean, square := 0.0, 0.0, 0.0
	for i, v := range d.Values {
		sum += v
		mean += v * float64(i)
		square += v * float64(i) * float64(i)
	}
	values := slices.Clone(d.Values)
	if !(sum > 0) {
		return values
	}
	mean /= sum
	passes := min(64, int(2*widened*(square/sum-mean*mean)))
	for range passes {
		before, last := values[0], len(values)-1
		for i, v := range values {
			values[i] = (before + 2*v + values[min(i+1, last)]) / 4
			before = v
		}
	}
	return values
}
