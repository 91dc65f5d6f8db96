package session

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
)

// AtOnce is the number of takes read at the same time. Each is decoded on several cores, so
// that more takes at a time would only compete.
const AtOnce = 2

// Options say how a list is read.
type Options struct {
	Reader   Reader
	Memory   Memory
	Afresh   bool        // read every row again, even if it is remembered
	Version  string      // of the program
	Coverage float64     // the probability needed for a decision
	Seed     uint64      // of the random draws of screens
	NoScreen bool        // the report has no screens, which take time
	Progress func(Event) // nil, or called by several goroutines at once
	Door     fault.Door  // words what is wrong with a row; the zero value is fault.NoDoor
}

// Event is a step of progress of a run.
type Event struct {
	Step          Step
	Row           *Row // nil at Started
	Frame, Frames int  // at Following: how many of the clip's frames are followed
	Failed        int  // at Started: rows that failed before
	Err           error
}

// Step is what happens to a row.
type Step int

const (
	Checking  Step = iota // the row's cells and small files are checked
	Started               // all rows are checked; reading of the takes begins
	Opening               // its take is opened
	Following             // its clip is followed
	Ended                 // it is read, or failed with Err
)

// Session is the work on a list, from its rows to a report.
type Session struct {
	list *List
	opt  Options
	rows []*rowWork
}

// rowWork is the work on one row, up to its reading.
type rowWork struct {
	row      *Row
	question Question
	takeSum  string // SHA-256 of the take in hexadecimal, "" if it cannot be read
	key      rowKey // none if takeSum is ""

	result     *Result // nil until it is read
	remembered bool    // by an earlier run
	day        string  // on which the take was made, "" if unknown
	notes      []string
	kept       int64 // its number in the journal, 0 if it is not kept
	keepErr    error // why it was not kept
	err        error // why it was not read
}

// Run reads all rows of a list, or as many as were read when ctx ended.
func Run(ctx context.Context, list *List, opt Options) *Session {
	if opt.Progress == nil {
		opt.Progress = func(Event) {}
	}
	if opt.Door.Option == nil {
		opt.Door = fault.NoDoor
	}
	s := &Session{list: list, opt: opt}
	for i := range list.Rows {
		s.rows = append(s.rows, &rowWork{row: &list.Rows[i]})
	}
	programID := program(opt.Version)
	s.each(ctx, func(w *rowWork) {
		opt.Progress(Event{Step: Checking, Row: w.row})
		w.err = w.prepare(ctx, opt.Reader, programID)
	})
	s.refuseDoubles()
	s.refuseTwoStatures()
	failed := 0
	for _, w := range s.rows {
		if w.err != nil {
			failed++
		}
	}
	opt.Progress(Event{Step: Started, Failed: failed})
	s.each(ctx, func(w *rowWork) {
		w.err = s.read(ctx, w)
		opt.Progress(Event{Step: Ended, Row: w.row, Err: w.err})
	})
	for _, w := range s.rows {
		if w.err == nil && w.result == nil {
			w.err = ctx.Err()
		}
		if w.err == nil {
			w.setDay()
		}
	}
	return s
}

// each calls do with every row that has not failed, AtOnce at a time and in the order of
// the list, until ctx ends.
func (s *Session) each(ctx context.Context, do func(*rowWork)) {
	rows := make(chan *rowWork)
	var workers sync.WaitGroup
	for range AtOnce {
		workers.Go(func() {
			for w := range rows {
				do(w)
			}
		})
	}
	for _, w := range s.rows {
		if ctx.Err() == nil && w.err == nil {
			rows <- w
		}
	}
	close(rows)
	workers.Wait()
}

// prepare sets the row's question and the key of its reading. It reads the take only to
// compute its SHA-256.
func (w *rowWork) prepare(ctx context.Context, reader Reader, program string) (err error) {
	if w.row.Err != nil {
		return w.row.Err
	}
	if w.question, err = reader(ctx, w.row); err != nil {
		return err
	}
	w.note(w.question.Notes...)
	if w.takeSum, err = FileSum(ctx, w.question.Files.Take); err != nil {
		return ctx.Err() // opening the take later gives a better error
	}
	w.key, err = newRowKey(program, w.takeSum, w.question.DependsOn)
	return err
}

