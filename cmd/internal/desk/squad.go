package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/geometry/uncertainty"
	"ecart/vision/pose/model"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// RowReader returns the reader of the rows of a list, whose files are in a folder. a and f are
// the values of cells that are empty. Errors call options by the names of columns.
func (d *Desk) RowReader(a Ask, f Filing, folder string) session.Reader {
	return func(ctx context.Context, row *session.Row) (session.Question, error) {
		one := &listRow{ask: a, filing: f}
		one.desk = d.with(func(line string) { one.notes = append(one.notes, fault.Bare(line)) })
		err := one.fill(row, folder)
		if err == nil {
			err = one.prepare(ctx)
		}
		q := session.Question{
			Files: session.Files{Take: one.ask.Take, Marks: one.ask.Marks, Seeds: one.seeds, Lens: one.ask.Lens},
			Filing: session.Filing{Day: one.filing.Day, Session: one.filing.Session, State: one.filing.State, Condition: one.filing.Condition, Variant: one.filing.Variant,
				Rater: one.filing.Rater, Setup: one.filing.Setup, Note: one.filing.Note},
			Side: one.ask.Side, At: one.ask.At, Leg: one.ask.Leg, Stature: one.ask.Stature, Notes: slices.Clone(one.notes),
			Read: one.read,
		}
		if one.asked != nil {
			q.Measure, q.StatureMm, q.MarksOrigin = one.asked.Request.Measure.Name, one.asked.Request.StatureMm, one.marksOrigin()
		}
		if err == nil {
			q.DependsOn, err = one.dependsOn()
		}
		return q, err
	}
}

// listRow is what one row of a list asks for.
type listRow struct {
	desk       *Desk
	ask        Ask
	filing     Filing
	seeds      []string       // marks files with points on stickers, one for each frame
	colours    string         // of the stickers; nothing is followed if there are neither
	asked      *Asked         // nil until it is prepared
	seedPoints []sticker.Seed // nil if nothing is followed
	proposes   bool           // it has no marks: they are proposed
	notes      []string
}

// fill replaces the values for all rows by the row's cells.
func (o *listRow) fill(row *session.Row, folder string) (err error) {
	if o.seeds, o.colours, err = FillRow(row, &o.ask, &o.filing); err != nil {
		return err
	}
	o.proposes = row.Unmarked()
	for _, path := range []*string{&o.ask.Take, &o.ask.Marks} {
		*path = inFolder(folder, *path)
	}
	for k := range o.seeds {
		o.seeds[k] = inFolder(folder, o.seeds[k])
	}
	if row.Get("lens") != "" {
		o.ask.Lens = inFolder(folder, o.ask.Lens)
	}
	return nil
}

// checkMarks returns an error if a row has no marks and none can be proposed.
func checkMarks(row *session.Row) error {
	if !row.Unmarked() || CanPropose() == nil {
		return nil
	}
	return fault.New("the row does not say where the marks come from",
		"write a file under \"marks\" or \"seeds\", or the stickers' colours under \"colours\"; or give 'make pose' once, after which marks are proposed")
}

// FillRow replaces the values for all rows by a row's cells; its files stay as they are written.
// seeds, marks files of several frames, and colours say what is followed; both are empty for nothing.
func FillRow(row *session.Row, a *Ask, f *Filing) (seeds []string, colours string, err error) {
	seeds = session.SeedFiles(row.Get("seeds"))
	f.Athlete = row.Athlete
	if row.Get("skill") != "" || row.Get("measure") != "" {
		a.Skill, a.Measure = "", ""
	}
	if err := checkMarks(row); err != nil {
		return nil, "", err
	}
	for column, to := range map[string]*string{
		"take": &a.Take, "marks": &a.Marks, "colours": &colours, "at": &a.At,
		"skill": &a.Skill, "measure": &a.Measure, "side": &a.Side, "leg": &a.Leg, "facing": &a.Facing,
		"distance": &a.Distance, "focal": &a.Focal, "stature": &a.Stature, "lens": &a.Lens,
		"condition": &f.Condition, "variant": &f.Variant, "state": &f.State, "session": &f.Session,
		"rater": &f.Rater, "setup": &f.Setup, "note": &f.Note,
	} {
		if cell := row.Get(column); cell != "" {
			*to = cell
		}
	}
	for _, word := range []*string{&a.Side, &a.Leg, &a.Facing, &a.At, &f.Condition, &f.Variant, &f.State} {
		*word = strings.ToLower(*word)
	}
	camera, oblique := strings.ToLower(row.Get("camera")), row.Get("oblique")
	if camera != "" || oblique != "" { // both say how square the camera is, so that one cell replaces both values
		a.Camera, a.ObliqueGiven, a.Oblique = camera, false, 0
	}
	if oblique != "" {
		v, ok := Decimal(oblique)
		if !ok {
			return seeds, colours, fault.New(fmt.Sprintf("%s %q is no number of degrees", fault.Option("oblique"), oblique), "write it as 3 or 10")
		}
		a.Oblique, a.ObliqueGiven = v, true
	}
	day, err := row.Day()
	if day != "" {
		f.Day = day
	}
	return seeds, colours, err
}

// inFolder resolves a path relative to a folder.
func inFolder(folder, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(folder, path)
}

