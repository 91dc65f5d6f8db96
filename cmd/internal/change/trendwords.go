package change

import (
	"fmt"
	"math"
	"strings"
	"time"

	"ecart/geometry/uncertainty"
)

// sentence is the trend in one sentence.
func (t *Trend) sentence() string {
	if len(t.Days) == 1 {
		d := t.Days[0]
		angle, u := uncertainty.Format(d.AngleDeg, d.IntervalDeg[1]-d.AngleDeg)
		next := dayPrior().with(2*d.StandardDeg*d.StandardDeg, 2).half(t.Coverage)
		_, s := uncertainty.Format(0, next)
		return fmt.Sprintf("one day only, %s: %s° ± %s°; a second reading as good could show a change of %s° or more", t.date(d.Day), angle, u, s)
	}
	parts := []string{t.changeWords()}
	if r := t.Reach; r != nil {
		asked := fmt.Sprintf("%g°", *t.AskedDeg)
		switch r.Status {
		case Reached:
			parts = append(parts, asked+" is reached")
		case Near:
			parts = append(parts, "whether "+asked+" is reached is within the uncertainty")
		case NotAtThisRate:
			parts = append(parts, asked+" is not reached at this rate")
		case CannotTell:
			words := "whether " + asked + " is reached at this rate cannot be told yet"
			if r.MoreDays != nil {
				words += fmt.Sprintf(": %s with a reading would tell", plural(*r.MoreDays, "more day", "more days"))
			} else {
				words += ": readings like these would take more than three years to tell"
			}
			parts = append(parts, words)
		case Coming:
			parts = append(parts, "at this rate "+asked+" is reached "+t.reachWords(r))
		}
	}
	if t.Missing != "" {
		parts = append(parts, "missing: "+t.Missing)
	}
	if !t.Real {
		if t.NextDay != nil {
			parts = append(parts, fmt.Sprintf("at this rate a reading on %s or later could first show one", t.date(*t.NextDay)))
		} else {
			parts = append(parts, "at this rate none would show within three years")
		}
	}
	return strings.Join(parts, "; ")
}

// MovedBriefly says by how much the angle went up or down, and whether that is real. There are two days
// at least.
func (t *Trend) MovedBriefly() string {
	size, smallest := uncertainty.Format(math.Abs(t.ChangeDeg), t.SmallestDeg)
	direction := "up"
	if t.ChangeDeg < 0 {
		direction = "down"
	}
	if t.Real {
		return fmt.Sprintf("%s %s°, a real change", direction, size)
	}
	return fmt.Sprintf("%s %s°, not shown (%s° would be)", direction, size, smallest)
}

// changeWords says by how much the angle went up or down since the first day, and whether that is real. There
// are two days at least.
func (t *Trend) changeWords() string {
	size, smallest := uncertainty.Format(math.Abs(t.ChangeDeg), t.SmallestDeg)
	direction := "up"
	if t.ChangeDeg < 0 {
		direction = "down"
	}
	since := t.date(t.Days[0].Day)
	if t.Real {
		return fmt.Sprintf("%s %s° since %s, a real change (%s° would show)", direction, size, since, smallest)
	}
	return fmt.Sprintf("%s %s° since %s; these pictures cannot tell that from no change (%s° would show)", direction, size, since, smallest)
}

func (t *Trend) reachWords(r *Reach) string {
	if r.To == nil {
		return "not before " + t.month(*r.From)
	}
	from, to := t.month(*r.From), t.month(*r.To)
	switch {
	case from == to:
		return "in " + to
	case r.From.Year() == r.To.Year():
		from = r.From.Month().String()
	case r.From.Year() == t.year():
		from = r.From.Format("January 2006")
	}
	return "between " + from + " and " + to
}

// year is the year of the last day; dates in it are written without the year.
func (t *Trend) year() int { return t.Days[len(t.Days)-1].Day.Year() }

func (t *Trend) date(d time.Time) string {
	if d.Year() == t.year() {
		return d.Format("2 January")
	}
	return d.Format("2 January 2006")
}

func (t *Trend) month(d time.Time) string {
	if d.Year() == t.year() {
		return d.Month().String()
	}
	return d.Format("January 2006")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return number(n) + " " + many
}

func number(n int) string {
	if words := []string{"no", "one", "two", "three", "four", "five"}; n >= 0 && n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}
