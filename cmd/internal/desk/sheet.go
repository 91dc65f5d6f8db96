package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"image"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/strict"
)

// SheetAsk is the input of the page that explains a reading.
type SheetAsk struct {
	Ask              // how a marks file is read
	Cover   Cover    // of the picture
	Who     string   // the athlete's name on the page; "" is the name in the journal
	Folders []string // which are searched, with their subfolders, for takes by their content
}

// Source is a file that a page explains: a reading, or marks.
type Source struct {
	Path    string
	Reading *reading.Reading // nil if the file is marks or a track
}

// ReadSource reads a file that is a reading, marks or a track.
func ReadSource(path string) (*Source, error) {
	data, err := ReadSmall("reading or marks file", path)
	if err != nil {
		return nil, err
	}
	var head struct {
		Schema string `json:"schema"`
	}
	isTrack := strings.HasSuffix(strings.ToLower(path), ".csv")
	if err := json.Unmarshal(data, &head); err != nil && !isTrack {
		return nil, fault.New(fmt.Sprintf("%q is neither a reading nor a marks file: %v", path, err), "give what "+fault.Operation("save the reading as JSON")+" printed, or a marks file; "+fault.Operation("show the form of a marks file")+" shows its form")
	}
	switch {
	case isTrack || head.Schema == reading.MarksSchema:
		return &Source{Path: path}, nil
	case head.Schema == reading.Schema:
		r, err := parseReading(path, data)
		return &Source{path, r}, err
	}
	return nil, fault.New(fmt.Sprintf("%q has the schema %q, and a sheet explains %s or %s", path, head.Schema, reading.Schema, reading.MarksSchema),
		"give what "+fault.Operation("save the reading as JSON")+" printed, or a marks file")
}

// parseReading parses what 'ecart read --json' printed.
func parseReading(path string, data []byte) (*reading.Reading, error) {
	var r reading.Reading
	if err := strict.JSON(data, &r, strict.Options{Partial: true}); err != nil {
		return nil, fault.New(fmt.Sprintf("the reading %q cannot be read: %v", path, err), "give what "+fault.Operation("save the reading as JSON")+" printed, as it was printed")
	}
	if len(r.Marks) == 0 || r.Take.WidthPx <= 0 {
		return nil, fault.New(fmt.Sprintf("the reading %q has no marks or no take", path), "give what "+fault.Operation("save the reading as JSON")+" printed, as it was printed")
	}
	return &r, nil
}

// Explain returns what the page of a file's reading shows, and the reading as package change
// compares it; n numbers several of them. from is the take; "" if that of a reading is to
// be found by its content.
func (d *Desk) Explain(ctx context.Context, a SheetAsk, src *Source, from string, n int) (*sheet.Input, change.Reading, error) {
	in, err := d.explain(ctx, a, src, from)
	if err != nil {
		return nil, change.Reading{}, err
	}
	return in, unfiled(in.Reading, n), nil
}

// unfiled returns a reading as package change compares it, without day and set-up, so that no error
// is taken to be shared; n numbers several of them. Compare needs a day; this one is a
// placeholder.
func unfiled(r *reading.Reading, n int) change.Reading {
	c := change.FromReading(r)
	c.ID, c.Day = int64(-1-n), time.Date(1, 1, 1+n, 1, 0, 0, 0, time.UTC)
	return c
}

func (d *Desk) explain(ctx context.Context, a SheetAsk, src *Source, from string) (*sheet.Input, error) {
	if src.Reading == nil {
		return d.readToExplain(ctx, a, src.Path, from)
	}
	covers, err := a.Cover.Still(figure.MarksOf(src.Reading), src.Reading.Measure)
	if err != nil {
		return nil, err
	}
	frame, err := d.frameOf(ctx, src.Reading, from, a.Folders, []string{filepath.Dir(src.Path)})
	if err != nil {
		return nil, err
	}
	return d.Fill(a, src.Reading, large.Of(frame), covers, nil)
}

// readToExplain is explain for a marks file or a track, which it reads.
func (d *Desk) readToExplain(ctx context.Context, a SheetAsk, path, from string) (*sheet.Input, error) {
	if from == "" {
		return nil, fault.New(fmt.Sprintf("the marks %q are of a take, and none was given", path), "give it with "+fault.Option("take")+" TAKE")
	}
	ask := a.Ask
	ask.Marks, ask.Take = path, from
	q, err := d.Prepare(ask)
	if err != nil {
		return nil, err
	}
	covers, err := a.Cover.Frames(q)
	if err != nil {
		return nil, err
	}
	t, err := d.Open(ctx, from)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	name := t.Info().Name
	for _, w := range t.Info().Warnings {
		d.note("%s: %s", name, w)
	}
	result, err := d.Read(ctx, t, q)
	if err != nil {
		return nil, err
	}
	if result.Damage != "" {
		d.note("%s: %s", name, result.Damage)
	}
	return d.Fill(a, result.Reading, large.Of(result.Frame), covers(result.Reading.Take.Frame), q.Request.Marks.Level)
}

