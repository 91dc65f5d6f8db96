package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry"
)

// Remake computes a kept reading again from its entry in the journal.
func Remake(e *journal.Entry) (*reading.Reading, error) {
	q, err := Again(e)
	if err != nil {
		return nil, err
	}
	kept, err := e.Parse()
	if err != nil {
		return nil, err
	}
	if kept.Peak != nil && q.Movement == nil {
		return nil, fault.New(fmt.Sprintf("reading %d is of the peak of a clip, and what was found between its frames was not kept", e.ID), "follow the clip again and keep that")
	}
	r, err := reading.Read(q)
	if err != nil {
		return nil, err
	}
	r.Peak = kept.Peak
	return r, nil
}

// Again returns the request that gives a kept reading again.
func Again(e *journal.Entry) (reading.Request, error) {
	q, err := e.Again()
	if err != nil {
		return q, err
	}
	var ok bool
	if q.Measure, ok = geometry.Lookup(e.Request.Measure); !ok {
		return q, fault.New(fmt.Sprintf("there is no measure %q", e.Request.Measure), "read it with the version of ecart that knew it")
	}
	if len(e.Request.Lens) > 0 {
		q.Lens, err = ParseLens(fmt.Sprintf("of reading %d", e.ID), e.Request.Lens)
	}
	return q, err
}

// Recomputed is the result of computing readings again.
type Recomputed struct {
	Readings int      `json:"readings"`
	Same     int      `json:"same"`
	Replaced int      `json:"replaced"` // how many of the changed ones
	Changed  []Remade `json:"changed"`
	Failed   []Remade `json:"failed"`

	All  int   `json:"-"` // how many were to be computed again
	Torn error `json:"-"` // damage of the file itself, from which readings may be missing
}

// Remade is a reading that changed or failed.
type Remade struct {
	ID      int64     `json:"reading"`
	Athlete string    `json:"athlete"`
	Day     string    `json:"day"`
	Changes []Figures `json:"changes,omitempty"`
	Why     string    `json:"why,omitempty"` // why it failed or differs
	Do      string    `json:"do,omitempty"`
}

// Figures is a number before and after; nil for none.
type Figures struct {
	Name   string   `json:"figure"`
	Before *float64 `json:"before"`
	After  *float64 `json:"after"`
}

// Recompute computes the readings that the filter selects again, one after the other. With write
// it replaces those that changed. If ctx ends, what was replaced until then stays. door words
// the errors of readings.
func (d *Desk) Recompute(ctx context.Context, q journal.Filter, write bool, door fault.Door) (*Recomputed, error) {
	if err := CheckFilter(q); err != nil {
		return nil, err
	}
	out := &Recomputed{Changed: []Remade{}, Failed: []Remade{}}
	err := d.InJournal(journal.Options{Read: !write}, func(j *journal.Journal) error {
		rows, err := j.List(ctx, q)
		var damaged journal.DamagedReadings // which recompute names
		if err != nil && !errors.As(err, &damaged) {
			return err
		}
		out.All, out.Torn = len(rows)+len(damaged), damaged.Torn()
		if out.Torn != nil {
			out.All--
		}
		return d.recompute(ctx, j, q, write, door, out)
	})
	return out, err
}

func (d *Desk) recompute(ctx context.Context, j *journal.Journal, q journal.Filter, write bool, door fault.Door, out *Recomputed) error {
	defer d.opt.Doing("")
	remake := func(e *journal.Entry) (*reading.Reading, error) {
		d.opt.Doing(fmt.Sprintf("making reading %d again, %d of %d", e.ID, out.Readings+1, out.All))
		return Remake(e)
	}
	for m, err := range j.Recompute(ctx, q, remake) {
		if err != nil {
			return err
		}
		out.Readings++
		one := Remade{ID: m.Entry.ID, Athlete: m.Entry.Athlete, Day: m.Entry.Day}
		switch {
		case m.Err != nil:
			one.Why, one.Do = wordsOf(m.Err, door)
			out.Failed = append(out.Failed, one)
		case len(m.Changes) == 0:
			out.Same++
		default:
			for _, f := range m.Changes {
				one.Changes = append(one.Changes, Figures{f.Name, figureOf(f.Before), figureOf(f.After)})
			}
			if slices.Contains(m.After.Notes, reading.FoundNotSaid) && !slices.Contains(m.Before.Notes, reading.FoundNotSaid) {
				one.Why = "how its landmarks were found was not asked when it was kept: made again, they count as seen, not felt for"
			}
			out.Changed = append(out.Changed, one)
			if !write {
				continue
			}
			if err := j.Replace(ctx, m.Entry.ID, m.After, Version()); err != nil {
				return err
			}
			out.Replaced++
		}
	}
	return nil
}

// figureOf returns nil for NaN.
func figureOf(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// hintless is the hint of an error that has none.
const hintless = "this is no fault of yours: please report it with the command as you gave it"

// wordsOf returns what is wrong and what to do, a line each, as door words them.
func wordsOf(err error, door fault.Door) (fact, hint string) {
	fact, hint = fault.Words(err, door)
	if hint == "" {
		hint = hintless
	}
	return text.OneLine(fact), text.OneLine(hint)
}
