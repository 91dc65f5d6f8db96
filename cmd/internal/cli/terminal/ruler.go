package terminal

import (
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/reading"
)

// shade is how band i is drawn, the denser the dearer.
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
// bands, with a notch for what is asked and degrees below.
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

// figures are the degrees under the ruler: what is asked, the ends of the
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