// ExplainKept is Explain for reading id of the journal.
func (d *Desk) ExplainKept(ctx context.Context, a SheetAsk, id int64, from string) (*sheet.Input, change.Reading, error) {
	var none change.Reading
	var e *journal.Entry
	if err := d.InJournal(journal.Options{Read: true}, func(j *journal.Journal) (err error) {
		e, err = j.Show(ctx, id)
		return err
	}); err != nil {
		return nil, none, err
	}
	q, err := Again(e)
	if err != nil {
		return nil, none, err
	}
	r, err := e.Parse()
	if err != nil {
		return nil, none, err
	}
	covers, err := a.Cover.Still(q.Marks.Marks, r.Measure)
	if err != nil {
		return nil, none, err
	}
	frame, err := d.frameOf(ctx, r, from, a.Folders, nil)
	if err != nil {
		return nil, none, err
	}
	in, err := d.Fill(a, r, large.Of(frame), covers, q.Marks.Level)
	if err != nil {
		return nil, none, err
	}
	if in.Who == "" {
		in.Who = e.Athlete
	}
	in.Day = e.Day
	if e.State != journal.Unknown {
		in.State = e.State
	}
	day, err := time.Parse(time.DateOnly, e.Day)
	if err != nil {
		return nil, none, fmt.Errorf("reading %d: %w", e.ID, err)
	}
	c := change.FromReading(r)
	c.ID, c.Day, c.Session, c.Side, c.State, c.Condition, c.Variant = e.ID, day, e.Session, e.Side, e.State, e.Condition, e.Variant
	c.Rater, c.Setup, c.Lens = e.Rater, e.Setup, string(e.Request.Lens) // one file is one lens
	return in, c, nil
}

// Fill returns what the page that explains a reading shows. picture is its frame, covers are
// those that a asks for, and level is a level line or nil.
func (d *Desk) Fill(a SheetAsk, r *reading.Reading, picture image.Image, covers []figure.Cover, level *[2]reading.Pixel) (*sheet.Input, error) {
	if r.Proposed {
		return nil, fault.New("the marks of the reading are proposed and not confirmed, and no page explains such a reading", "look at the marks, and delete \"proposed\" from each that is right")
	}
	if err := a.Cover.Inside(picture.Bounds().Size()); err != nil {
		return nil, err
	}
	in, err := d.sheetInput(r, picture, level)
	if err != nil {
		return nil, err
	}
	in.Who, in.Covers = a.Who, covers
	return in, nil
}

// sheetInput adds the rule book's entry to what it is given.
func (d *Desk) sheetInput(r *reading.Reading, picture image.Image, level *[2]reading.Pixel) (*sheet.Input, error) {
	in := &sheet.Input{Reading: r, Picture: picture, Level: level}
	judged := r.Judged()
	if r.Skill == nil && judged == nil {
		return in, nil
	}
	lib, err := d.Library()
	if err != nil {
		return nil, err
	}
	if judged != nil {
		if k, err := lib.Skill(judged.Rule.Rulebook + "/" + judged.Rule.Name); err == nil && sameRatios(judged.Rule, k) {
			in.Rule = &k
		}
		return in, nil
	}
	if k, err := lib.Skill(r.Skill.Rulebook + "/" + r.Skill.Name); err == nil && sameFigures(r, k) {
		in.Rule = &k
	}
	return in, nil
}

// sameFigures reports whether a rule book's entry still has the figures against which a reading
// was judged.
func sameFigures(r *reading.Reading, k rulebook.Skill) bool {
	if r.Verdict == nil || k.AskedDeg != r.Skill.ThresholdDeg || k.AtMost != r.Skill.AtMost || len(k.Bands) != len(r.Verdict.Bands) {
		return false
	}
	for i, b := range k.Bands {
		if v := r.Verdict.Bands[i]; v.FromDeg != b.OverDeg || v.Deduction != b.Deduction {
			return false
		}
	}
	return true
}

// sameRatios is sameFigures for a rule about a ratio of lengths.
func sameRatios(j *reading.RatioRule, k rulebook.Skill) bool {
	return k.Ratio != "" && slices.EqualFunc(j.Bands, k.Bands, func(v reading.RatioBand, b rulebook.Band) bool {
		return v.Over == b.OverRatio && v.Deduction == b.Deduction
	})
}

// SheetName returns the file name of a sheet from its kind, whom it shows, the day and the reader,
// as far as they are known. Only letters and digits of each are kept.
func SheetName(kind, who, day, reader string) string {
	var parts []string
	for _, s := range []string{kind, who, day, reader} {
		s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), "-")
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, "-") + ".html"
}

// Beside says how two readings differ, and how they are shown side by side.
type Beside struct {
	Difference *change.Difference // the second minus the first
	Says       []string           // whether they differ, by how much, what cancels
	RangeDeg   [2]float64         // of both rulers

	// Parts are the parts of the two frames, px, that show both athletes equally large; Equal is
	// false if their sizes are not known from the marks. Parts may reach beyond the frames.
	Parts [2]image.Rectangle
	Equal bool
}

// CompareUnfiled compares two readings whose days and set-ups are not known. It is an error if they
// are of different measures or skills.
func CompareUnfiled(a, b *reading.Reading, opt sheet.Options) (*Beside, error) {
	if err := sheet.Alike(a, b); err != nil {
		return nil, err
	}
	d, err := change.Compare([]change.Reading{unfiled(a, 0)}, []change.Reading{unfiled(b, 1)}, a.Coverage)
	if err != nil {
		return nil, err
	}
	out := &Beside{Difference: d, RangeDeg: sheet.CommonRange(a, b)}
	var sizes [2]image.Point
	for i, r := range [2]*reading.Reading{a, b} {
		sizes[i] = image.Pt(r.Take.WidthPx, r.Take.HeightPx)
	}
	out.Parts, out.Equal = sheet.EquallyLarge([2]*reading.Reading{a, b}, sizes)
	out.Says, err = sheet.PairWords(d, opt)
	return out, err
}
