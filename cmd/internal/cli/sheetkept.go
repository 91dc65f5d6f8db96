package cli

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/sheet"
)

// kept is what a sheet explains of a reading of the journal, and the same as package
// change compares it.
func (o *sheetOptions) kept(ctx context.Context, s streams, number, from string, f *pflag.FlagSet) (*sheet.Input, change.Reading, error) {
	var none change.Reading
	if err := noReadingFlags(f, "reading "+number); err != nil {
		return nil, none, err
	}
	id, err := readingNumber(number)
	if err != nil {
		return nil, none, err
	}
	var e *journal.Entry
	if err := inJournal(o.journal, journal.Options{Read: true}, func(j *journal.Journal) error {
		e, err = j.Show(ctx, id)
		return err
	}); err != nil {
		return nil, none, err
	}
	q, err := again(e)
	if err != nil {
		return nil, none, err
	}
	r, err := e.Parse()
	if err != nil {
		return nil, none, err
	}
	covers, err := o.cover.still(q.Marks.Marks, r.Measure)
	if err != nil {
		return nil, none, err
	}
	frame, err := o.frameOf(ctx, s, r, from, nil)
	if err != nil {
		return nil, none, err
	}
	in, err := o.filled(r, frame, covers, q.Marks.Level)
	if err != nil {
		return nil, none, err
	}
	if in.Who == "" {
		in.Who = e.Athlete
	}
	in.Day = e.Day
	if e.State != journal.Unknown {
		in.State = e.State
	}
	day, err := time.Parse(time.DateOnly, e.Day)
	if err != nil {
		return nil, none, fmt.Errorf("reading %d: %w", e.ID, err)
	}
	c := change.FromReading(r)
	c.ID, c.Day, c.Session, c.Side, c.State, c.Condition = e.ID, day, e.Session, e.Side, e.State, e.Condition
	c.Rater, c.Setup, c.Lens = e.Rater, e.Setup, string(e.Request.Lens) // one file is one lens
	return in, c, nil
}
