package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/squad"
	"ecart/vision/sticker"
)

// squadJob is one row of the list on its way to a reading.
type squadJob struct {
	row   *squad.Row
	o     followOptions // its keep says how the reading is filed
	q     reading.Request
	seeds []sticker.Seed // where stickers are followed
	sum   string         // SHA-256 of the take, "" where it cannot be read
	key   rowKey         // of all that the reading depends on, none where sum is ""

	made  *squadMemory // what came of it
	again bool         // it is remembered from an earlier run
	day   string       // on which the take was made, "" where nobody says
	notes []string
	kept  int64 // its number in the journal
	apart error // why it was not kept
	err   error // why it was not read
}

// note takes down what was said about the row on the way, each thing once.
func (j *squadJob) note(text string) {
	for _, line := range strings.Split(text, "\n") {
		if line = oneLine(line); line != "" && !strings.Contains(strings.Join(j.notes, "\n"), line) {
			j.notes = append(j.notes, line)
		}
	}
}

// prepare reads what the row says and the small files it names; the take's own
// bytes are only counted up.
func (j *squadJob) prepare(ctx context.Context, o *squadOptions, folder string) error {
	if j.row.Err != nil {
		return j.row.Err
	}
	if err := j.options(o, folder); err != nil {
		return err
	}
	if err := j.o.keep.checkFiling(false); err != nil {
		return err
	}
	var err error
	if j.o.marks != "" {
		j.q, err = j.o.request(io.Discard)
	} else {
		j.q, j.seeds, err = j.o.prepare(io.Discard)
	}
	if err != nil {
		return err
	}
	if j.seeds == nil && j.o.track == nil && j.o.at == atPeak {
		return &inputError{fmt.Sprintf("the row asks for the peak of one frame's marks, %q", j.o.marks), "write the file under \"seeds\", or the CSV of 'ecart follow' under \"marks\""}
	}
	var said strings.Builder
	if err := j.o.keep.applyRater(ctx, &j.q, &j.o.raw, &said); err != nil {
		return err
	}
	j.note(said.String())
	if j.sum, err = takeSum(ctx, j.o.take); err == nil {
		j.key, err = j.fingerprint()
	} else if ctx.Err() == nil {
		err = nil // opening the take says better what is wrong with it
	}
	return err
}

// options are the flags with the row's own cells over them.
func (j *squadJob) options(o *squadOptions, folder string) error {
	j.o = followOptions{readOptions: o.readOptions}
	j.o.keep.athlete = j.row.Athlete
	if j.row.Get("skill") != "" || j.row.Get("measure") != "" {
		j.o.skill, j.o.measure = "", ""
	}
	for column, to := range map[string]*string{
		"take": &j.o.take, "marks": &j.o.marks, "seeds": &j.o.seeds, "colours": &j.o.colours, "at": &j.o.at,
		"skill": &j.o.skill, "measure": &j.o.measure, "side": &j.o.side, "leg": &j.o.leg, "facing": &j.o.facing,
		"distance": &j.o.distance, "focal": &j.o.focal, "stature": &j.o.stature, "lens": &j.o.lens,
		"condition": &j.o.keep.condition, "state": &j.o.keep.state, "session": &j.o.keep.session,
		"rater": &j.o.keep.rater, "setup": &j.o.keep.setup, "note": &j.o.keep.note,
	} {
		if cell := j.row.Get(column); cell != "" {
			*to = cell
		}
	}
	for _, path := range []*string{&j.o.take, &j.o.marks, &j.o.seeds} {
		*path = inFolder(folder, *path)
	}
	if j.row.Get("lens") != "" {
		j.o.lens = inFolder(folder, j.o.lens)
	}
	for _, word := range []*string{&j.o.side, &j.o.leg, &j.o.facing, &j.o.at, &j.o.keep.condition, &j.o.keep.state} {
		*word = strings.ToLower(*word)
	}
	camera, oblique := strings.ToLower(j.row.Get("camera")), j.row.Get("oblique")
	if camera != "" || oblique != "" { // the two say one thing, so that neither is left from the flags
		j.o.camera, j.o.obliqueGiven, j.o.oblique = camera, false, 0
	}
	if oblique != "" {
		v, ok := decimal(oblique)
		if !ok {
			return &inputError{fmt.Sprintf("oblique %q is no number of degrees", oblique), "write it as 3 or 10"}
		}
		j.o.oblique, j.o.obliqueGiven = v, true
	}
	if day := j.row.Get("day"); day != "" {
		var err error
		if j.o.keep.day, err = listDay(day); err != nil {
			return err
		}
	}
	return nil
}

// inFolder is a path as it is meant in a folder.
func inFolder(folder, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(folder, path)
}

// listDay reads a day as people write it into a list: 2026-03-21 or 21.3.2026. With
// strokes it could be the day or the month that comes first.
func listDay(cell string) (string, error) {
	for _, form := range []string{time.DateOnly, "2.1.2006"} {
		if d, err := time.Parse(form, cell); err == nil {
			return d.Format(time.DateOnly), nil
		}
	}
	hint := "write it as year, month and day: 2026-03-21"
	if _, err := time.Parse("2/1/2006", cell); err == nil {
		return "", &inputError{fmt.Sprintf("the day %q does not say which is the month", cell), hint}
	}
	return "", &inputError{fmt.Sprintf("the day %q is no date", cell), hint}
}

// takeSum is the SHA-256 of a file, in hexadecimal.
func takeSum(ctx context.Context, path string) (string, error) {
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

// asColumns are the flags that an error may speak of and a row has as columns.
var asColumns = regexp.MustCompile(`(^|[ (])--(` + strings.Join(squad.Columns, "|") + `)\b`)

// inColumns words an error about flags as one about the row.
func inColumns(err error) (reason, hint string) {
	reason = asColumns.ReplaceAllString(oneLine(inFlags(err).Error()), "$1$2")
	var h interface{ Hint() string }
	if errors.As(inFlags(err), &h) {
		hint = asColumns.ReplaceAllString(oneLine(h.Hint()), "$1$2")
	}
	return reason, hint
}

// file is the entry under which the journal keeps the reading.
func (j *squadJob) file() journal.Entry {
	e := j.made.Entry
	k := &j.o.keep
	e.Athlete, e.Day, e.Session, e.State, e.Condition = k.athlete, j.day, k.session, k.state, k.condition
	e.Rater, e.Setup, e.Note = k.rater, k.setup, k.note
	return e
}
