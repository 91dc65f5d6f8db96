package terminal

import (
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/change"
)

// DaysScale returns a scale that holds the intervals of all days and the angle asked.
func DaysScale(t *change.Trend, width int) Scale {
	s := Scale{math.Inf(1), math.Inf(-1), width}
	for _, d := range t.Days {
		s.From, s.To = math.Min(s.From, d.IntervalDeg[0]), math.Max(s.To, d.IntervalDeg[1])
	}
	if t.AskedDeg != nil {
		s.From, s.To = math.Min(s.From, *t.AskedDeg), math.Max(s.To, *t.AskedDeg)
	}
	return s.WithMargin()
}

// WithMargin returns the scale with room at both ends.
func (s Scale) WithMargin() Scale {
	m := 0.04*(s.To-s.From) + 0.5
	s.From, s.To = s.From-m, s.To+m
	return s
}

// Marked returns the degrees to label above the ruler, the angle asked first.
func (s Scale) Marked(t *change.Trend) (out []float64) {
	if t.AskedDeg != nil {
		out = append(out, *t.AskedDeg)
	}
	return append(out, math.Ceil(s.From), math.Floor(s.To))
}

// Labels returns a row with degrees above their columns. A label that would touch an earlier one
// is left out.
func (s Scale) Labels(degs ...float64) string {
	row := Blank(s.Width)
	for _, deg := range degs {
		if !s.holds(deg) {
			continue
		}
		text := []rune(strconv.FormatFloat(math.Round(deg*10)/10+0, 'f', -1, 64))
		at := max(0, min(s.Column(deg)-len(text)/2, s.Width-len(text)))
		taken := strings.TrimSpace(string(row[max(0, at-1):min(s.Width, at+len(text)+1)])) != ""
		if !taken {
			copy(row[at:], text)
		}
	}
	return strings.TrimRight(string(row), " ")
}

// Bar returns a row with an angle, its interval and a notch for the angle asked.
func (s Scale) Bar(deg float64, interval [2]float64, asked *float64) string {
	row := Blank(s.Width)
	if asked != nil && s.holds(*asked) {
		row[s.Column(*asked)] = '╎'
	}
	clamp := func(v float64) int { return max(0, min(s.Column(v), s.Width-1)) }
	lo, hi := clamp(interval[0]), clamp(interval[1])
	for c := lo; c <= hi; c++ {
		row[c] = '━'
	}
	row[lo], row[hi], row[clamp(deg)] = '┣', '┫', '●'
	return strings.TrimRight(string(row), " ")
}
