package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// rowReader reads the rows of a list with the options of 'ecart read' and 'ecart follow'.
// It is what package session needs of the command line.
type rowReader struct {
	options *readOptions // what a row does not say
	folder  string       // of the list, where its files are
}

// question is a session.Reader.
func (r rowReader) question(ctx context.Context, row *session.Row) (session.Question, error) {
	one := &rowOptions{followOptions: followOptions{readOptions: *r.options}}
	err := one.fill(row, r.folder)
	if err == nil {
		err = one.prepare(ctx)
	}
	q := session.Question{
		Files: session.Files{Take: one.take, Marks: one.marks, Seeds: one.seeds, Lens: one.lens},
		Filing: session.Filing{Day: one.keep.day, Session: one.keep.session, State: one.keep.state, Condition: one.keep.condition,
			Rater: one.keep.rater, Setup: one.keep.setup, Note: one.keep.note},
		Side: one.side, At: one.at, Measure: one.asked.Measure.Name, Leg: one.leg, MarksOrigin: one.marksOrigin(),
		StatureMm: one.asked.StatureMm, Stature: one.stature, Notes: one.notes,
		Read: func(ctx context.Context, progress func(done, of int)) (*session.Result, error) {
			result, err := one.read(ctx, progress)
			return result, inColumns(err)
		},
	}
	if err == nil {
		q.DependsOn, err = one.dependsOn()
	}
	return q, inColumns(err)
}

// rowOptions are what one row asks: the flags with the row's cells over them.
type rowOptions struct {
	followOptions // its keep says how the reading is filed
	asked         reading.Request
	seedPoints    []sticker.Seed // nil if nothing is followed
	notes         []string
}

// fill puts the row's cells over the flags.
func (o *rowOptions) fill(row *session.Row, folder string) error {
	o.keep.athlete = row.Athlete
	if row.Get("skill") != "" || row.Get("measure") != "" {
		o.skill, o.measure = "", ""
	}
	for column, to := range map[string]*string{
		"take": &o.take, "marks": &o.marks, "seeds": &o.seeds, "colours": &o.colours, "at": &o.at,
		"skill": &o.skill, "measure": &o.measure, "side": &o.side, "leg": &o.leg, "facing": &o.facing,
		"distance": &o.distance, "focal": &o.focal, "stature": &o.stature, "lens": &o.lens,
		"condition": &o.keep.condition, "state": &o.keep.state, "session": &o.keep.session,
		"rater": &o.keep.rater, "setup": &o.keep.setup, "note": &o.keep.note,
	} {
		if cell := row.Get(column); cell != "" {
			*to = cell
		}
	}
	for _, path := range []*string{&o.take, &o.marks, &o.seeds} {
		*path = inFolder(folder, *path)
	}
	if row.Get("lens") != "" {
		o.lens = inFolder(folder, o.lens)
	}
	for _, word := range []*string{&o.side, &o.leg, &o.facing, &o.at, &o.keep.condition, &o.keep.state} {
		*word = strings.ToLower(*word)
	}
	camera, oblique := strings.ToLower(row.Get("camera")), row.Get("oblique")
	if camera != "" || oblique != "" { // the two say one thing, so that neither is left from the flags
		o.camera, o.obliqueGiven, o.oblique = camera, false, 0
	}
	if oblique != "" {
		v, ok := decimal(oblique)
		if !ok {
			return &inputError{fmt.Sprintf("oblique %q is no number of degrees", oblique), "write it as 3 or 10"}
		}
		o.oblique, o.obliqueGiven = v, true
	}
	day, err := row.Day()
	if day != "" {
		o.keep.day = day
	}
	return err
}

// inFolder is a path that is relative to a folder.
func inFolder(folder, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(folder, path)
}

// prepare reads the small files and builds the request.
func (o *rowOptions) prepare(ctx context.Context) error {
	if err := o.keep.checkFiling(false); err != nil {
		return err
	}
	var err error
	if o.marks != "" {
		o.asked, err = o.request(io.Discard)
	} else {
		o.asked, o.seedPoints, err = o.followOptions.prepare(io.Discard)
	}
	if err != nil {
		return err
	}
	if o.seedPoints == nil && o.track == nil && o.at == atPeak {
		return &inputError{fmt.Sprintf("the row asks for the peak of one frame's marks, %q", o.marks), "write the file under \"seeds\", or the CSV of 'ecart follow' under \"marks\""}
	}
	var said strings.Builder
	err = o.keep.applyRater(ctx, &o.asked, &o.raw, &said)
	o.notes = append(o.notes, said.String())
	return err
}

