package session

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
)

// Schema names the version of a report's JSON.
const Schema = "ecart/squad/1"

// Report is the result of a list. Its JSON is the output of 'ecart squad --json'.
type Report struct {
	Schema     string     `json:"schema"`
	List       ListRef    `json:"list"`
	Tool       string     `json:"tool"`
	Rows       int        `json:"rows"`
	Read       int        `json:"read"`
	Remembered int        `json:"remembered"` // of those read, from an earlier run
	Stopped    bool       `json:"stopped,omitempty"`
	Athletes   []Athlete  `json:"athletes"`
	Short      []Standing `json:"short"` // by the readings that count
	Meets      []Standing `json:"meets"`
	Undecided  []Standing `json:"undecided"`
	NotRead    []Failure  `json:"not_read"`
	NotKept    []Failure  `json:"not_kept,omitempty"`
	Notes      []string   `json:"notes"`
	Cautions   []string   `json:"cautions"`

	lines []Line
	at    map[string]int // the athlete's place in Athletes, by Key
}

// ListRef names the list that was read.
type ListRef struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// Athlete holds the readings of one athlete.
type Athlete struct {
	Athlete  string    `json:"athlete"`
	Readings []Reading `json:"readings"`
	Screens  []Screen  `json:"screens"`
}

// Reading is one row that was read.
type Reading struct {
	Line       int              `json:"line"`
	Day        string           `json:"day,omitempty"`
	Session    string           `json:"session,omitempty"`
	Condition  string           `json:"condition,omitempty"`
	Variant    string           `json:"variant,omitempty"`
	State      string           `json:"state,omitempty"`
	Side       string           `json:"side,omitempty"`
	Rater      string           `json:"rater,omitempty"`
	Setup      string           `json:"setup,omitempty"`
	Note       string           `json:"note,omitempty"`
	Counts     bool             `json:"counts"` // its condition is the one nearest to the skill among those read
	Remembered bool             `json:"remembered"`
	Kept       int64            `json:"kept_as,omitempty"` // its number in the journal
	Notes      []string         `json:"notes"`
	Reading    *reading.Reading `json:"reading"`
}

// Line is one row of the list, read or not.
type Line struct {
	Number                 int // of the line in the list, from 1
	Condition, Side, State string
	Athlete                *Athlete // nil if the row was not read, as Reading
	Reading                *Reading
	Failure                *Failure // nil if the row was read
}

// Lines returns the rows in the order of the list.
func (r *Report) Lines() []Line { return r.lines }

func newReport(list ListRef, tool string, rows int) *Report {
	return &Report{Schema: Schema, List: list, Tool: tool, Rows: rows, at: map[string]int{},
		Athletes: []Athlete{}, Short: []Standing{}, Meets: []Standing{}, Undecided: []Standing{}, NotRead: []Failure{}}
}

// add adds a row that was read.
func (r *Report) add(line Line, athlete string, one Reading) {
	k := Key(athlete)
	if _, ok := r.at[k]; !ok {
		r.at[k] = len(r.Athletes)
		r.Athletes = append(r.Athletes, Athlete{Athlete: athlete, Screens: []Screen{}})
	}
	a := &r.Athletes[r.at[k]]
	a.Readings = append(a.Readings, one)
	r.lines = append(r.lines, line)
}

// Report returns the report of all rows; name and data are those of the list.
func (s *Session) Report(name string, data []byte) *Report {
	sum := sha256.Sum256(data)
	r := newReport(ListRef{name, hex.EncodeToString(sum[:])}, s.opt.Version, len(s.rows))
	r.Notes = slices.Clone(s.list.Notes)
	for _, w := range s.rows {
		filing := &w.question.Filing
		line := Line{Number: w.row.Line, Condition: filing.Condition, Side: w.question.Side, State: filing.State}
		if w.err != nil {
			if errors.Is(w.err, context.Canceled) {
				r.Stopped = true
			}
			f := w.failure(w.err, s.opt.Door)
			line.Failure = &f
			r.NotRead, r.lines = append(r.NotRead, f), append(r.lines, line)
			continue
		}
		r.Read++
		if w.remembered {
			r.Remembered++
		}
		if w.keepErr != nil {
			r.NotKept = append(r.NotKept, w.failure(w.keepErr, s.opt.Door))
		}
		line.Side = w.result.Entry.Side
		r.add(line, w.row.Athlete, w.reading())
	}
	r.complete(s.opt)
	return r
}

