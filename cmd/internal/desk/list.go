package desk

import (
	"context"
	"fmt"
	"path/filepath"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
)

// ListAsk is a squad's list and the options for all of its rows; a cell of a row takes precedence.
type ListAsk struct {
	Path   string
	Ask    Ask
	Filing Filing
	Keep   bool       // every reading is to be kept
	Afresh bool       // every row is read, even if a reading of it is remembered
	Door   fault.Door // words what is wrong with a row; the zero value is fault.NoDoor
}

// ListEvents is called with the number of rows before a list is read, and returns what receives
// its events, and what is called at the end, which may be nil. A nil ListEvents receives nothing.
type ListEvents func(rows int) (hear func(session.Event), end func())

// List is a list that is to be read.
type List struct {
	Data []byte // of the file
	list *session.List
	ask  ListAsk
}

// OpenList reads the list and checks what all rows share before any take is opened.
func (d *Desk) OpenList(a ListAsk) (*List, error) {
	data, err := ReadSmall("list", a.Path)
	if err != nil {
		return nil, err
	}
	list, err := session.Parse(a.Path, data)
	if err != nil {
		return nil, err
	}
	probe := a.Ask
	if probe.Skill == "" && probe.Measure == "" {
		if !list.Has("skill", "measure") {
			return nil, fault.New(fmt.Sprintf(`the list %q has neither a column "skill" nor a column "measure", and no flag names one`, a.Path),
				"add the column, or give "+fault.Option("skill")+" NAME for all rows ("+fault.Operation("list the skills")+" lists them)")
		}
		probe.Measure = "hip-split" // a placeholder: each row names its own
		if lib, err := d.Library(); err == nil {
			d.WarnRules(lib)
		}
	}
	if _, err := d.PrepareWith(probe, &reading.Marks{Schema: reading.MarksSchema}); err != nil {
		return nil, err
	}
	filing := a.Filing
	filing.Athlete = "any"
	return &List{data, list, a}, d.CheckFiling(filing, a.Keep)
}

// ReadList reads the takes of a list. If ctx ends, the session has those read until then.
func (d *Desk) ReadList(ctx context.Context, l *List, events ListEvents) *session.Session {
	memory, err := session.OpenMemory()
	if err != nil {
		d.note("what is read cannot be remembered for a second run: %v", err)
	}
	opt := session.Options{Reader: d.RowReader(l.ask.Ask, l.ask.Filing, filepath.Dir(l.ask.Path)), Memory: memory, Afresh: l.ask.Afresh, Version: Build(),
		Coverage: l.ask.Ask.Confidence, Seed: l.ask.Ask.Seed, Door: l.ask.Door}
	if events != nil {
		hear, end := events(len(l.list.Rows))
		opt.Progress = hear
		if end != nil {
			defer end()
		}
	}
	return session.Run(ctx, l.list, opt)
}

// KeepList keeps the readings of a list in the journal.
func (d *Desk) KeepList(ctx context.Context, run *session.Session) {
	run.Keep(ctx, func() (*journal.Journal, error) { return d.OpenJournal(journal.Options{Create: true}) })
}

// Report returns the report of a list that was read.
func (l *List) Report(run *session.Session) *session.Report {
	return run.Report(filepath.Base(l.ask.Path), l.Data)
}

// ListRow is a row of a squad's list, as it is written.
type ListRow struct {
	Line    int
	Ask     Ask      // its files as they are written
	Filing  Filing   // its athlete is the pseudonym if the list has pseudonyms
	Seeds   []string // marks files of several frames with what is followed
	Colours string   // those of the stickers that are followed; nothing is if there are neither
	Err     error    // what is wrong with the row, nil if nothing is
}

// ListRows reads a squad's list, but none of the files that it names; notes say what of the list is
// not used. Errors call options by the names of columns.
func ListRows(name string, data []byte) (rows []ListRow, notes []string, err error) {
	l, err := session.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	for i := range l.Rows {
		from := &l.Rows[i]
		row := ListRow{Line: from.Line, Err: from.Err}
		if row.Err == nil {
			row.Seeds, row.Colours, row.Err = FillRow(from, &row.Ask, &row.Filing)
		}
		row.Filing.Athlete = from.Athlete
		rows = append(rows, row)
	}
	return rows, l.Notes, nil
}