// marksOrigin is equal for two rows if they start from the same marks.
func (o *rowOptions) marksOrigin() string {
	if o.seedPoints != nil && o.colours == "" {
		return fmt.Sprint(o.seedPoints)
	}
	return string(o.raw.file) + o.colours
}

// dependsOn is everything that the reading depends on beside the take and the program.
func (o *rowOptions) dependsOn() ([]byte, error) {
	return json.Marshal(struct {
		Colours, At        string
		File, Lens, Priors []byte
		Followed           bool
		Marks              *reading.Marks
		Request            journal.Request
	}{o.colours, o.at, o.raw.file, o.raw.lens, o.raw.priors, o.seedPoints != nil, o.asked.Marks, journal.NewRequest(&o.asked, o.raw.lens, o.raw.priors)})
}

// read opens the take and makes the reading.
func (o *rowOptions) read(ctx context.Context, progress func(done, of int)) (*session.Result, error) {
	t, err := take.Open(ctx, o.take)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	if err := tellTake(ctx, &o.asked, t); err != nil {
		return nil, err
	}
	info := t.Info()
	var r *reading.Reading
	notes := slices.Clone(info.Warnings)
	if o.seedPoints != nil {
		o.raw.marks = nil // which were the seeds: the marks are those of the frame
		r, notes, err = o.readFollowed(ctx, t, notes, progress)
	} else {
		r, notes, err = o.readFrame(ctx, t, notes)
	}
	if err != nil {
		return nil, err
	}
	unfiled := keepOptions{}
	e, err := unfiled.entry("", &o.asked, r, o.raw)
	if err != nil {
		return nil, err
	}
	return &session.Result{Entry: *e, TakeDay: dayOf(info), Notes: notes, Reading: r}, nil
}

// readFrame reads one frame, or the peak of a track that was followed before.
func (o *rowOptions) readFrame(ctx context.Context, t *take.Take, notes []string) (*reading.Reading, []string, error) {
	var said strings.Builder
	done := func() {}
	r, err := readMoment(streams{err: &said}, t, &o.asked, o.track, o.at, &done)
	if err != nil {
		return nil, nil, err
	}
	notes = append(notes, said.String())
	r, _, damage, err := frameOf(ctx, t, &o.asked, r)
	if damage != "" {
		notes = append(notes, damage)
	}
	return r, notes, err
}

// readFollowed follows the stickers and reads the peak. If the clip is cut off, the peak
// is read of what was followed until then.
func (o *rowOptions) readFollowed(ctx context.Context, t *take.Take, notes []string, progress func(done, of int)) (*reading.Reading, []string, error) {
	if err := seedsIn(t, o.asked.Marks); err != nil {
		return nil, nil, err
	}
	if err := served(&o.asked, o.seedPoints); err != nil {
		return nil, nil, err
	}
	track, err := followTake(ctx, t, o.seedPoints, o.asked.Marks.Facing, func(done, of, _ int) { progress(done, of) }, nil)
	var known *sticker.Error
	if cut := errors.As(err, &known) && known.Problem == sticker.Cut && len(track.Frames) > 0; err != nil && !cut {
		return nil, nil, err
	}
	r, peakErr := readPeak(&o.asked, track, readout(t.Info().Orientation))
	if peakErr != nil {
		return nil, nil, peakErr
	}
	for _, jump := range r.Peak.Jumps {
		notes = append(notes, jump.String()+": something else may have been followed there")
	}
	if d := damagedTrack("the clip", track); d != nil {
		notes = append(notes, d.Error())
	}
	if err != nil {
		notes = append(notes, fmt.Sprintf("%v; what is told is from frames %d to %d", err, track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame))
	}
	return r, notes, nil
}

// columnError is an error about flags, worded for the columns of a list.
type columnError struct {
	inputError
	err error
}

func (e *columnError) Unwrap() error { return e.err }

// columnFlags matches the flags that are columns of a list too.
var columnFlags = regexp.MustCompile(`(^|[ (])--(` + strings.Join(session.Columns, "|") + `)\b`)

// inColumns words an error about flags for the columns of a list.
func inColumns(err error) error {
	if err == nil {
		return nil
	}
	c := &columnError{err: err}
	c.fact = columnFlags.ReplaceAllString(oneLine(inFlags(err).Error()), "$1$2")
	var h interface{ Hint() string }
	if errors.As(inFlags(err), &h) {
		c.hint = columnFlags.ReplaceAllString(oneLine(h.Hint()), "$1$2")
	}
	return c
}
