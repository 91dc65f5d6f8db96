package cli

import (
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/change"
)

// daysScale lays the days' intervals and what is asked out along a row.
func daysScale(t *change.Trend, width int) scale {
	s := scale{math.Inf(1), math.Inf(-1), width}
	for _, d := range t.Days {
		s.from, s.to = math.Min(s.from, d.IntervalDeg[0]), math.Max(s.to, d.IntervalDeg[1])
	}
	if t.AskedDeg != nil {
		s.from, s.to = math.Min(s.from, *t.AskedDeg), math.Max(s.to, *t.AskedDeg)
	}
	return s.withMargin()
}

// withMargin leaves some room at both ends.
func (s scale) withMargin() scale {
	m := 0.04*(s.to-s.from) + 0.5
	s.from, s.to = s.from-m, s.to+m
	return s
}

// marked are the degrees that are worth a figure over the ruler, what is asked
// first.
func (s scale) marked(t *change.Trend) (out []float64) {
	if t.AskedDeg != nil {
		out = append(out, *t.AskedDeg)
	}
	return append(out, math.Ceil(s.from), math.Floor(s.to))
}

// labels writes degrees above their columns, as far as there is room; the first
// ones win.
func (s scale) labels(degs ...float64) string {
	row := blank(s.width)
	for _, deg := range degs {
		if !s.holds(deg) {
			continue
		}
		text := []rune(strconv.FormatFloat(math.Round(deg*10)/10+0, 'f', -1, 64))
		at := max(0, min(s.column(deg)-len(text)/2, s.width-len(text)))
		taken := strings.TrimSpace(string(row[max(0, at-1):min(s.width, at+len(text)+1)])) != ""
		if !taken {
			copy(row[at:], text)
		}
	}
	return strings.TrimRight(string(row), " ")
}

// bar draws an angle with its interval, and a notch for what is asked.
func (s scale) bar(deg float64, interval [2]float64, asked *float64) string {
	row := blank(s.width)
	if asked != nil && s.holds(*asked) {
		row[s.column(*asked)] = '╎'
	}
	clamp := func(v float64) int { return max(0, min(s.column(v), s.width-1)) }
	lo, hi := clamp(interval[0]), clamp(interval[1])
	for c := lo; c <= hi; c++ {
		row[c] = '━'
	}
	row[lo], row[hi], row[clamp(deg)] = '┣', '┫', '●'
	return strings.TrimRight(string(row), " ")
}
