package cli

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/squad"
)

// squadAtOnce is how many takes are read at a time: each is decoded on several
// cores, and more of them would only wait for each other.
const squadAtOnce = 2

// squadWork reads a list.
type squadWork struct {
	o        *squadOptions
	list     *squad.List
	folder   string // of the list, from which files are looked for
	memory   memory
	progress *squadProgress
	jobs     []*squadJob
}

// run reads all rows, or those that were done when ctx ended.
func (w *squadWork) run(ctx context.Context) {
	defer w.progress.stop()
	for i := range w.list.Rows {
		w.jobs = append(w.jobs, &squadJob{row: &w.list.Rows[i]})
	}
	w.each(ctx, func(j *squadJob) {
		w.progress.about(j, "looking at it")
		j.err = j.prepare(ctx, w.o, w.folder)
	})
	w.doubles()
	w.statures()
	failed := 0
	for _, j := range w.jobs {
		if j.err != nil {
			failed++
		}
	}
	w.progress.begin(failed)
	w.each(ctx, func(j *squadJob) {
		defer w.progress.done(j)
		if j.made = w.recalled(j); j.made != nil {
			j.again = true
			for _, n := range j.made.Notes {
				j.note(n)
			}
			return
		}
		w.progress.about(j, "opening")
		j.err = j.read(ctx, func(done, of, _ int) { w.progress.about(j, fmt.Sprintf("frame %d of %d", done, of)) })
		switch {
		case j.err != nil && ctx.Err() != nil:
			j.err = ctx.Err() // whatever else went wrong followed from it
		case j.err == nil:
			if err := w.memory.remember(j, j.made); err != nil {
				j.note("it is not remembered for a second run: " + err.Error())
			}
		}
	})
	for _, j := range w.jobs {
		if j.err == nil && j.made == nil {
			j.err = ctx.Err()
		}
		if j.err == nil {
			j.date()
		}
	}
}

func (w *squadWork) recalled(j *squadJob) *squadMemory {
	if w.o.afresh {
		return nil
	}
	return w.memory.recall(j)
}

// each does something with all rows that nothing is wrong with so far, a few at a
// time and in their order, until ctx ends.
func (w *squadWork) each(ctx context.Context, do func(*squadJob)) {
	rows := make(chan *squadJob)
	var all sync.WaitGroup
	for range squadAtOnce {
		all.Go(func() {
			for j := range rows {
				do(j)
			}
		})
	}
	for _, j := range w.jobs {
		if ctx.Err() == nil && j.err == nil {
			rows <- j
		}
	}
	close(rows)
	all.Wait()
}

// doubles refuses a row that reads the same marks on the same take as one before
// it: for the same it would count twice, and for another athlete or condition one
// of the two is wrong.
func (w *squadWork) doubles() {
	type picture struct{ take, marks, at, measure, leg, side string }
	first := map[picture]*squadJob{}
	for _, j := range w.jobs {
		if j.err != nil || j.sum == "" {
			continue
		}
		where := string(j.o.raw.file) + j.o.colours
		if j.seeds != nil && j.o.colours == "" {
			where = fmt.Sprint(j.seeds)
		}
		p := picture{j.sum, where, j.o.at, j.q.Measure.Name, j.o.leg, j.o.side}
		other, ok := first[p]
		switch {
		case !ok:
			first[p] = j
		case squad.Key(other.row.Athlete) != squad.Key(j.row.Athlete):
			j.err = &inputError{fmt.Sprintf("the row has the take and the marks of line %d, where they are %s's", other.row.Line, other.row.Athlete), "write each athlete's own take and marks"}
		case other.o.keep.condition != j.o.keep.condition || other.o.keep.state != j.o.keep.state:
			j.err = &inputError{fmt.Sprintf("the row has the take and the marks of line %d, under another condition or state", other.row.Line), "one picture is of one condition: write the take that belongs to it"}
		case other.key == j.key:
			j.err = &inputError{fmt.Sprintf("the row says the same as line %d", other.row.Line), "take one of them out: it would count twice"}
		}
	}
}

// statures refuses a row in which an athlete is of another size than in a row
// before: they are two of one name, or one of the sizes is wrong.
func (w *squadWork) statures() {
	first := map[string]*squadJob{}
	for _, j := range w.jobs {
		if j.err != nil || j.q.StatureMm == 0 {
			continue
		}
		k := squad.Key(j.row.Athlete)
		other, ok := first[k]
		if !ok {
			first[k] = j
			continue
		}
		if other.q.StatureMm != j.q.StatureMm {
			j.err = &inputError{fmt.Sprintf("%s is %s tall here and %s in line %d", j.row.Athlete, j.o.stature, other.o.stature, other.row.Line),
				"give two athletes two names or pseudonyms, or write one stature"}
		}
	}
}

// keepAll puts the readings into the journal, in the order of the list.
func (w *squadWork) keepAll(ctx context.Context) {
	j, err := openJournal(w.o.keep.journal, journal.Options{Create: true})
	for _, job := range w.jobs {
		if job.err == nil {
			job.apart = err
			if err == nil {
				job.apart = job.keep(ctx, j)
			}
		}
	}
	if err == nil {
		if err := j.Close(); err != nil {
			for _, job := range w.jobs {
				job.apart = errors.Join(job.apart, err)
			}
		}
	}
}

func (j *squadJob) keep(ctx context.Context, to *journal.Journal) (err error) {
	if j.day == "" {
		return &inputError{"neither the row nor the take says on which day it was made", "write it under \"day\", or give --day for all rows"}
	}
	e := j.file()
	j.kept, err = to.Keep(ctx, &e)
	return err
}