// read takes the reading from the memory, or makes it and remembers it.
func (s *Session) read(ctx context.Context, w *rowWork) error {
	if !s.opt.Afresh {
		if w.result = s.opt.Memory.recall(w.key, w.takeSum, w.question.Files.Take); w.result != nil {
			w.remembered = true
			w.note(w.result.Notes...)
			return w.proposalErr()
		}
	}
	s.opt.Progress(Event{Step: Opening, Row: w.row})
	result, err := w.question.Read(ctx, func(done, of int) {
		s.opt.Progress(Event{Step: Following, Row: w.row, Frame: done, Frames: of})
	})
	switch {
	case err != nil && ctx.Err() != nil:
		return ctx.Err() // other errors are a consequence
	case err != nil:
		return err
	}
	w.result = result
	w.note(result.Notes...)
	if err := s.opt.Memory.remember(w.key, w.takeSum, result); err != nil {
		w.note("it is not remembered for a second run: " + err.Error())
	}
	return w.proposalErr()
}

// proposalErr is the error of a row for which there is a proposal and no reading.
func (w *rowWork) proposalErr() error {
	p := w.result.Proposed
	if p == nil {
		return nil
	}
	fact := p.Fact
	if w.remembered {
		fact += " (remembered)"
	}
	return fault.New(fact, p.Hint)
}

// note adds lines to the row's notes, each once.
func (w *rowWork) note(notes ...string) {
	for _, line := range strings.Split(strings.Join(notes, "\n"), "\n") {
		if line = text.OneLine(line); line != "" && !strings.Contains(strings.Join(w.notes, "\n"), line) {
			w.notes = append(w.notes, line)
		}
	}
}

// setDay sets the day on which the take was made: that of the row or the caller, else that
// of the take.
func (w *rowWork) setDay() {
	stated, ofTake := w.question.Filing.Day, w.result.TakeDay
	if w.day = stated; stated == "" {
		w.day = ofTake
	}
	if stated != "" && ofTake != "" && stated != ofTake {
		w.note(fmt.Sprintf("the take says that it was made on %s; %s is taken, as it was said", ofTake, stated))
	}
}

// Outcome is the result of a row.
type Outcome struct {
	Row     *Row
	Files   Files
	Reading *reading.Reading // with the take's name; nil if it was not read
	Err     error            // why it was not read
}

// Outcomes returns the results of all rows, in the order of the list.
func (s *Session) Outcomes() []Outcome {
	var out []Outcome
	for _, w := range s.rows {
		o := Outcome{Row: w.row, Files: w.question.Files, Err: w.err}
		if w.err == nil {
			o.Reading = w.result.Reading
		}
		out = append(out, o)
	}
	return out
}

// FileSum returns the SHA-256 of a file, in hexadecimal.
func FileSum(ctx context.Context, path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return "", errors.Join(err, fmt.Errorf("%q is no file", path))
	}
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	defer context.AfterFunc(ctx, func() { f.Close() })()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", errors.Join(ctx.Err(), err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// refuseDoubles refuses a row that reads the same marks on the same take as a row before
// it. For the same athlete and condition the reading would count twice; otherwise one of
// the two rows is wrong.
func (s *Session) refuseDoubles() {
	type picture struct{ takeSum, marks, at, measure, leg, side string }
	first := map[picture]*rowWork{}
	for _, w := range s.rows {
		if w.err != nil || w.takeSum == "" {
			continue
		}
		q := &w.question
		p := picture{w.takeSum, q.MarksOrigin, q.At, q.Measure, q.Leg, q.Side}
		other, ok := first[p]
		switch {
		case !ok:
			first[p] = w
		case Key(other.row.Athlete) != Key(w.row.Athlete):
			w.err = newError("write each athlete's own take and marks", "the row has the take and the marks of line %d, where they are %s's", other.row.Line, other.row.Athlete)
		case other.question.Filing.Condition != q.Filing.Condition || other.question.Filing.Variant != q.Filing.Variant || other.question.Filing.State != q.Filing.State:
			w.err = newError("one picture is of one condition and position: write the take that belongs to it", "the row has the take and the marks of line %d, under another condition, position or state", other.row.Line)
		case other.key == w.key:
			w.err = newError("take one of them out: it would count twice", "the row says the same as line %d", other.row.Line)
		}
	}
}

// refuseTwoStatures refuses a row whose athlete has another stature than in a row before:
// either two athletes have one name, or one of the statures is wrong.
func (s *Session) refuseTwoStatures() {
	first := map[string]*rowWork{}
	for _, w := range s.rows {
		if w.err != nil || w.question.StatureMm == 0 {
			continue
		}
		k := Key(w.row.Athlete)
		other, ok := first[k]
		if !ok {
			first[k] = w
			continue
		}
		if other.question.StatureMm != w.question.StatureMm {
			w.err = newError("give two athletes two names or pseudonyms, or write one stature",
				"%s is %s tall here and %s in line %d", w.row.Athlete, w.question.Stature, other.question.Stature, other.row.Line)
		}
	}
}

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
