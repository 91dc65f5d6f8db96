package takes

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

// passOptions are the flags of follow and propose that go with --passes.
type passOptions struct {
	on       bool
	athletes string
	names    []string
}

func (o *passOptions) add(f *pflag.FlagSet) {
	f.BoolVar(&o.on, "passes", false, "several athletes come by, or one leaps again and again: cut the clip into its passes and read each leap; --out is then a folder")
	f.StringVar(&o.athletes, "athletes", "", "with --passes, who comes by, in order: `NAMES` are such as Wren,Lio,Iris; - stands for a pass that is of no athlete")
}

// check reads the names and returns an error for flags that do not go with --passes.
func (o *passOptions) check(out, figure string) (err error) {
	if !o.on {
		if o.athletes != "" {
			return fault.New("--athletes names those who come by, and --passes was not given", "give --passes, or leave it out")
		}
		return nil
	}
	if figure != "" {
		return fault.New("--figure is of one reading, and --passes was given", "leave it out: --out FOLDER holds a figure of each leap")
	}
	if out == "" {
		return fault.New("no folder was named for the passes", "give --out FOLDER; it will hold the marks and a figure of each leap, and a list for 'ecart squad'")
	}
	o.names, err = desk.ParseAthletes(o.athletes)
	return err
}

// passFolder is the folder into which the passes of a clip are written.
type passFolder struct {
	files        *output.Set
	folder, stem string // of the clip
	list         string
	take         string // as the list names it
	isNew        bool   // the folder was not there before
}

// close removes the folder if it was made and nothing was written into it.
func (p *passFolder) close() {
	if p.isNew {
		_ = os.Remove(p.folder) // fails if something is in it
	}
}

// listOfPasses is the form of the list; people fill in missing names.
var listOfPasses = output.Sheet()

// newPassFolder makes the folder if it is missing, and checks that the list can be written.
func newPassFolder(files *output.Set, folder, take string) (*passFolder, error) {
	err := os.Mkdir(folder, 0o777)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, output.CannotWrite(folder, err)
	}
	p := &passFolder{files: files, folder: folder, isNew: err == nil, stem: strings.TrimSuffix(filepath.Base(take), filepath.Ext(take)), take: take}
	p.list = filepath.Join(folder, p.stem+".passes.csv")
	if abs, err := filepath.Abs(take); err == nil {
		p.take = abs
		if from, err := filepath.Abs(folder); err == nil {
			if rel, err := filepath.Rel(from, abs); err == nil {
				p.take = rel
			}
		}
	}
	if err := p.add(); err != nil {
		p.close()
		return nil, err
	}
	return p, nil
}

// add checks before the work that the list can be written, and that files of an earlier run may be replaced: it is not
// known yet how many files there will be.
func (p *passFolder) add() error {
	if err := p.files.Add(p.list, listOfPasses); err != nil {
		return err
	}
	entries, err := os.ReadDir(p.folder)
	if err != nil {
		return output.CannotWrite(p.folder, err)
	}
	forms := map[string]output.Form{".marks.json": output.JSON(reading.MarksSchema), ".csv": flags.TrackForm, ".png": output.Figure}
	for _, e := range entries {
		number, ours := strings.CutPrefix(e.Name(), p.stem+".pass-")
		_, ending, _ := strings.Cut(number, ".")
		if form, ok := forms["."+ending]; ours && ok {
			if err := p.files.Add(filepath.Join(p.folder, e.Name()), form); err != nil {
				return err
			}
		}
	}
	return nil
}

// name returns the path of a file of one leap: leap.pass-02.marks.json, or leap.pass-02b.marks.json for the second leap of
// the pass.
func (p *passFolder) name(one *desk.Pass, ending string) string {
	leap := ""
	for n := one.Leap; one.Leaps > 1 && n > 0; n = (n - 1) / 26 { // a to z, aa, ab ...
		leap = string(rune('a'+(n-1)%26)) + leap
	}
	return filepath.Join(p.folder, fmt.Sprintf("%s.pass-%02d%s%s", p.stem, one.Number, leap, ending))
}

// write writes the marks of each leap, its figure, and the list that names them all.
func (p *passFolder) write(ctx context.Context, t *take.Take, passes []desk.Pass, asked *desk.Asked, cover *desk.Cover) error {
	for i := range passes {
		one := &passes[i]
		if one.Reading == nil {
			continue
		}
		var data []byte
		var err error
		form, ending := output.JSON(reading.MarksSchema), ".marks.json"
		if one.Track != nil {
			form, ending = flags.TrackForm, ".csv"
			data, err = one.Track.CSV()
		} else {
			data, err = json.MarshalIndent(one.Marks, "", " ")
			data = append(data, '\n')
		}
		if err != nil {
			return err
		}
		file := p.name(one, ending)
		one.MarksFile = filepath.Base(file)
		if err := p.files.Write(ctx, file, form, flags.Writes(data)); err != nil {
			return err
		}
		if err := p.draw(ctx, t, one, asked, cover); err != nil {
			return err
		}
	}
	return p.files.Write(ctx, p.list, listOfPasses, func(w io.Writer) error {
		c, err := output.NewCSV(w, ',', true)
		if err != nil {
			return err
		}
		err = c.Write("athlete", "take", "marks", "at", "note")
		for _, one := range passes {
			if one.Reading == nil {
				continue
			}
			at := ""
			if one.Track != nil {
				at = desk.AtPeak
			}
			err = errors.Join(err, c.Write(one.Athlete, p.take, one.MarksFile, at, passWords(&one)))
		}
		return errors.Join(err, c.Flush())
	})
}

