package session

import (
	"context"
	"errors"

	"ecart/cmd/internal/journal"
)

// Keep puts the readings into a journal, which it opens and closes, in the order of the
// list. The report names those that were not kept.
func (s *Session) Keep(ctx context.Context, open func() (*journal.Journal, error)) {
	var read []*rowWork
	for _, w := range s.rows {
		if w.err == nil {
			read = append(read, w)
		}
	}
	j, err := open()
	if err != nil {
		for _, w := range read {
			w.keepErr = err
		}
		return
	}
	for _, w := range read {
		w.keepErr = w.keep(ctx, j)
	}
	if err := j.Close(); err != nil {
		for _, w := range s.rows {
			w.keepErr = errors.Join(w.keepErr, err)
		}
	}
}

func (w *rowWork) keep(ctx context.Context, j *journal.Journal) (err error) {
	if w.day == "" {
		return newError("write it under \"day\", or give day for all rows", "neither the row nor the take says on which day it was made")
	}
	e, f := w.result.Entry, &w.question.Filing
	e.Athlete, e.Day, e.Session, e.State, e.Condition = w.row.Athlete, w.day, f.Session, f.State, f.Condition
	e.Variant, e.Rater, e.Setup, e.Note = f.Variant, f.Rater, f.Setup, f.Note
	w.kept, err = j.Keep(ctx, &e)
	return err
}
