package terminal

import (
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

// shade returns the character of band i: denser for a larger deduction.
func shade(i int) rune {
	shades := []rune("░▒▓█")
	return shades[min(i, len(shades)-1)]
}

// Scale maps degrees to the columns of a row.
type Scale struct {
	From, To float64
	Width    int
}

// Column returns the column of an angle, clamped to the row.
func (s Scale) Column(deg float64) int {
	at := math.Round((deg - s.From) / (s.To - s.From) * float64(s.Width-1))
	return int(max(0, min(at, float64(s.Width-1))))
}

func (s Scale) degrees(column int) float64 {
	return s.From + (s.To-s.From)*float64(column)/float64(s.Width-1)
}

func (s Scale) holds(deg float64) bool { return deg >= s.From && deg <= s.To }

// ruler draws the reading in text: the interval with the angle on it over the
// bands, with a notch for the angle asked and degrees below.
func ruler(r *reading.Reading, width int) []string {
	limits := r.Skill.AnglesAt(r.Verdict.FreeDeg())
	near := r.AngleAt(r.Verdict.FreeDeg()) // the limit on the angle's side
	s := Scale{math.Min(r.IntervalDeg[0], near), math.Max(r.IntervalDeg[1], near), width}
	margin := 0.08*(s.To-s.From) + 1
	s.From, s.To = s.From-margin, s.To+margin
	return []string{
		strings.TrimRight(string(s.interval(r, limits)), " "),
		string(s.bands(r, limits)),
		strings.TrimRight(string(s.figures(r, limits)), " "),
	}
}

func (s Scale) interval(r *reading.Reading, limits []float64) []rune {
	row := Blank(s.Width)
	for _, l := range limits {
		if s.holds(l) {
			row[s.Column(l)] = '╷'
		}
	}
	lo, hi := s.Column(r.IntervalDeg[0]), s.Column(r.IntervalDeg[1])
	for c := lo; c <= hi; c++ {
		row[c] = '━'
	}
	row[lo], row[hi], row[s.Column(r.AngleDeg)] = '┣', '┫', '●'
	return row
}

func (s Scale) bands(r *reading.Reading, limits []float64) []rune {
	row := Blank(s.Width)
	for c := range row {
		short := r.Skill.Shortfall(s.degrees(c))
		row[c] = '─'
		for i, b := range r.Verdict.Bands {
			if short > b.FromDeg && (b.ToDeg == nil || short <= *b.ToDeg) {
				row[c] = shade(i)
			}
		}
	}
	for _, l := range limits {
		if s.holds(l) {
			row[s.Column(l)] = '┃'
		}
	}
	return row
}

// figures returns the degrees under the ruler: the angle asked, the ends of the
// bands, and the two ends of the ruler, as far as there is room.
func (s Scale) figures(r *reading.Reading, limits []float64) []rune {
	row := Blank(s.Width)
	put := func(deg float64) {
		if !s.holds(deg) {
			return
		}
		text := []rune(strconv.FormatFloat(math.Round(deg*10)/10+0, 'f', -1, 64))
		at := max(0, min(s.Column(deg)-len(text)/2, s.Width-len(text)))
		for c := max(0, at-1); c < min(s.Width, at+len(text)+1); c++ {
			if row[c] != ' ' {
				return
			}
		}
		copy(row[at:], text)
	}
	for _, l := range limits {
		put(l)
	}
	for _, b := range r.Verdict.Bands {
		for _, e := range r.Skill.AnglesAt(b.FromDeg) {
			put(e)
		}
	}
	put(math.Ceil(s.From))
	put(math.Floor(s.To))
	return row
}

func Blank(width int) []rune { return []rune(strings.Repeat(" ", width)) }

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
