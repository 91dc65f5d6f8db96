package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/strict"
	"ecart/vision/take"
)

// explained is what a sheet explains: the reading at path, with its frame and the
// entry of the rule book.
func (o *sheetOptions) explained(ctx context.Context, s streams, path, from string, f *pflag.FlagSet) (*sheet.Input, error) {
	what := "reading or marks file"
	data, err := readSmall(what, path)
	if err != nil {
		return nil, err
	}
	var head struct {
		Schema string `json:"schema"`
	}
	isCSV := strings.HasSuffix(strings.ToLower(path), ".csv")
	if err := json.Unmarshal(data, &head); err != nil && !isCSV {
		return nil, &inputError{fmt.Sprintf("%q is neither a reading nor a marks file: %v", path, err), "give what 'ecart read --json' printed, or a marks file; 'ecart read --help' shows its form"}
	}
	switch {
	case isCSV || head.Schema == reading.MarksSchema:
		return o.readNow(ctx, s, path, from)
	case head.Schema == reading.Schema:
		return o.readBefore(ctx, s, path, from, data, f)
	}
	return nil, &inputError{fmt.Sprintf("%q has the schema %q, and a sheet explains %s or %s", path, head.Schema, reading.Schema, reading.MarksSchema),
		"give what 'ecart read --json' printed, or a marks file"}
}

// readNow reads a marks file.
func (o *sheetOptions) readNow(ctx context.Context, s streams, path, from string) (*sheet.Input, error) {
	one := o.readOptions
	one.marks, one.take = path, from
	if from == "" {
		return nil, &inputError{fmt.Sprintf("the marks %q are of a take, and none was given", path), "give it with --take TAKE"}
	}
	q, err := one.request(s.err)
	if err != nil {
		return nil, err
	}
	covers, err := one.covers(q)
	if err != nil {
		return nil, err
	}
	r, frame, err := readTake(ctx, s, &q, one.track, from, one.at)
	if err != nil {
		return nil, err
	}
	return o.filled(r, frame, covers(r.Take.Frame), q.Marks.Level)
}

// readBefore finds the take of a reading again.
func (o *sheetOptions) readBefore(ctx context.Context, s streams, path, from string, data []byte, f *pflag.FlagSet) (*sheet.Input, error) {
	if err := noReadingFlags(f, fmt.Sprintf("%q", path)); err != nil {
		return nil, err
	}
	r, err := parseReading(path, data)
	if err != nil {
		return nil, err
	}
	covers, err := o.cover.still(figure.MarksOf(r), r.Measure)
	if err != nil {
		return nil, err
	}
	frame, err := o.frameOf(ctx, s, r, from, []string{filepath.Dir(path)})
	if err != nil {
		return nil, err
	}
	return o.filled(r, frame, covers, nil)
}

// noReadingFlags refuses flags that say how a frame is read, where it has been.
func noReadingFlags(f *pflag.FlagSet, what string) error {
	var flags []string
	made := pflag.NewFlagSet("", pflag.ContinueOnError)
	addReadingFlags(made, &readOptions{})
	made.String("at", "", "")
	f.Visit(func(x *pflag.Flag) {
		if x.Name != "rules" && made.Lookup(x.Name) != nil {
			flags = append(flags, "--"+x.Name)
		}
	})
	if len(flags) == 0 {
		return nil
	}
	return &inputError{fmt.Sprintf("%s says how a frame is read, and %s has been read", strings.Join(flags, ", "), what), "leave it out, or give the marks file in place of the reading"}
}

// parseReading reads what printJSON wrote of a reading.
func parseReading(path string, data []byte) (*reading.Reading, error) {
	var r reading.Reading
	if err := strict.JSON(data, &r, strict.Options{Partial: true}); err != nil {
		return nil, &inputError{fmt.Sprintf("the reading %q cannot be read: %v", path, err), "give what 'ecart read --json' printed, as it was printed"}
	}
	if len(r.Marks) == 0 || r.Take.WidthPx <= 0 {
		return nil, &inputError{fmt.Sprintf("the reading %q has no marks or no take", path), "give what 'ecart read --json' printed, as it was printed"}
	}
	return &r, nil
}

