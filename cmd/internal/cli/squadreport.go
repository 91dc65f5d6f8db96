package cli

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
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/squad"
)

// squadReport is what came of a list, and its JSON.
type squadReport struct {
	Schema     string         `json:"schema"`
	List       squadList      `json:"list"`
	Tool       string         `json:"tool"`
	Rows       int            `json:"rows"`
	Read       int            `json:"read"`
	Remembered int            `json:"remembered"` // of those read, from an earlier run
	Stopped    bool           `json:"stopped,omitempty"`
	Athletes   []squadAthlete `json:"athletes"`
	Short      []squadStand   `json:"short"` // by the readings that count
	Meets      []squadStand   `json:"meets"`
	Undecided  []squadStand   `json:"undecided"`
	NotRead    []squadFailure `json:"not_read"`
	NotKept    []squadFailure `json:"not_kept,omitempty"`
	Notes      []string       `json:"notes"`
	Cautions   []string       `json:"cautions"`

	jobs []*squadJob
}

type squadList struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// squadAthlete is what was read of one athlete.
type squadAthlete struct {
	Athlete  string         `json:"athlete"`
	Readings []squadReading `json:"readings"`
	Screens  []squadScreen  `json:"screens"`
}

// squadReading is one row that was read.
type squadReading struct {
	Line       int              `json:"line"`
	Day        string           `json:"day,omitempty"`
	Session    string           `json:"session,omitempty"`
	Condition  string           `json:"condition,omitempty"`
	State      string           `json:"state,omitempty"`
	Side       string           `json:"side,omitempty"`
	Rater      string           `json:"rater,omitempty"`
	Setup      string           `json:"setup,omitempty"`
	Note       string           `json:"note,omitempty"`
	Counts     bool             `json:"counts"` // it is in the condition nearest to the skill that was read
	Remembered bool             `json:"remembered"`
	Kept       int64            `json:"kept_as,omitempty"` // its number in the journal
	Notes      []string         `json:"notes"`
	Reading    *reading.Reading `json:"reading"`
}

// squadFailure is a row of which nothing came, and why.
type squadFailure struct {
	Line    int    `json:"line"`
	Athlete string `json:"athlete"`
	Reason  string `json:"reason"`
	Do      string `json:"do"`
}

// report gathers what came of all rows.
func (w *squadWork) report(name string, data []byte) *squadReport {
	sum := sha256.Sum256(data)
	r := &squadReport{Schema: squadSchema, List: squadList{name, hex.EncodeToString(sum[:])}, Tool: version(), Rows: len(w.jobs),
		Athletes: []squadAthlete{}, Short: []squadStand{}, Meets: []squadStand{}, Undecided: []squadStand{}, NotRead: []squadFailure{}, Notes: slices.Clone(w.list.Notes), jobs: w.jobs}
	at := map[string]int{}
	for _, j := range w.jobs {
		if j.err != nil {
			if errors.Is(j.err, context.Canceled) {
				r.Stopped = true
			}
			r.NotRead = append(r.NotRead, j.failure(j.err))
			continue
		}
		r.Read++
		if j.again {
			r.Remembered++
		}
		if j.apart != nil {
			r.NotKept = append(r.NotKept, j.failure(j.apart))
		}
		k := squad.Key(j.row.Athlete)
		if _, ok := at[k]; !ok {
			at[k] = len(r.Athletes)
			r.Athletes = append(r.Athletes, squadAthlete{Athlete: j.row.Athlete, Screens: []squadScreen{}})
		}
		a := &r.Athletes[at[k]]
		a.Readings = append(a.Readings, j.reading())
	}
	for i := range r.Athletes {
		a := &r.Athletes[i]
		a.count()
		a.screen(w.o.confidence, w.o.seed, &r.Notes)
		r.sort(a)
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
	return r
}

func (j *squadJob) reading() squadReading {
	notes := j.notes
	if notes == nil {
		notes = []string{}
	}
	bare := *j.made.r
	bare.Take.Name = "" // a file is often called by a name; the line and the content say which it is
	return squadReading{Line: j.row.Line, Day: j.day, Session: j.o.keep.session, Condition: j.o.keep.condition, State: j.o.keep.state, Side: j.made.Entry.Side,
		Rater: j.o.keep.rater, Setup: j.o.keep.setup, Note: j.o.keep.note, Remembered: j.again, Kept: j.kept, Notes: notes, Reading: &bare}
}

func (j *squadJob) failure(err error) squadFailure {
	reason, do := inColumns(err)
	reason, do = j.withoutFiles(reason), j.withoutFiles(do)
	if errors.Is(err, context.Canceled) {
		reason, do = "it was not come to before the work was stopped", "give the same command again"
	}
	return squadFailure{j.row.Line, j.row.Athlete, reason, do}
}

// withoutFiles speaks of the row's files by their columns: a list is passed on as a
// figure or a table, and files are often called by a name.
func (j *squadJob) withoutFiles(text string) string {
	for _, f := range []struct{ column, path string }{{"take", j.o.take}, {"marks", j.o.marks}, {"seeds", j.o.seeds}, {"lens", j.o.lens}} {
		if f.path == "" {
			continue
		}
		for _, name := range []string{f.path, j.row.Get(f.column), filepath.Base(f.path)} {
			if name != "" {
				text = strings.ReplaceAll(text, strconv.Quote(name), "(under "+f.column+")")
			}
		}
		text = strings.ReplaceAll(text, f.path, "(under "+f.column+")")
	}
	return text
}

// outcome is the error with which the command ends, nil where every row was read
// and kept.
func (r *squadReport) outcome(stopped bool) error {
	named := func(fs []squadFailure) string {
		const most = 6
		var out []string
		for _, f := range fs[:min(most, len(fs))] {
			out = append(out, fmt.Sprintf("line %d", f.Line))
		}
		if len(fs) > most {
			out = append(out, "...")
		}
		return strings.Join(out, ", ")
	}
	switch n, k := len(r.NotRead), len(r.NotKept); {
	case stopped && n > 0:
		return &halted{fmt.Sprintf("stopped with %d of %d rows read, which are remembered", r.Read, r.Rows), "give the same command again: it goes on where it was stopped"}
	case n > 0:
		return &failure{fact: fmt.Sprintf("%d of %d rows were not read: %s", n, r.Rows, named(r.NotRead)), hint: "each is named in the result with its reason; give the same command again, and only what is new or changed is read"}
	case k > 0:
		return &failure{fact: fmt.Sprintf("%d of %d readings were not kept: %s", k, r.Read, named(r.NotKept)), hint: "each is named in the result with its reason; give the same command again, and nothing is read or kept twice"}
	}
	return nil
}

// squadScreen is the screen of one athlete's measure, side and day.
type squadScreen struct {
	Side string `json:"side,omitempty"`
	Day  string `json:"day,omitempty"` // "" where nobody says; the list's rows are then screened together
	*change.Screen
}
