package journal

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/strict"
)

// Imported is what an import did.
type Imported struct {
	Added     int        // readings that were new
	Same      int        // readings that were already there and equal
	Raters    int        // raters that were new
	Conflicts []Conflict // what was already there and differs: it was left as it is
}

// Conflict is a reading or a rater that differs from the one in the journal.
type Conflict struct {
	ID      int64  // of the reading here; 0 for a rater
	Who     string // the athlete, or the rater
	Day     string
	Differs []string // the properties that differ
}

// Import reads an export. It imports all of it in one transaction, or nothing if anything
// is wrong. A reading that is already there is left as it is, so that importing twice
// changes nothing. Readings that are there and differ are returned as conflicts.
func (j *Journal) Import(ctx context.Context, r io.Reader) (Imported, error) {
	const doing = "nothing was imported"
	var out Imported
	err := j.write(ctx, doing, func(tx *sql.Tx) error {
		in := importer{today: j.today(), dec: decoder(r),
			onEntry: func(e *Entry, r *reading.Reading) error { return out.entry(ctx, tx, j.path, e, r) },
			onRater: func(r Rater) error { return out.rater(ctx, tx, r) }}
		return in.run()
	})
	if err != nil {
		return Imported{}, err
	}
	return out, nil
}

// CheckImport checks an export as Import does, without a journal. It returns the error that
// Import would.
func CheckImport(r io.Reader, now func() time.Time) error {
	in := importer{today: lastDay(now()), dec: decoder(r), onEntry: func(*Entry, *reading.Reading) error { return nil }, onRater: func(Rater) error { return nil }}
	return in.run()
}

// decoder returns a JSON decoder that skips a byte-order mark.
func decoder(r io.Reader) *json.Decoder {
	b := bufio.NewReader(r)
	if mark, err := b.Peek(3); err == nil && bytes.Equal(mark, []byte("\xef\xbb\xbf")) {
		b.Discard(3)
	}
	return json.NewDecoder(b)
}

// importer reads an export and passes on every entry and rater that passed all checks.
type importer struct {
	today   string
	dec     *json.Decoder
	onEntry func(*Entry, *reading.Reading) error
	onRater func(Rater) error
	schema  string
	n       int
}

var errForm = errors.New("it is not in the form that an export has")

func notExported(err error) error {
	return fault.New(fmt.Sprintf("the import cannot be read: %v; nothing was imported", err), "give the JSON that "+fault.Operation("export the journal")+" wrote, as it was written").Because(err)
}

func (in *importer) run() error {
	if err := in.expect('{'); err != nil {
		return err
	}
	for in.dec.More() {
		name, err := in.dec.Token()
		if err != nil {
			return notExported(err)
		}
		switch name {
		case "schema":
			if err := in.dec.Decode(&in.schema); err != nil {
				return notExported(err)
			}
			if in.schema != Schema {
				return fault.New(fmt.Sprintf("the import has the schema %q, and %q is read here; nothing was imported", in.schema, Schema), "import it with the version of ecart that wrote it")
			}
		case "raters":
			err = in.each(in.rater)
		case "readings":
			err = in.each(in.entry)
		default:
			err = notExported(fmt.Errorf("%q is not known here", name))
		}
		if err != nil {
			return err
		}
	}
	if _, err := in.dec.Token(); err != nil {
		return notExported(err)
	}
	if _, err := in.dec.Token(); !errors.Is(err, io.EOF) {
		return notExported(errors.New("something follows its end"))
	}
	if in.schema == "" {
		return notExported(errForm)
	}
	return nil
}

func (in *importer) expect(want json.Delim) error {
	t, err := in.dec.Token()
	if err != nil {
		return notExported(err)
	}
	if t != want {
		return notExported(errForm)
	}
	return nil
}

