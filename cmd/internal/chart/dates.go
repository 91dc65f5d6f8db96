package chart

import (
	"time"

	"ecart/cmd/internal/draw"
)

// calendar is a scale of days since origin along a line.
type calendar struct {
	draw.Scale
	origin time.Time
}

const dayHours = 24

func (c calendar) day(t time.Time) float64 { return t.Sub(c.origin).Hours() / dayHours }

func (c calendar) x(t time.Time) float64 { return c.At(c.day(t)) }

// newCalendar returns a calendar from the first day to the last, with some room at both ends.
func newCalendar(from, to time.Time, a, b float64) calendar {
	c := calendar{draw.Scale{To: to.Sub(from).Hours() / dayHours, A: a, B: b}, from}
	if c.To < 1 {
		c.From, c.To = -15, 15
		return c
	}
	room := max(0.04*(c.To-c.From), 1)
	c.From, c.To = c.From-room, c.To+room
	return c
}

// date is a stroke of the calendar with its label.
type date struct {
	at    float64
	words string
}

// dates returns strokes at days, weeks, months or years: the closest ones whose labels
// do not overlap.
func (c calendar) dates(l *draw.Letters) []date {
	fit := func(ds []date) bool {
		for i := 1; i < len(ds); i++ {
			half := (l.Width(draw.Sans, text, ds[i-1].words) + l.Width(draw.Sans, text, ds[i].words)) / 2
			if ds[i].at-ds[i-1].at < half+0.9*text {
				return false
			}
		}
		return true
	}
	start := c.origin.AddDate(0, 0, int(c.From)-1).UTC()
	start = time.Date(start.Year(), start.Month(), start.Day(), 0, 0, 0, 0, time.UTC)
	var best []date
	for _, step := range []struct{ days, months int }{{1, 0}, {2, 0}, {7, 0}, {14, 0}, {0, 1}, {0, 2}, {0, 3}, {0, 6}, {0, 12}, {0, 24}, {0, 60}, {0, 120}} {
		t := start
		if step.months > 0 {
			m := int(t.Month()) - 1
			t = time.Date(t.Year(), time.Month(m-m%min(step.months, 12)+1), 1, 0, 0, 0, 0, time.UTC)
			if n := step.months / 12; n > 1 {
				t = time.Date(t.Year()-t.Year()%n, 1, 1, 0, 0, 0, 0, time.UTC)
			}
		} else if step.days >= 7 {
			t = t.AddDate(0, 0, -(int(t.Weekday())+6)%7) // Mondays
		}
		best = best[:0]
		year := 0
		for n := 0; c.day(t) <= c.To && n < 400; n++ {
			if c.day(t) >= c.From {
				words := t.Format("Jan")
				switch {
				case step.months >= 12:
					words = t.Format("2006")
				case step.months == 0:
					words = t.Format("2 Jan")
				}
				if year != t.Year() && step.months < 12 {
					words += t.Format(" 2006")
				}
				year = t.Year()
				best = append(best, date{c.x(t), words})
			}
			t = t.AddDate(0, step.months, step.days)
		}
		if fit(best) && len(best) < 400 {
			break
		}
	}
	return best
}

// along draws the calendar's line at y, its strokes and its labels.
func (s *sheet) along(c calendar, y float64) {
	s.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{c.A, y}, point{c.B, y})
	for _, d := range c.dates(s.L) {
		s.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{d.at, y}, point{d.at, y + tickLong*text})
		half := s.L.Width(draw.Sans, text, d.words) / 2
		if d.at-half < margin/2 || d.at+half > s.W-margin/2 {
			continue
		}
		s.Text(label{d.words, d.at, y + underTicks*text, 0.5, text, draw.Sans, draw.Faint})
	}
}
