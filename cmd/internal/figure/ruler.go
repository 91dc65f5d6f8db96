package figure

import (
	"math"

	"ecart/cmd/internal/reading"
)

// ruler is a ruler laid out, in pixels from its top left corner.
type ruler struct {
	Width, Height float64
	From, To      float64 // degrees at its two ends

	Box    box // of the bands; without height where there is no skill
	Zones  []zone
	Ticks  []tick
	Notch  [2]point // what is asked; Asked says whether there is one
	Asked  bool
	Curve  []point // the density's outline, closed along the Box's upper edge
	Bar    box     // the interval
	Value  [2]point
	Labels []label
	Keys   []key // where the bands are listed below instead of labelled in place
}

// zone is the part of the ruler that a band covers. Hatch is the distance between
// its strokes; 0 leaves it plain, for what is met.
type zone struct {
	Box          box
	Hatch        float64
	OpenL, OpenR bool // goes on beyond the ruler
}

// key is a sample of a zone's hatching.
type key struct {
	Box   box
	Hatch float64
}

// tick is a stroke hanging from the ruler's lower edge.
type tick struct{ X, Len float64 }

// The parts of a ruler from top to bottom, in text sizes.
const (
	overNotch  = 1.15 // for the word at the notch
	curveHigh  = 2.3
	bandHigh   = 0.95
	tickLong   = 0.34
	underTicks = 1.32 // from the band's edge to the figures' base line
	lineStep   = 1.16
)

// The distance between hatching strokes, in text sizes: the first band's and the
// last one's.
const (
	hatchWide  = 0.46
	hatchClose = 0.115
	hatchAlone = 0.26 // a single band's
	hatchPen   = 0.05 // a stroke's width
)

func (k *ruler) x(deg float64) float64 { return k.Width * (deg - k.From) / (k.To - k.From) }

// layRuler lays the ruler of r out in the given width; t is the text size.
func layRuler(r *reading.Reading, opt Options, width, t float64, l *letters) ruler {
	k := ruler{Width: width}
	bands := bandsOf(r)
	if k.From, k.To = opt.RangeDeg[0], opt.RangeDeg[1]; k.From == k.To {
		k.From, k.To = span(r, bands)
	}
	top := curveHigh * t
	if len(bands) > 0 {
		top += overNotch * t
	}
	k.Box = box{0, top, width, top}
	if len(bands) > 0 {
		k.Box.Y1 += bandHigh * t
	}
	k.zones(bands, t)
	k.reading(r, t)
	k.notch(r, len(bands) > 0, t, l)
	k.ticks(r, bands, t, l)
	k.Height = k.Box.Y1 + (underTicks+0.3)*t
	k.chances(bands, t, l)
	return k
}

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
	v, s := r.Verdict, r.Skill
	ask, n := s.ThresholdDeg, len(v.Bands)
	inf := math.Inf(1)
	first := inf
	if n > 0 {
		first = v.Bands[0].FromDeg
	}
	// parts turns degrees short, from over to to, into angles.
	parts := func(over, to float64) [][2]float64 {
		switch {
		case !s.AtMost:
			return [][2]float64{{ask - to, ask - over}}
		case math.IsInf(over, -1):
			return [][2]float64{{-(ask + to), ask + to}}
		}
		return [][2]float64{{ask + over, ask + to}, {-(ask + to), -(ask + over)}}
	}
	out := []band{{"meets", v.MeetsProbability, 0, n, parts(-inf, first)}}
	for i, b := range v.Bands {
		to := inf
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		out = append(out, band{bandWords(b), b.Probability, i + 1, n, parts(b.FromDeg, to)})
	}
	return out
}

// span chooses the ends of the ruler: wide enough for the reading's density and
// for every band, with some of what lies beyond the last edges.
func span(r *reading.Reading, bands []band) (from, to float64) {
	from, to = bulk(r)
	if len(bands) == 0 {
		mid, half := (from+to)/2, max(to-from, 12)
		return mid - half, mid + half
	}
	if r.Skill.AtMost {
		// One side will do if the reading stays on it.
		from, to = min(from, 0), max(to, 0)
	}
	for _, b := range bands {
		for _, p := range b.parts {
			for _, e := range p {
				if !finite(e) || r.Skill.AtMost && e*r.AngleDeg < 0 && math.Abs(e) > r.Skill.ThresholdDeg {
					continue
				}
				from, to = min(from, e), max(to, e)
			}
		}
	}
	room := max(to-from, 4)
	return from - 0.16*room, to + 0.16*room
}

func (k *ruler) zones(bands []band, t float64) {
	for _, b := range bands {
		for _, p := range b.parts {
			lo, hi := max(p[0], k.From), min(p[1], k.To)
			if lo >= hi {
				continue
			}
			k.Zones = append(k.Zones, zone{
				Box:   box{k.x(lo), k.Box.Y0, k.x(hi), k.Box.Y1},
				Hatch: b.hatch(t), OpenL: p[0] < k.From, OpenR: p[1] > k.To,
			})
		}
	}
}

// hatch returns the distance between the band's strokes: even steps of darkness,
// which is pen over distance, from the first band to the last.
func (b band) hatch(t float64) float64 {
	switch {
	case b.rank == 0:
		return 0
	case b.of == 1:
		return hatchAlone * t
	}
	along := float64(b.rank-1) / float64(b.of-1)
	return t / (1/hatchWide + along*(1/hatchClose-1/hatchWide))
}

// reading lays out the density, the interval and the value.
func (k *ruler) reading(r *reading.Reading, t float64) {
	base := k.Box.Y0
	lo, hi := max(r.IntervalDeg[0], k.From), min(r.IntervalDeg[1], k.To)
	if lo < hi {
		k.Bar = box{k.x(lo), base - 0.27*t, k.x(hi), base - 0.13*t}
	}
	top := base - 0.86*curveHigh*t
	if d := r.Density; len(d.Values) > 0 {
		k.Curve = curve(d, k, base, curveHigh*t)
		if len(k.Curve) > 0 {
			top = base
			at := k.x(r.AngleDeg)
			for i := 1; i < len(k.Curve); i++ {
				a, b := k.Curve[i-1], k.Curve[i]
				if a.X <= at && at <= b.X && b.X > a.X {
					top = min(top, a.Y+(b.Y-a.Y)*(at-a.X)/(b.X-a.X))
				}
			}
			top = min(top, base-0.5*t)
		}
	}
	if r.AngleDeg >= k.From && r.AngleDeg <= k.To {
		k.Value = [2]point{{k.x(r.AngleDeg), base}, {k.x(r.AngleDeg), top}}
	}
}
