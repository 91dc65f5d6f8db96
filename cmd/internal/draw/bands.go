package draw

import (
	"math"

	"ecart/cmd/internal/reading"
)

// The distance between hatching strokes, in text sizes.
const (
	hatchWide  = 0.46  // of the first band
	hatchClose = 0.115 // of the last band
	hatchAlone = 0.26  // of a single band
)

// HatchPen is the width of a hatching stroke, in text sizes.
const HatchPen = 0.05

// WordMeets is the word for the band that meets the requirement.
const WordMeets = "meets"

// Band is a band of a rule on the axis of the angle. Parts are the intervals that it
// covers, in degrees; their outer ends may be infinite.
type Band struct {
	Words       string
	Probability float64
	Rank        int // 0 meets the requirement; then 1, 2, ... by rising deduction
	Of          int // number of bands with a deduction
	Parts       [][2]float64
}

// Bands returns the band that meets the requirement and those with deductions; none
// without a verdict.
func Bands(r *reading.Reading) []Band {
	if r.Skill == nil || r.Verdict == nil {
		return nil
	}
	v := r.Verdict
	inf := math.Inf(1)
	first := inf
	if len(v.Bands) > 0 {
		first = v.Bands[0].FromDeg
	}
	parts := axisOf(r.Skill.ThresholdDeg, r.Skill.AtMost, r.Skill.OneWay)
	met, word := r.Outcomes()[0], WordMeets
	if r.EitherWay() {
		word = met.Words
	}
	out := []Band{{word, met.Probability, 0, len(v.Bands), parts(-inf, first)}}
	for i, b := range v.Bands {
		to := inf
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		out = append(out, Band{bandWords(b), b.Probability, i + 1, len(v.Bands), parts(b.FromDeg, to)})
	}
	return out
}

// BandsOfAsked returns two bands, meeting the requirement and not, for use if no rule's
// bands are known; none if nothing is asked.
func BandsOfAsked(asked *float64, atMost bool) []Band {
	if asked == nil || !Angles(*asked) {
		return nil
	}
	parts := axisOf(*asked, atMost, false)
	return []Band{
		{Rank: 0, Of: 1, Parts: parts(math.Inf(-1), 0)},
		{Rank: 1, Of: 1, Parts: parts(0, math.Inf(1))},
	}
}

// axisOf returns a function that converts a range of shortfalls, from over to to degrees,
// to ranges of angles.
func axisOf(ask float64, atMost, oneWay bool) func(over, to float64) [][2]float64 {
	return func(over, to float64) [][2]float64 {
		switch {
		case !atMost:
			return [][2]float64{{ask - to, ask - over}}
		case oneWay:
			return [][2]float64{{ask + over, ask + to}}
		case math.IsInf(over, -1):
			return [][2]float64{{-(ask + to), ask + to}}
		}
		return [][2]float64{{ask + over, ask + to}, {-(ask + to), -(ask + over)}}
	}
}

// Hatch returns the distance between the band's strokes for text of the given size.
// Darkness, which is pen width over distance, rises in equal steps from the first band
// to the last. It is 0, no hatching, for the band that meets the requirement.
func (b Band) Hatch(size float64) float64 {
	switch {
	case b.Rank == 0:
		return 0
	case b.Of == 1:
		return hatchAlone * size
	}
	along := float64(b.Rank-1) / float64(b.Of-1)
	return size / (1/hatchWide + along*(1/hatchClose-1/hatchWide))
}

// HatchLines returns the strokes, rising to the right at 45 degrees, that hatch the
// upright rectangle from (x0, y0) to (x1, y1) with the given distance between them.
// They start at multiples of it, so that the strokes of neighbouring rectangles line up.
func HatchLines(x0, y0, x1, y1, spacing float64) [][]Point {
	var lines [][]Point
	step := spacing * math.Sqrt2 // along x
	h := y1 - y0
	// A stroke leaves the lower edge at x and would meet the upper one at x + h.
	for x := math.Ceil((x0-h)/step) * step; x < x1; x += step {
		lo, hi := max(x, x0), min(x+h, x1)
		if lo < hi {
			lines = append(lines, []Point{{lo, y1 - (lo - x)}, {hi, y1 - (hi - x)}})
		}
	}
	return lines
}
