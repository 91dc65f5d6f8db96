package figure

import (
	"math"

	"ecart/cmd/internal/hand"
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

// finest is the narrowest bin of a density that is drawn by itself, in pixels.
const finest = 2.0

func (k *ruler) scale() hand.Scale { return hand.Scale{From: k.From, To: k.To, B: k.Width} }

func (k *ruler) x(deg float64) float64 { return k.scale().At(deg) }

// layRuler lays the ruler of r out in the given width; t is the text size.
func layRuler(r *reading.Reading, opt Options, width, t float64, l *hand.Letters) ruler {
	k := ruler{Width: width}
	bands := hand.Bands(r)
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

// span chooses the ends of the ruler: wide enough for the reading's density and
// for every band, with some of what lies beyond the last edges.
func span(r *reading.Reading, bands []hand.Band) (from, to float64) {
	from, to = min(r.IntervalDeg[0], r.AngleDeg), max(r.IntervalDeg[1], r.AngleDeg)
	if lo, hi := hand.Bulk(r.Density); lo < hi {
		from, to = min(from, lo), max(to, hi)
	}
	if len(bands) == 0 {
		mid, half := (from+to)/2, max(to-from, 12)
		return mid - half, mid + half
	}
	if r.Skill.AtMost {
		// One side will do if the reading stays on it.
		from, to = min(from, 0), max(to, 0)
	}
	for _, b := range bands {
		for _, p := range b.Parts {
			for _, e := range p {
				if !hand.Finite(e) || r.Skill.AtMost && !r.Skill.OneWay && e*r.AngleDeg < 0 && math.Abs(e) > r.Skill.ThresholdDeg {
					continue
				}
				from, to = min(from, e), max(to, e)
			}
		}
	}
	room := max(to-from, 4)
	return from - 0.16*room, to + 0.16*room
}

func (k *ruler) zones(bands []hand.Band, t float64) {
	for _, b := range bands {
		for _, p := range b.Parts {
			lo, hi := max(p[0], k.From), min(p[1], k.To)
			if lo >= hi {
				continue
			}
			k.Zones = append(k.Zones, zone{
				Box:   box{k.x(lo), k.Box.Y0, k.x(hi), k.Box.Y1},
				Hatch: b.Hatch(t), OpenL: p[0] < k.From, OpenR: p[1] > k.To,
			})
		}
	}
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
		k.Curve = hand.Outline[point](d, k.scale(), finest, base, curveHigh*t)
		if len(k.Curve) > 0 {
			top = hand.Top(k.Curve, k.x(r.AngleDeg), base)
			top = min(top, base-0.5*t)
		}
	}
	if r.AngleDeg >= k.From && r.AngleDeg <= k.To {
		k.Value = [2]point{{k.x(r.AngleDeg), base}, {k.x(r.AngleDeg), top}}
	}
}
