package cli

import (
	"context"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/output"
)

func drawSquad(ctx context.Context, files *output.Set, path string, r *squadReport) error {
	d, err := chart.Squad(r.picture(), chart.Options{})
	if err != nil {
		return err
	}
	return writeChart(ctx, files, path, d)
}

// picture is a row for each reading that counts, in the order of the list, and one
// for each row that was not read.
func (r *squadReport) picture() chart.SquadData {
	return r.pictureWith(func(f squadFailure) string { return f.Reason })
}

// pictureWith says in its own words why a row was not read.
func (r *squadReport) pictureWith(why func(squadFailure) string) chart.SquadData {
	d := chart.SquadData{Title: strings.TrimSuffix(r.List.Name, ".csv"), Day: r.days()}
	for _, j := range r.jobs {
		if j.err != nil {
			f := j.failure(j.err)
			d.Rows = append(d.Rows, chart.SquadRow{Who: f.Athlete, Note: squadWhat(j.o.keep.condition, j.o.side, j.o.keep.state), Reason: why(f)})
			continue
		}
		if a, one := r.rowOf(j); one.Counts {
			d.Rows = append(d.Rows, chart.SquadRow{Who: a.Athlete, Note: one.what(), Reading: one.Reading, Gap: a.gap(one)})
		}
	}
	return d
}

// days are the days of the takes, from the first to the last; "" where none is known.
func (r *squadReport) days() string {
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

// daysWords are days from the first to the last, "" of none.
func daysWords(days []string) string {
	if len(days) == 0 {
		return ""
	}
	words := func(day string) string {
		d, err := time.Parse(time.DateOnly, day)
		if err != nil {
			return day
		}
		return dateWords(d)
	}
	first, last := slices.Min(days), slices.Max(days)
	if first == last {
		return words(first)
	}
	return words(first) + " to " + words(last)
}