// complete derives standings, screens, notes and cautions from the readings.
func (r *Report) complete(opt Options) {
	line := map[int]*Line{}
	for i := range r.lines {
		line[r.lines[i].Number] = &r.lines[i]
	}
	for i := range r.Athletes {
		a := &r.Athletes[i]
		for k := range a.Readings {
			l := line[a.Readings[k].Line]
			l.Athlete, l.Reading = a, &a.Readings[k]
		}
		a.markCounting()
		if !opt.NoScreen {
			a.screen(opt.Coverage, opt.Seed, &r.Notes)
		}
		r.addStandings(a)
	}
	r.gatherNotes()
	var all []change.Reading
	for _, a := range r.Athletes {
		for i := range a.Readings {
			all = append(all, a.Readings[i].asChange())
		}
	}
	if note := change.MissedNote(all, "the angles are those of the frames"); note != "" {
		r.Notes = slices.Insert(r.Notes, 0, note)
	}
	r.Cautions = r.cautions()
}

func (w *rowWork) reading() Reading {
	notes := w.notes
	if notes == nil {
		notes = []string{}
	}
	nameless := *w.result.Reading
	nameless.Take.Name = "" // a file is often named after a person; the line and the content say which it is
	f := &w.question.Filing
	return Reading{Line: w.row.Line, Day: w.day, Session: f.Session, Condition: f.Condition, Variant: f.Variant, State: f.State, Side: w.result.Entry.Side,
		Rater: f.Rater, Setup: f.Setup, Note: f.Note, Remembered: w.remembered, Kept: w.kept, Notes: notes, Reading: &nameless}
}

// Kept is a reading that was kept in a journal, for a report of what a session came to.
type Kept struct {
	ID      int64 // in the journal
	Athlete string
	Filing  Filing
	Side    string
	Reading *reading.Reading
}

// Gather returns the report of readings that were kept, in their order, as if they were the
// rows of a list.
func Gather(kept []Kept, opt Options) *Report {
	r := newReport(ListRef{}, opt.Version, len(kept))
	for i := range kept {
		k := &kept[i]
		read := *k.Reading
		read.Take.Name = "" // as in Report: it is often named after a person
		f := &k.Filing
		r.Read++
		r.add(Line{Number: i + 1, Condition: f.Condition, Side: k.Side, State: f.State}, k.Athlete,
			Reading{Line: i + 1, Day: f.Day, Session: f.Session, Condition: f.Condition, Variant: f.Variant, State: f.State, Side: k.Side,
				Rater: f.Rater, Setup: f.Setup, Note: f.Note, Kept: k.ID, Notes: []string{}, Reading: &read})
	}
	r.complete(opt)
	return r
}

// Failure is a row that was not read or not kept, and why.
type Failure struct {
	Line    int    `json:"line"`
	Athlete string `json:"athlete"`
	Reason  string `json:"reason"`
	Do      string `json:"do"` // what to do; "" if unknown
}

// failure returns the Failure of the row for an error, as door words it.
func (w *rowWork) failure(err error, door fault.Door) Failure {
	f := Failure{Line: w.row.Line, Athlete: w.row.Athlete}
	if errors.Is(err, context.Canceled) {
		f.Reason, f.Do = "it was not reached before the work was stopped", "give the same command again"
		return f
	}
	reason, do := fault.Words(err, door)
	f.Reason, f.Do = w.withoutFiles(text.OneLine(reason)), w.withoutFiles(text.OneLine(do))
	return f
}

// withoutFiles replaces the names of the row's files by their columns: a report is passed
// on, and files are often named after people.
func (w *rowWork) withoutFiles(s string) string {
	files := &w.question.Files
	type file struct{ column, path, written string }
	of := []file{{"take", files.Take, w.row.Get("take")}, {"marks", files.Marks, w.row.Get("marks")}, {"lens", files.Lens, w.row.Get("lens")}}
	for k, written := range SeedFiles(w.row.Get("seeds")) {
		switch {
		case k >= len(files.Seeds):
		case len(files.Seeds) == 1:
			of = append(of, file{"seeds", files.Seeds[k], written})
		default:
			of = append(of, file{fmt.Sprintf("seeds, file %d", k+1), files.Seeds[k], written})
		}
	}
	slices.SortStableFunc(of, func(a, b file) int { return len(b.path) - len(a.path) }) // one name may be a part of another
	for _, f := range of {
		if f.path == "" {
			continue
		}
		for _, name := range []string{f.path, f.written, filepath.Base(f.path)} {
			if name != "" {
				s = strings.ReplaceAll(s, strconv.Quote(name), "(under "+f.column+")")
			}
		}
		s = strings.ReplaceAll(s, f.path, "(under "+f.column+")")
	}
	return s
}
