package cli

import (
	"math"
	"strings"

	"ecart/cmd/internal/reading"
)

// ruler draws the reading in text: the interval with the angle on it over the
// bands, the denser the dearer, with a notch for what is asked and degrees below.
func ruler(r *reading.Reading, width int) []string {
	lo, hi := r.IntervalDeg[0], r.IntervalDeg[1]
	asked := r.Skill.ThresholdDeg
	edge := func(short float64) float64 { // degrees of the angle at which a band ends
		if r.Skill.AtMost {
			return asked + short
		}
		return asked - short
	}
	from, to := math.Min(lo, asked), math.Max(hi, asked)
	margin := 0.08*(to-from) + 1
	from, to = from-margin, to+margin
	column := func(deg float64) int { return int(math.Round((deg - from) / (to - from) * float64(width-1))) }

	over := []rune(strings.Repeat(" ", width))
	for c := column(lo); c <= column(hi); c++ {
		over[c] = '━'
	}
	over[column(lo)], over[column(hi)], over[column(r.AngleDeg)] = '┣', '┫', '●'
	if a := column(asked); over[a] == ' ' {
		over[a] = '╷'
	}
	shades := []rune("░▒▓█")
	under := make([]rune, width)
	for c := range under {
		deg := from + (to-from)*float64(c)/float64(width-1)
		short := asked - deg
		if r.Skill.AtMost {
			short = math.Abs(deg) - asked
		}
		under[c] = '─'
		for i, b := range r.Verdict.Bands {
			if short > b.FromDeg && (b.ToDeg == nil || short <= *b.ToDeg) {
				under[c] = shades[min(i, len(shades)-1)]
			}
		}
	}
	under[column(asked)] = '┃'

	degrees := []rune(strings.Repeat(" ", width))
	put := func(deg float64) {
		text := []rune(strings.TrimSuffix(strings.TrimRight(strings.TrimRight(fixed1(deg), "0"), "."), "."))
		at := max(0, min(column(deg)-len(text)/2, width-len(text)))
		for c := max(0, at-1); c < min(width, at+len(text)+1); c++ {
			if degrees[c] != ' ' {
				return
			}
		}
		copy(degrees[at:], text)
	}
	put(asked)
	for _, b := range r.Verdict.Bands {
		if e := edge(b.FromDeg); e > from && e < to {
			put(e)
		}
	}
	put(math.Round(from))
	put(math.Round(to))
	return []string{strings.TrimRight(string(over), " "), string(under), strings.TrimRight(string(degrees), " ")}
}
