package record

import (
	"context"
	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"fmt"
	"time"
)

// changeReadings are the readings that the filter lets through, by athlete and day, as
// package change compares them: each with its density.
func changeReadings(ctx context.Context, j *journal.Journal, f journal.Filter) ([]change.Reading, error) {
	rows, err := j.List(ctx, f)
	if err != nil {
		return nil, err
	}
	out := make([]change.Reading, 0, len(rows))
	for i := range rows {
		e, err := j.Show(ctx, rows[i].ID)
		if err != nil {
			return nil, err
		}
		r, err := e.Parse()
		if err != nil {
			return nil, err
		}
		c := change.FromReading(r)
		if err := filed(&c, &rows[i]); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// changeRows are the same from the list alone, which is quick for thousands: without their
// densities, so that each is taken to be normal.
func changeRows(rows []journal.Row) ([]change.Reading, error) {
	out := make([]change.Reading, len(rows))
	for i := range rows {
		r, c := &rows[i], &out[i]
		sources, err := r.Budget()
		if err != nil {
			return nil, err
		}
		*c = change.Reading{Measure: r.Measure, Definition: change.Definition(r.Lines), AngleDeg: r.AngleDeg, StandardDeg: r.StandardUncertaintyDeg,
			Sources: sources, AskedDeg: r.AskedDeg, AtMost: r.AtMost}
		m, err := r.Moment()
		if err != nil {
			return nil, err
		}
		if _, peak := sources[reading.SourceTiming]; m == nil && !peak {
			m = reading.MissedIn(r.Take)
		}
		if m != nil {
			c.Missed = [2]float64{m.LeastDeg, m.MostDeg}
		}
		if err := filed(c, r); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// filed adds what the journal has about a reading beyond the reading itself.
func filed(c *change.Reading, r *journal.Row) error {
	day, err := time.Parse(time.DateOnly, r.Day)
	if err != nil {
		return fmt.Errorf("reading %d: %w", r.ID, err)
	}
	c.ID, c.Day, c.Session, c.Side, c.State, c.Condition, c.Variant = r.ID, day, r.Session, r.Side, r.State, r.Condition, r.Variant
	c.Athlete, c.Rater, c.Setup, c.Lens, c.Picture, c.Take, c.AtS = r.Athlete, r.Rater, r.Setup, r.Lens, change.Picture(r.Take), r.Take.SHA256, r.Take.TimeS
	return nil
}
