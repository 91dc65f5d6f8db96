package sheets

import (
	"context"
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/sheet"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// sheetSource is where the readings of a page come from, as typed.
type sheetSource struct {
	flags.ReadOptions
	from    []string // readings or marks files
	takes   []string
	entries []string // numbers of the journal's readings
	folders []string
	journal string
	who     string
}

// addFlags adds the flags for one reading, or for two.
func (o *sheetSource) addFlags(f *pflag.FlagSet, of string) {
	f.StringArrayVar(&o.takes, "take", nil, "the `TAKE` that was read"+of)
	f.StringArrayVar(&o.entries, "entry", nil, "the reading number `N` of the journal")
	flags.AddJournal(f, &o.journal)
	f.StringArrayVar(&o.folders, "in", nil, "a `FOLDER` in which the take of a reading is looked for by its content; may be given again")
	f.StringVar(&o.who, "who", "", "the athlete's `NAME` on the sheet; a pseudonym will do (of the journal's, the one there)")
}

// addMarksFlags adds the flags by which MARKS are read.
func (o *sheetSource) addMarksFlags(f *pflag.FlagSet) {
	f.StringVar(&o.At, "at", "", "of MARKS: the frame `N`, or the moment, such as 2.283s, or, of a track, its peak")
	flags.AddReading(f, &o.ReadOptions)
}

// inputs returns the files that are read.
func (o *sheetSource) inputs() []string {
	return append(append([]string{o.Priors, o.Lens, o.journal}, o.from...), o.takes...)
}

func (o *sheetSource) ask() desk.SheetAsk {
	return desk.SheetAsk{Ask: o.Ask, Cover: o.Cover, Who: o.who, Folders: o.folders}
}

// source returns the i-th reading: those of files first, then those of the journal.
func (o *sheetSource) source(ctx context.Context, s terminal.Streams, i int, f *pflag.FlagSet) (*sheet.Input, change.Reading, error) {
	var none change.Reading
	d := s.Desk(o.journal, o.Rules)
	if n := i - len(o.from); n >= 0 {
		if err := noReadingFlags(f, "reading "+o.entries[n]); err != nil {
			return nil, none, err
		}
		id, err := flags.ReadingNumber(o.entries[n])
		if err != nil {
			return nil, none, err
		}
		return d.ExplainKept(ctx, o.ask(), id, o.takeOf(i))
	}
	src, err := desk.ReadSource(o.from[i])
	if err != nil {
		return nil, none, err
	}
	if src.Reading != nil {
		if err := noReadingFlags(f, fmt.Sprintf("%q", src.Path)); err != nil {
			return nil, none, err
		}
	}
	return d.Explain(ctx, o.ask(), src, o.takeOf(i), i)
}

// takeOf returns the take of reading i, "" if it was not named.
func (o *sheetSource) takeOf(i int) string {
	switch {
	case i < len(o.takes):
		return o.takes[i]
	case len(o.takes) == 1:
		return o.takes[0] // both of one clip
	}
	return ""
}

// noReadingFlags returns an error if a frame was read already and there are flags that say how to read it.
func noReadingFlags(f *pflag.FlagSet, what string) error {
	var given []string
	reading := pflag.NewFlagSet("", pflag.ContinueOnError)
	new(sheetSource).addMarksFlags(reading)
	f.Visit(func(x *pflag.Flag) {
		if x.Name != "rules" && reading.Lookup(x.Name) != nil {
			given = append(given, "--"+x.Name)
		}
	})
	if len(given) == 0 {
		return nil
	}
	return fault.New(fmt.Sprintf("%s says how a frame is read, and %s has been read", strings.Join(given, ", "), what), "leave it out, or give the marks file in place of the reading")
}

// writtenReadings is what --json prints for a page of one reading or two.
type writtenReadings struct {
	Schema  string   `json:"schema"`
	File    string   `json:"file"`
	For     string   `json:"for"`
	Paper   string   `json:"paper"`
	Locale  string   `json:"locale"`
	SHA256  []string `json:"take_sha256"`
	Covered bool     `json:"covered"`

	Difference *change.Difference `json:"difference,omitempty"`
}

// sheetReadingOptions are the flags of 'ecart sheet reading', as typed.
type sheetReadingOptions struct {
	sheetSource
	page     sheetPage
	audience string
	showFace bool
}

func newSheetReading(s terminal.Streams) *cobra.Command {
	var o sheetReadingOptions
	c := &cobra.Command{
		Use:   "reading (READING | MARKS | --entry N)",
		Short: "explains one reading to a judge, an athlete or a parent",
		Long: `Writes the page that explains one reading.

For a judge: the frame with what is asked over what is measured, the bands with
the probability of each, the rule in short with where its figures come from, what
makes the reading uncertain, and what would have decided. For an athlete or a
parent: the same picture, three sentences, what the page cannot say, and what to
take care of.

READING is what 'ecart read --json' printed; its take is --take TAKE, or the one
of the same content beside it or in a folder given with --in. MARKS is a marks
file, or the CSV of 'ecart follow', and is read as 'ecart read' would, with its
flags. --entry is a reading of the journal; its take is found likewise.

A parent's sheet has the head covered, unless --show-face says not to.

` + flags.CoverHelp,
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap --json > leap.json
  ecart sheet reading leap.json --take leap.mp4 --for judge --out judge.html
  ecart sheet reading leap.marks.json --take leap.mp4 --skill split-leap \
      --for parent --who Wren --out wren.html --locale de --paper a4
  ecart sheet reading --entry 12 --in takes --for athlete --out wren.html`,
		Args: func(_ *cobra.Command, args []string) error { o.from = args; return nil },
		RunE: func(c *cobra.Command, _ []string) error {
			return sheetReadingRun(c.Context(), s, &o, c.Flags())
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addFor(f, &o.audience, sheet.Judge, "athlete or parent")
	o.sheetSource.addFlags(f, "")
	flags.AddCover(f, &o.Cover)
	f.BoolVar(&o.showFace, "show-face", false, "leave the head uncovered on a parent's sheet")
	o.page.addFlags(f)
	o.addMarksFlags(f)
	return c
}

func sheetReadingRun(ctx context.Context, s terminal.Streams, o *sheetReadingOptions, f *pflag.FlagSet) error {
	opt, err := o.page.options(o.audience, sheet.Audiences)
	if err != nil {
		return err
	}
	if o.showFace && o.Cover.Asked() {
		return fault.New("--show-face leaves the head uncovered, and a cover was asked for", "give one of them")
	}
	if opt.For == sheet.Parent && !o.showFace {
		o.Cover.Faceless = true
	}
	if n := len(o.from) + len(o.entries); n != 1 {
		return fault.New(fmt.Sprintf("'ecart sheet reading' explains one reading, and %d were given", n), "give a READING that 'ecart read --json' printed, or a marks file; 'ecart sheet pair' takes two")
	}
	if len(o.takes) > 1 {
		return fault.New(fmt.Sprintf("one reading is of one take, and %d were given: %q", len(o.takes), o.takes), "give --take once")
	}
	if err := o.page.writable(o.inputs()...); err != nil {
		return err
	}
	in, _, err := o.source(ctx, s, 0, f)
	if err != nil {
		return err
	}
	written := writtenReadings{Schema: "ecart/sheet/1", File: o.page.out, For: o.audience, Paper: string(opt.Paper), Locale: opt.Locale.String(),
		SHA256: []string{in.Reading.Take.SHA256}, Covered: len(in.Covers) > 0}
	return o.page.write(ctx, s, written, func(w io.Writer) error { return sheet.Write(w, *in, opt) })
}

// sheetPairOptions are the flags of 'ecart sheet pair', as typed.
type sheetPairOptions struct {
	sheetSource
	page sheetPage
}

func newSheetPair(s terminal.Streams) *cobra.Command {
	var o sheetPairOptions
	c := &cobra.Command{
		Use:   "pair (READING | MARKS | --entry N) (READING | MARKS | --entry N)",
		Short: "two takes of one skill side by side, for a judge",
		Long: `Puts two takes of one skill on a page, both athletes equally large and level, and
says whether the readings differ by more than their uncertainty.

READING is what 'ecart read --json' printed, MARKS a marks file or the CSV of
'ecart follow', which is read as 'ecart read' would, with its flags, and --entry
a reading of the journal. Those of files come first. A take is found by its
content beside its reading or in a folder given with --in, or is named with
--take, in the order of the readings.

--faceless covers the heads of both with paper, worked out from the marks.`,
		Example: `  ecart sheet pair march.json june.json --in takes --out two.html
  ecart sheet pair --entry 4 --entry 12 --in takes --faceless --out two.html`,
		Args: func(_ *cobra.Command, args []string) error { o.from = args; return nil },
		RunE: func(c *cobra.Command, _ []string) error {
			return sheetPairRun(c.Context(), s, &o, c.Flags())
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.sheetSource.addFlags(f, "; given twice unless both are of one")
	flags.AddFaceless(f, &o.Cover)
	o.page.addFlags(f)
	o.addMarksFlags(f)
	return c
}

func sheetPairRun(ctx context.Context, s terminal.Streams, o *sheetPairOptions, f *pflag.FlagSet) error {
	opt, err := o.page.options(string(sheet.Judge), sheet.Audiences)
	switch {
	case err != nil:
		return err
	case len(o.from)+len(o.entries) != 2:
		return fault.New(fmt.Sprintf("'ecart sheet pair' takes two readings, and %d were given", len(o.from)+len(o.entries)), "give two of what 'ecart read --json' printed, of marks files, or of the journal with --entry")
	case len(o.takes) > 2:
		return fault.New(fmt.Sprintf("two readings are of two takes, and %d were given", len(o.takes)), "give --take twice, in the order of the readings")
	}
	if err := o.page.writable(o.inputs()...); err != nil {
		return err
	}
	var ins [2]*sheet.Input
	var rs [2]change.Reading
	for i := range ins {
		if ins[i], rs[i], err = o.source(ctx, s, i, f); err != nil {
			return err
		}
	}
	d, err := change.Compare(rs[:1], rs[1:], ins[0].Reading.Coverage)
	if err != nil {
		return err
	}
	written := writtenReadings{Schema: "ecart/sheet/1", File: o.page.out, For: string(opt.For), Paper: string(opt.Paper), Locale: opt.Locale.String(),
		SHA256: []string{ins[0].Reading.Take.SHA256, ins[1].Reading.Take.SHA256}, Covered: len(ins[0].Covers) > 0 && len(ins[1].Covers) > 0, Difference: d}
	return o.page.write(ctx, s, written, func(w io.Writer) error { return sheet.WritePair(w, *ins[0], *ins[1], d, opt) })
}
