package cli

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

// scale lays degrees out along a row of a terminal.
type scale struct {
	from, to float64
	width    int
}

// column is where an angle is on the row, at its end where it lies beyond.
func (s scale) column(deg float64) int {
	at := math.Round((deg - s.from) / (s.to - s.from) * float64(s.width-1))
	return int(max(0, min(at, float64(s.width-1))))
}

func (s scale) degrees(column int) float64 {
	return s.from + (s.to-s.from)*float64(column)/float64(s.width-1)
}

func (s scale) holds(deg float64) bool { return deg >= s.from && deg <= s.to }

// ruler draws the reading in text: the interval with the angle on it over the
// bands, with a notch for what is asked and degrees below.
func ruler(r *reading.Reading, width int) []string {
	limits := r.Skill.AnglesAt(r.Verdict.FreeDeg())
	near := r.AngleAt(r.Verdict.FreeDeg()) // the limit on the angle's side
	s := scale{math.Min(r.IntervalDeg[0], near), math.Max(r.IntervalDeg[1], near), width}
	margin := 0.08*(s.to-s.from) + 1
	s.from, s.to = s.from-margin, s.to+margin
	return []string{
		strings.TrimRight(string(s.interval(r, limits)), " "),
		string(s.bands(r, limits)),
		strings.TrimRight(string(s.figures(r, limits)), " "),
	}
}

func (s scale) interval(r *reading.Reading, limits []float64) []rune {
	row := blank(s.width)
	for _, l := range limits {
		if s.holds(l) {
			row[s.column(l)] = '╷'
		}
	}
	lo, hi := s.column(r.IntervalDeg[0]), s.column(r.IntervalDeg[1])
	for c := lo; c <= hi; c++ {
		row[c] = '━'
	}
	row[lo], row[hi], row[s.column(r.AngleDeg)] = '┣', '┫', '●'
	return row
}

func (s scale) bands(r *reading.Reading, limits []float64) []rune {
	row := blank(s.width)
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
			row[s.column(l)] = '┃'
		}
	}
	return row
}

// figures are the degrees under the ruler: what is asked, the ends of the
// bands, and the two ends of the ruler, as far as there is room.
func (s scale) figures(r *reading.Reading, limits []float64) []rune {
	row := blank(s.width)
	put := func(deg float64) {
		if !s.holds(deg) {
			return
		}
		text := []rune(strconv.FormatFloat(math.Round(deg*10)/10+0, 'f', -1, 64))
		at := max(0, min(s.column(deg)-len(text)/2, s.width-len(text)))
		for c := max(0, at-1); c < min(s.width, at+len(text)+1); c++ {
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
	put(math.Ceil(s.from))
	put(math.Floor(s.to))
	return row
}

func blank(width int) []rune { return []rune(strings.Repeat(" ", width)) }