// each calls one for every element of an array. The schema must come before it.
func (in *importer) each(one func() error) error {
	if in.schema == "" {
		return notExported(errors.New("its schema does not come first"))
	}
	if err := in.expect('['); err != nil {
		return err
	}
	for in.dec.More() {
		if err := one(); err != nil {
			return err
		}
	}
	_, err := in.dec.Token()
	if err != nil {
		return notExported(err)
	}
	return nil
}

// decode reads the next element of an array. An unknown key is an error, since its value
// would be lost.
func (in *importer) decode(v any) error {
	var raw json.RawMessage
	if err := in.dec.Decode(&raw); err != nil {
		return err
	}
	return strict.JSON(raw, v, strict.Options{Partial: true})
}

func (in *importer) entry() error {
	in.n++
	bad := func(fact, hint string) error {
		return fault.New(fmt.Sprintf("reading %d of the import: %s; nothing was imported", in.n, fact), hint)
	}
	var e Entry
	if err := in.decode(&e); err != nil {
		return bad(err.Error(), "give the JSON that "+fault.Operation("export the journal")+" wrote, as it was written")
	}
	uid := e.UID
	r, err := e.complete(in.today)
	if err != nil {
		var h interface{ Hint() string }
		if errors.As(err, &h) {
			return bad(err.Error(), h.Hint())
		}
		return bad(err.Error(), "give the JSON that "+fault.Operation("export the journal")+" wrote, as it was written")
	}
	if uid != e.UID {
		return bad("its marks, its frame or its measure were changed after the export", "export it again from the journal it came from")
	}
	if _, err := time.Parse(time.RFC3339, e.KeptAt); err != nil {
		return bad(fmt.Sprintf("kept_at is no time but %q", e.KeptAt), "give the JSON that "+fault.Operation("export the journal")+" wrote, as it was written")
	}
	for i := range e.Former {
		if err := e.Former[i].complete(); err != nil {
			return bad("a former reading: "+err.Error(), "give the JSON that "+fault.Operation("export the journal")+" wrote, as it was written")
		}
	}
	return in.onEntry(&e, r)
}

// entry inserts a new entry. It counts one that is already there, or adds a conflict.
func (out *Imported) entry(ctx context.Context, tx *sql.Tx, path string, e *Entry, r *reading.Reading) error {
	old, err := show(ctx, tx, path, "r.uid = ?", e.UID)
	var damaged *Damaged
	switch {
	case errors.As(err, &damaged):
		out.Conflicts = append(out.Conflicts, Conflict{damaged.ID, damaged.Athlete, damaged.Day,
			[]string{fmt.Sprintf("being damaged: erase reading %d, and import again", damaged.ID)}})
		return nil
	case errors.Is(err, ErrAbsent):
		out.Added++
		_, err := insert(ctx, tx, e, r)
		return err
	case err != nil:
		return err
	}
	if differs := differences(old, e); len(differs) > 0 {
		out.Conflicts = append(out.Conflicts, Conflict{old.ID, old.Athlete, old.Day, differs})
	} else {
		out.Same++
	}
	return nil
}

func (in *importer) rater() error {
	var r Rater
	if err := in.decode(&r); err != nil {
		return notExported(err)
	}
	if err := r.complete(in.today); err != nil {
		return err
	}
	return in.onRater(r)
}

func (out *Imported) rater(ctx context.Context, tx *sql.Tx, r Rater) error {
	old, err := findRater(ctx, tx, r.Name)
	switch {
	case errors.Is(err, ErrAbsent):
		out.Raters++
		return putRater(ctx, tx, r)
	case err != nil:
		return err
	case key(old.Name) != key(r.Name) || old.Day != r.Day || old.SDPx != r.SDPx || old.Freedom != r.Freedom || old.LongSidePx != r.LongSidePx || string(old.Details) != string(r.Details):
		out.Conflicts = append(out.Conflicts, Conflict{Who: old.Name, Day: old.Day, Differs: []string{fmt.Sprintf("the rater's figure (%g px of %s there, %g px of %s here)", old.SDPx, old.Day, r.SDPx, r.Day)}})
	}
	return nil
}
