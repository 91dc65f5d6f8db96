package session

import (
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"ecart/cmd/internal/output"
)

// List is a session's list.
type List struct {
	Columns []string // the known ones, in the order of the list
	Rows    []Row    // without empty ones
	Notes   []string // what was ignored or assumed
}

// Row is one take of one athlete.
type Row struct {
	Line    int    // in the file, from 1
	Athlete string // the pseudonym if the list has that column, else the name
	Err     error  // what is wrong with the row itself, or nil
	cells   map[string]string
}

// Get returns the cell in a column, "" if it is empty or missing.
func (r *Row) Get(column string) string { return r.cells[column] }

// Day returns the day in the row as 2006-01-02, "" if it has none. 21.3.2026 is accepted
// too. With slashes either number could be the month, so that form is an error.
func (r *Row) Day() (string, error) {
	cell := r.Get("day")
	if cell == "" {
		return "", nil
	}
	for _, form := range []string{time.DateOnly, "2.1.2006"} {
		if d, err := time.Parse(form, cell); err == nil {
			return d.Format(time.DateOnly), nil
		}
	}
	const hint = "write it as year, month and day: 2026-03-21"
	if _, err := time.Parse("2/1/2006", cell); err == nil {
		return "", newError(hint, "the day %q does not say which is the month", cell)
	}
	return "", newError(hint, "the day %q is no date", cell)
}

// Has reports whether the list has any of the columns.
func (l *List) Has(columns ...string) bool {
	return slices.ContainsFunc(columns, func(c string) bool { return slices.Contains(l.Columns, c) })
}

// Key returns the same value for two spellings of one name: case and spaces do not matter.
func Key(name string) string {
	return norm.NFC.String(cases.Fold().String(clean(name)))
}

func clean(name string) string { return strings.Join(strings.Fields(norm.NFC.String(name)), " ") }

// Parse reads a list of takes; name is its name in errors.
func Parse(name string, data []byte) (*List, error) { return parse(name, data, checkTakeColumns) }

// Names returns the athletes of a list, each once, in its order. The list need not have takes.
func Names(name string, data []byte) (names []string, err error) {
	l, err := parse(name, data, checkNameColumns)
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for i := range l.Rows {
		if who := l.Rows[i].Athlete; who != "" && !seen[Key(who)] {
			names, seen[Key(who)] = append(names, who), true
		}
	}
	if names == nil {
		return nil, newError(`write names under "athlete" or "pseudonym"`, "the list %q names no athlete", name)
	}
	return names, nil
}

// parse reads a list. checkColumns returns an error for a list without the columns that it needs.
func parse(name string, data []byte, checkColumns func(name string, cells, columns []string) error) (*List, error) {
	text, note, err := decode(name, data)
	if err != nil {
		return nil, err
	}
	l := &List{}
	if note != "" {
		l.Notes = append(l.Notes, note)
	}
	comma, text := delimiter(text, Columns)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	var columns []string
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, badQuote(name, err)
		}
		if blank(cells) {
			continue
		}
		if columns == nil {
			var notes []string
			if columns, notes, err = readHeads(name, cells); err != nil {
				return nil, err
			}
			if err := checkColumns(name, cells, columns); err != nil {
				return nil, err
			}
			l.Notes = append(l.Notes, notes...)
			for _, c := range columns {
				if c != "" {
					l.Columns = append(l.Columns, c)
				}
			}
			continue
		}
		line, _ := r.FieldPos(0)
		l.Rows = append(l.Rows, newRow(line, columns, cells))
	}
	if columns == nil || len(l.Rows) == 0 {
		return nil, newError("write a row for each take", "the list %q has no rows", name)
	}
	l.setNames()
	return l, nil
}

func badQuote(name string, err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return newError("put text with quotation marks in it between quotation marks, and write each of its own twice", "the list %q has a stray quotation mark in line %d", name, p.Line)
	}
	return newError(asUTF8, "the list %q cannot be read: %v", name, err)
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" })
}

func newRow(line int, columns, cells []string) Row {
	r := Row{Line: line, cells: map[string]string{}}
	for i, c := range cells {
		c = output.Uncell(strings.TrimSpace(c))
		switch {
		case i >= len(columns):
			if c != "" && r.Err == nil {
				r.Err = newError("put text that has the delimiter in it between quotation marks", "the row has %d cells and the heads are %d", len(cells), len(columns))
			}
		case columns[i] != "" && c != "":
			r.cells[columns[i]] = c
			if strings.ContainsFunc(c, unicode.IsControl) && columns[i] != "note" && r.Err == nil {
				r.Err = newError("write it on one line", "the cell under %q has a line's end or a tab in it", columns[i])
			}
		}
	}
	r.cells["athlete"], r.cells["pseudonym"] = clean(r.cells["athlete"]), clean(r.cells["pseudonym"])
	if r.Err == nil {
		r.Err = r.check()
	}
	return r
}

// Unmarked reports whether the row has neither marks, seeds nor colours.
func (r *Row) Unmarked() bool {
	return !slices.ContainsFunc(sources, func(s string) bool { return r.Get(s) != "" })
}

// check finds what is wrong with the row by itself.
func (r *Row) check() error {
	var given []string
	for _, s := range sources {
		if r.Get(s) != "" {
			given = append(given, s)
		}
	}
	switch {
	case r.Get("athlete") == "" && r.Get("pseudonym") == "":
		return newError("write a name or a pseudonym under \"athlete\"", "the row names no athlete")
	case r.Get("take") == "":
		return newError("write the file of the still or the clip under \"take\"", "the row names no take")
	case len(given) == 0: // whether that is wrong depends on the machine: see Unmarked
	case len(given) > 1:
		return newError("leave one of them: marks are read on their frame, and seeds and colours are followed through the clip", "the row has both %s and %s", given[0], given[1])
	case given[0] != "marks" && r.Get("at") != "" && !strings.EqualFold(r.Get("at"), "peak"):
		return newError("leave the cell empty, or give a marks file of that frame under \"marks\"", "the row asks for %q of a clip that is followed, which is read at its peak", r.Get("at"))
	}
	return nil
}

// setNames sets each row's Athlete. If the list has pseudonyms, they are shown and kept in
// place of names, and each belongs to one name.
func (l *List) setNames() {
	shown := map[string]string{} // by key: the first spelling
	names := map[string]*Row{}   // by the pseudonym's key: the first row with it
	pseudonyms := l.Has("pseudonym")
	for i := range l.Rows {
		r := &l.Rows[i]
		r.Athlete = r.Get("athlete")
		if pseudonyms {
			r.Athlete = r.Get("pseudonym")
			if r.Err == nil {
				r.Err = pseudonym(r, names)
			}
		}
		k := Key(r.Athlete)
		if shown[k] == "" {
			shown[k] = r.Athlete
		}
		r.Athlete = shown[k]
	}
}

// pseudonym returns an error for a row without a pseudonym, since it would show a name, and
// for one whose pseudonym belongs to another name in an earlier row. The error does not contain the name.
func pseudonym(r *Row, names map[string]*Row) error {
	k := Key(r.Get("pseudonym"))
	if k == "" {
		return newError("write one under \"pseudonym\": the name is not used where others have one", "the row has no pseudonym")
	}
	first, ok := names[k]
	if !ok {
		names[k] = r
		return nil
	}
	if a, b := Key(first.Get("athlete")), Key(r.Get("athlete")); a != b && a != "" && b != "" {
		return newError("give two athletes two pseudonyms, or write the name alike", "the pseudonym %q stands for another name in line %d", r.Get("pseudonym"), first.Line)
	}
	return nil
}