// draw draws a leap on its frame.
func (p *passFolder) draw(ctx context.Context, t *take.Take, one *desk.Pass, asked *desk.Asked, cover *desk.Cover) error {
	f, err := t.Frame(ctx, one.Reading.Take.Frame)
	if err != nil {
		return err
	}
	single := *asked
	single.Request.Marks, single.Track = one.Marks, nil
	covers, err := cover.Frames(&single)
	if err != nil {
		return err
	}
	if err := cover.Inside(f.Bounds().Size()); err != nil {
		return err
	}
	return writeFigure(ctx, p.files, p.name(one, ".png"), large.Of(f), one.Reading, covers(one.Reading.Take.Frame)...)
}

// passWords returns words for the number of the pass and the leap.
func passWords(one *desk.Pass) string {
	if one.Leaps > 1 {
		return fmt.Sprintf("pass %d, leap %d of %d", one.Number, one.Leap, one.Leaps)
	}
	return fmt.Sprintf("pass %d", one.Number)
}

// reportPasses gives the passes their names, writes them and prints them.
func reportPasses(ctx context.Context, s terminal.Streams, o *flags.ReadOptions, names []string, folder *passFolder, t *take.Take, q *desk.Asked, passes []desk.Pass) error {
	unnamed := desk.NamePasses(passes, names)
	if err := folder.write(ctx, t, passes, q, &o.Cover); err != nil {
		return err
	}
	if o.JSON {
		err := terminal.PrintJSON(s.Out, struct {
			Schema string      `json:"schema"`
			Take   string      `json:"take"`
			Passes []desk.Pass `json:"passes"`
		}{desk.PassesSchema, t.Info().Name, passes})
		return errors.Join(err, unnamed)
	}
	return errors.Join(printPasses(s.Out, q, t.Info().Name, folder.list, passes), unnamed)
}

// printPasses prints a block for each pass: its frames, and of each leap the moment, the angle and the band.
func printPasses(w io.Writer, q *desk.Asked, take, list string, passes []desk.Pass) error {
	var out terminal.Printer
	out.Wrap("écart  ", q.Request.Measure.Title)
	out.Wrap("", take+", "+desk.CountPasses(passes))
	proposed := false
	for i := range passes {
		one := &passes[i]
		if i == 0 || passes[i-1].Number != one.Number {
			out.Line("")
			who := ""
			if one.Athlete != "" {
				who = ", " + one.Athlete
			}
			out.Wrap("", fmt.Sprintf("pass %d%s", one.Number, who))
			out.Wrap("  ", fmt.Sprintf("frames %d to %d, %.1f s to %.1f s", one.From, one.To, one.FromS, one.ToS))
			for _, n := range one.Notes {
				out.Wrap("  noted: ", n)
			}
		}
		if one.Reading == nil {
			out.Wrap("  not read: ", one.WhyNot)
			out.Wrap("  do next:  ", one.WhatToDo)
			continue
		}
		r := one.Reading
		proposed = proposed || r.Proposed
		head := "  "
		if one.Leaps > 1 {
			head = fmt.Sprintf("  leap %d: ", one.Leap)
		}
		out.Wrap(head, fmt.Sprintf("%s at %.3f s, frame %d", desk.PlusMinus(r.AngleDeg, r.ExpandedUncertaintyDeg), *one.MomentS, r.Take.Frame))
		if r.Brief() != "" {
			out.Wrap(strings.Repeat(" ", len(head)), r.Brief())
		}
	}
	out.Line("")
	if proposed {
		out.Wrap("", "proposed, not confirmed: look at the marks in the figures, correct those that are off, and take their \"proposed\" out; then read the list")
	}
	out.Wrap("list: ", list)
	return out.Print(w)
}

// proposePasses is `ecart propose --passes`.
func proposePasses(ctx context.Context, s terminal.Streams, d *desk.Desk, o *proposeOptions, q *desk.Asked) error {
	folder, err := newPassFolder(&o.Files, o.out, o.Take)
	if err != nil {
		return err
	}
	defer folder.close()
	t, err := openTake(ctx, s, d, o.Take)
	if err != nil {
		return err
	}
	defer t.Close()
	line := terminal.NewTally(s.Err)
	passes, err := d.ProposePasses(ctx, t, q, func(part float64) {
		line.Say(fmt.Sprintf("looking for the passes in %s: %.0f %%", terminal.OneLine(t.Info().Name), 100*part))
	})
	line.Wipe()
	if err != nil {
		return err
	}
	return reportPasses(ctx, s, &o.ReadOptions, o.passes.names, folder, t, q, passes)
}
