package desk

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
)

// Page returns the data of the page of a session, of one athlete or for who "" of all. A row
// that was not read is named by its line, since a page names no file.
func (l *List) Page(r *session.Report, who string) (sheet.SquadInput, error) {
	if r.Read == 0 {
		f := r.NotRead[0]
		return sheet.SquadInput{}, fault.New(fmt.Sprintf("no row of %q was read; line %d: %s", l.ask.Path, f.Line, f.Reason), f.Do)
	}
	if who != "" {
		return sessionOf(r, who)
	}
	return SessionPage(r), nil
}

// SessionPage returns the data of the page of a whole session.
func SessionPage(r *session.Report) sheet.SquadInput {
	d := SessionPicture(r, func(f *session.Failure) string {
		return fmt.Sprintf("line %d of the list could not be read", f.Line)
	})
	in := sheet.SquadInput{Day: d.Day, Rows: d.Rows, Notes: r.Notes, Cautions: r.Cautions, Gaps: r.LargestGaps()}
	for _, g := range []struct {
		from []session.Standing
		to   *[]string
	}{{r.Short, &in.Short}, {r.Meets, &in.Meets}, {r.Undecided, &in.Undecided}} {
		for _, a := range g.from {
			*g.to = append(*g.to, a.String())
		}
	}
	return in
}

// sessionOf returns the data of one athlete's page of a session.
func sessionOf(r *session.Report, who string) (sheet.SquadInput, error) {
	var names []string
	for i := range r.Athletes {
		a := &r.Athletes[i]
		names = append(names, a.Athlete)
		if session.Key(a.Athlete) != session.Key(who) {
			continue
		}
		in := sheet.SquadInput{Who: a.Athlete}
		var days []string
		for _, one := range a.Readings {
			if one.Day != "" {
				days = append(days, one.Day)
			}
			in.Readings = append(in.Readings, sheet.SquadReading{Condition: one.Condition, Side: one.Side, State: one.State, Counts: one.Counts, Reading: one.Reading})
		}
		in.Day = daysWords(days)
		return in, nil
	}
	return sheet.SquadInput{}, fault.New(fmt.Sprintf("nobody called %q was read in %q", who, r.List.Name), "read were "+strings.Join(names, ", "))
}

// SessionPicture returns a chart with a row for each reading that counts, in the order of the
// list, and one for each row that was not read, with the reason that why returns.
func SessionPicture(r *session.Report, why func(*session.Failure) string) chart.SquadData {
	d := chart.SquadData{Title: strings.TrimSuffix(r.List.Name, ".csv"), Day: sessionDays(r)}
	for _, l := range r.Lines() {
		how := Spaced(l.Condition, l.Side, l.State)
		switch {
		case l.Failure != nil:
			d.Rows = append(d.Rows, chart.SquadRow{Who: l.Failure.Athlete, Note: how, Reason: why(l.Failure)})
		case l.Reading.Counts:
			d.Rows = append(d.Rows, chart.SquadRow{Who: l.Athlete.Athlete, Note: how, Reading: l.Reading.Reading, Gap: l.Athlete.Gap(l.Reading)})
		}
	}
	return d
}

// Spaced joins non-empty words with spaces.
func Spaced(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" }), " ")
}

// sessionDays returns the range of days of the takes in words; "" if none is known.
func sessionDays(r *session.Report) string {
	var days []string
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			if one.Day != "" {
				days = append(days, one.Day)
			}
		}
	}
	return daysWords(days)
}

// daysWords returns the range of days in words; "" for none.
func daysWords(days []string) string {
	if len(days) == 0 {
		return ""
	}
	words := func(day string) string {
		d, err := time.Parse(time.DateOnly, day)
		if err != nil {
			return day
		}
		return DateWords(d)
	}
	first, last := slices.Min(days), slices.Max(days)
	if first == last {
		return words(first)
	}
	return words(first) + " to " + words(last)
}