// filled puts together what a sheet explains.
func (o *sheetOptions) filled(r *reading.Reading, frame *take.Frame, covers []figure.Cover, level *[2]reading.Pixel) (*sheet.Input, error) {
	if err := o.cover.inside(frame.Bounds().Size()); err != nil {
		return nil, err
	}
	in := &sheet.Input{Reading: r, Picture: large.Of(frame), Who: o.who, Covers: covers, Level: level}
	if r.Skill == nil {
		return in, nil
	}
	lib, err := library(o.rules)
	if err != nil {
		return nil, err
	}
	if k, err := lib.Skill(r.Skill.Rulebook + "/" + r.Skill.Name); err == nil && sameFigures(r, k) {
		in.Rule = &k
	}
	return in, nil
}

// sameFigures says whether a rule book's entry is the one that a reading was held
// against, as far as its figures go.
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

// frameOf is the frame of a reading: of the take named, or of the one with the same
// content in the folders that --in names and below, else in folders.
func (o *sheetOptions) frameOf(ctx context.Context, s streams, r *reading.Reading, from string, folders []string) (*take.Frame, error) {
	if from == "" {
		deep := len(o.folders) > 0
		if deep {
			folders = o.folders
		}
		if len(folders) == 0 {
			return nil, &inputError{fmt.Sprintf("the take of the reading was not named: it has the SHA-256 %s, and was called %q", r.Take.SHA256, r.Take.Name),
				"give it with --take TAKE, or a folder that it is in with --in FOLDER"}
		}
		var err error
		if from, err = findTake(ctx, s, r, folders, deep); err != nil {
			return nil, err
		}
	}
	defer s.working(fmt.Sprintf("opening %q", from))()
	t, err := take.Open(ctx, from)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	sum, err := t.SHA256(ctx)
	if err != nil {
		return nil, err
	}
	info := t.Info()
	if r.Take.SHA256 != "" && sum != r.Take.SHA256 {
		return nil, &inputError{fmt.Sprintf("%q is not the take that was read: its SHA-256 begins with %.12s, and that of the reading with %.12s", from, sum, r.Take.SHA256),
			"give the take that was read, or its folder with --in FOLDER"}
	}
	if r.Take.Frame < 0 || r.Take.Frame >= info.Frames {
		return nil, &inputError{fmt.Sprintf("the reading is of frame %d, and %q has %d frames", r.Take.Frame, from, info.Frames), "give the take that was read"}
	}
	return t.Frame(ctx, r.Take.Frame)
}

// takeEndings are those of files that may be takes.
var takeEndings = []string{".mp4", ".mov", ".m4v", ".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}

// findTake looks through folders, and with deep those in them, for the take of a
// reading by its SHA-256.
func findTake(ctx context.Context, s streams, r *reading.Reading, folders []string, deep bool) (string, error) {
	if r.Take.SHA256 == "" {
		return "", &inputError{"the reading does not say which take it is of", "give it with --take TAKE"}
	}
	defer s.working("looking for the take")()
	found, looked := "", 0
	for _, dir := range folders {
		err := eachTake(ctx, dir, deep, func(p, sum string) error {
			looked++
			if sum == r.Take.SHA256 {
				found = p
				return fs.SkipAll
			}
			return nil
		})
		if err != nil {
			return "", err
		}
		if found != "" {
			return found, nil
		}
	}
	return "", &inputError{fmt.Sprintf("the take with the SHA-256 %s, once called %q, is not in %s (%s looked at)", r.Take.SHA256, r.Take.Name, quoted(folders), counted(looked, "file", "files")),
		"give it with --take TAKE, or the folder it was moved to with --in FOLDER"}
}

func quoted(names []string) string {
	var out []string
	for _, n := range names {
		out = append(out, fmt.Sprintf("%q", n))
	}
	return strings.Join(out, ", ")
}

// eachTake calls fn for every file of a folder that may be a take, with its SHA-256,
// "" where it cannot be read; deep looks into the folders in it too. A folder in it
// that may not be looked into is left out.
func eachTake(ctx context.Context, dir string, deep bool, fn func(path, sum string) error) error {
	return filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil && p == dir:
			return &inputError{fmt.Sprintf("the folder %q cannot be looked through: %v", dir, output.Cause(err)), "check its name and its permissions"}
		case err != nil:
			return nil
		case d.IsDir() && p != dir && !deep:
			return fs.SkipDir
		case !d.Type().IsRegular() || !slices.Contains(takeEndings, strings.ToLower(filepath.Ext(p))):
			return nil
		}
		sum, _ := session.FileSum(ctx, p)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return fn(p, sum)
	})
}