// prepare reads the small files and builds the request.
func (o *listRow) prepare(ctx context.Context) error {
	if err := o.desk.CheckFiling(o.filing, false); err != nil {
		return err
	}
	silent := o.desk.with(func(string) {}) // warnings of rule books are given once, for all rows
	var err error
	switch {
	case o.ask.Marks != "":
		o.asked, err = silent.Prepare(o.ask)
	case o.proposes:
		o.asked, err = silent.PrepareWith(o.ask, &reading.Marks{Schema: reading.MarksSchema})
	default:
		o.asked, o.seedPoints, err = silent.PrepareFollow(o.ask, o.seeds, o.colours)
	}
	if err != nil {
		return err
	}
	if !o.proposes && o.seedPoints == nil && o.asked.Track == nil && o.asked.At == AtPeak {
		return fault.New(fmt.Sprintf("the row asks for the peak of one frame's marks, %q", o.ask.Marks), "write the file under \"seeds\", or the CSV that "+fault.Operation("follow stickers")+" wrote under \"marks\"")
	}
	return o.desk.ApplyRater(ctx, o.asked, o.filing.Rater)
}

// marksOrigin returns a key that is equal for two rows if they start from the same marks.
func (o *listRow) marksOrigin() string {
	if o.seedPoints != nil && o.colours == "" {
		return fmt.Sprint(o.seedPoints)
	}
	return string(o.asked.Sources.Given) + o.colours
}

// dependsOn returns everything that the reading depends on, except the take and the program.
func (o *listRow) dependsOn() ([]byte, error) {
	s := &o.asked.Sources
	network := ""
	if o.proposes {
		network = model.Sum
	}
	return json.Marshal(struct {
		Network            string `json:",omitempty"`
		Colours, At        string
		File, Lens, Priors []byte
		Followed           []sticker.Seed `json:",omitempty"`
		Marks              *reading.Marks
		Request            journal.Request
	}{network, o.colours, o.asked.At, s.Given, s.Lens, s.Priors, o.seedPoints, o.asked.Request.Marks, journal.NewRequest(&o.asked.Request, s.Lens, s.Priors)})
}

// read opens the take and makes the reading.
func (o *listRow) read(ctx context.Context, progress func(done, of int)) (*session.Result, error) {
	o.notes = nil // earlier notes are in the question
	t, err := o.desk.Open(ctx, o.ask.Take)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	o.notes = append(o.notes, t.Info().Warnings...)
	if o.proposes {
		return o.readProposed(ctx, t, progress)
	}
	var r *reading.Reading
	if o.seedPoints != nil {
		r, err = o.readFollowed(ctx, t, progress)
	} else {
		r, err = o.readFrame(ctx, t)
	}
	if err != nil {
		return nil, err
	}
	e, err := Entry(Filing{}, o.asked, r)
	if err != nil {
		return nil, err
	}
	return &session.Result{Entry: *e, TakeDay: DayOf(t.Info()), Notes: o.notes, Reading: r}, nil
}

// readProposed reads a row without marks from proposed ones. The result is shown, and neither judged nor kept.
func (o *listRow) readProposed(ctx context.Context, t *take.Take, progress func(done, of int)) (*session.Result, error) {
	p, err := o.desk.Propose(ctx, t, o.asked, Athlete{}, func(part float64) { progress(int(100*part), 100) })
	if err != nil {
		return nil, err
	}
	if err := p.Faces(o.asked); err != nil {
		return nil, err
	}
	o.asked.Request.Marks = p.Marks
	r, err := o.readFrame(ctx, t)
	if err != nil {
		return nil, err
	}
	at := ""
	if !t.Info().Still {
		at = fmt.Sprintf(" in frame %d", p.Marks.Frame)
	}
	angle, plus := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	return &session.Result{Notes: o.notes, Proposed: &session.Proposed{
		TakeSHA256: r.Take.SHA256,
		Fact:       fmt.Sprintf("%s: %s° ± %s%s", reading.ProposedWords, angle, plus, at),
		Hint:       "write the marks with " + fault.Operation("propose the marks of", r.Measure) + ", look at them, and name the file under \"marks\" once they are confirmed",
	}}, nil
}

// readFrame reads one frame, or the peak of a track that was followed before.
func (o *listRow) readFrame(ctx context.Context, t *take.Take) (*reading.Reading, error) {
	result, err := o.desk.Read(ctx, t, o.asked)
	if err != nil {
		return nil, err
	}
	if result.Damage != "" {
		o.notes = append(o.notes, result.Damage)
	}
	return result.Reading, nil
}

// readFollowed follows the stickers and reads the peak. If the clip is cut off, the peak of
// the part before that is read.
func (o *listRow) readFollowed(ctx context.Context, t *take.Take, progress func(done, of int)) (*reading.Reading, error) {
	q := o.asked
	if err := q.DescribeTake(ctx, t); err != nil {
		return nil, err
	}
	if err := q.CheckSeeds(t); err != nil {
		return nil, err
	}
	track, err := Follow(ctx, t, o.seedPoints, q.Request.Marks.Facing, func(done, of, _ int) { progress(done, of) }, nil)
	if err != nil && !CutOff(err, track) {
		return nil, err
	}
	q.Track = track
	r, peakErr := q.ReadPeak(ctx)
	if peakErr != nil {
		return nil, peakErr
	}
	if words := LeftOut(o.seedPoints, track); words != "" {
		o.notes = append(o.notes, words)
	}
	for _, jump := range r.Peak.Jumps {
		o.notes = append(o.notes, jump.String()+": something else may have been followed there")
	}
	if d := DamagedTrack("the clip", track); d != nil {
		o.notes = append(o.notes, d.Error())
	}
	if err != nil {
		o.notes = append(o.notes, fmt.Sprintf("%v; what is told is from frames %d to %d", err, track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame))
	}
	return r, nil
}
