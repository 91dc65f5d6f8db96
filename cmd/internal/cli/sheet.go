package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/text/language"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/sheet"
)

// sheetOptions are what `ecart sheet` was asked.
type sheetOptions struct {
	readOptions
	from    []string // readings or marks files
	takes   []string
	entries []string // numbers of the journal's readings
	journal string
	beside  bool // --side-by-side
	reader  string
	out     string
	paper   string
	locale  string
	who     string
	folders []string
	bare    bool // --show-face
}

func newSheet(s streams) *cobra.Command {
	var o sheetOptions
	c := &cobra.Command{
		Use:   "sheet (READING | MARKS | --entry N) --for (judge | athlete | parent)\n  ecart sheet --side-by-side A B",
		Short: "the page that explains a reading",
		Long: `Writes the page that explains one reading: an HTML file that stands by itself,
asks for nothing from outside and prints on one page, in colour or grey.

For a judge: the frame with what is asked over what is measured, the bands with
the probability of each, the rule in short with where its figures come from, what
makes the reading uncertain, and what would have decided. For an athlete or a
parent: the same picture, three sentences, what the page cannot say, and what to
take care of.

READING is what 'ecart read --json' printed; its take is --take TAKE, or the one
of the same content beside it or in a folder given with --in. MARKS is a marks
file, or the CSV of 'ecart follow', and is read as 'ecart read' would, with its
flags. --entry is a reading of the journal; its take is found likewise.

--side-by-side puts two takes of one skill on a page, both athletes equally large
and level, and says whether the readings differ by more than their uncertainty.

A sheet names no file and no place. A parent's has the head covered, unless
--show-face says not to.

` + coverHelp,
		Example: `  ecart read leap.mp4 --marks leap.marks.json --skill split-leap --json > leap.json
  ecart sheet leap.json --take leap.mp4 --for judge --out judge.html
  ecart sheet leap.marks.json --take leap.mp4 --skill split-leap --for parent \
      --who Wren --out wren.html --locale de --paper a4
  ecart sheet --side-by-side march.json june.json --in takes --out two.html
  ecart sheet --entry 12 --in takes --for athlete --out wren.html`,
		Args: func(_ *cobra.Command, args []string) error { o.from = args; return nil },
		RunE: func(c *cobra.Command, _ []string) error {
			o.ObliqueGiven = c.Flags().Changed("oblique")
			return sheetRun(c.Context(), s, &o, c.Flags())
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.reader, "for", "judge", "whom it is for: `READER` is judge, athlete or parent")
	f.StringVar(&o.out, "out", "ecart-sheet.html", "the HTML `FILE` to write")
	f.StringArrayVar(&o.takes, "take", nil, "the `TAKE` that was read; side by side, given twice unless both are of one")
	f.StringArrayVar(&o.entries, "entry", nil, "the reading number `N` of the journal; side by side, given twice")
	addJournal(f, &o.journal)
	f.StringArrayVar(&o.folders, "in", nil, "a `FOLDER` in which the take of a reading is looked for by its content; may be given again")
	f.StringVar(&o.who, "who", "", "the athlete's `NAME` on the sheet; a pseudonym will do (of the journal's, the one there)")
	f.StringVar(&o.paper, "paper", "", "what it is printed on: `SIZE` is a4 or letter (default a4; letter where --locale is of the USA or Canada)")
	f.StringVar(&o.locale, "locale", "en", "how numbers are written, and in which language where there is one: `NAME` such as en, de or fr-CA")
	f.BoolVar(&o.beside, "side-by-side", false, "two readings on one page, for a judge")
	addCoverFlags(f, &o.cover)
	f.BoolVar(&o.bare, "show-face", false, "leave the head uncovered on a parent's sheet")
	f.StringVar(&o.At, "at", "", "of MARKS: the frame `N`, or the moment, such as 2.283s, or, of a track, its peak")
	addReadingFlags(f, &o.readOptions)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print what was written as JSON")
	return withKinds(c, s, &o)
}

// sheetMade is what --json prints.
type sheetMade struct {
	Schema  string   `json:"schema"`
	File    string   `json:"file"`
	For     string   `json:"for"`
	Paper   string   `json:"paper"`
	Locale  string   `json:"locale"`
	SHA256  []string `json:"take_sha256"`
	Covered bool     `json:"covered"`

	Difference *change.Difference `json:"difference,omitempty"`
}

func sheetRun(ctx context.Context, s streams, o *sheetOptions, f *pflag.FlagSet) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if o.beside {
		return o.besideRun(ctx, s, opt, f)
	}
	if n := len(o.from) + len(o.entries); n != 1 {
		return fault.New(fmt.Sprintf("'ecart sheet' explains one reading, and %d were given", n), "give a READING that 'ecart read --json' printed, or a marks file; --side-by-side takes two")
	}
	if len(o.takes) > 1 {
		return fault.New(fmt.Sprintf("one reading is of one take, and %d were given: %q", len(o.takes), o.takes), "give --take once")
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	in, _, err := o.source(ctx, s, 0, f)
	if err != nil {
		return err
	}
	made := sheetMade{Schema: "ecart/sheet/1", File: o.out, For: o.reader, Paper: string(opt.Paper), Locale: opt.Locale.String(),
		SHA256: []string{in.Reading.Take.SHA256}, Covered: len(in.Covers) > 0}
	return o.write(ctx, s, made, func(w io.Writer) error { return sheet.Write(w, *in, opt) })
}

// writableOut says early that the sheet cannot be written.
func (o *sheetOptions) writableOut() error {
	o.files.From(o.Priors, o.Lens, o.journal)
	o.files.From(o.from...)
	o.files.From(o.takes...)
	return o.files.Add(o.out, output.Page)
}

// ask is what the desk is asked.
func (o *sheetOptions) ask() desk.SheetAsk {
	return desk.SheetAsk{Ask: o.Ask, Cover: o.cover, Who: o.who, Folders: o.folders}
}

// source is the i-th reading: those of files first, then those of the journal.
func (o *sheetOptions) source(ctx context.Context, s streams, i int, f *pflag.FlagSet) (*sheet.Input, change.Reading, error) {
	var none change.Reading
	d := s.desk(o.journal, o.rules)
	if n := i - len(o.from); n >= 0 {
		if err := noReadingFlags(f, "reading "+o.entries[n]); err != nil {
			return nil, none, err
		}
		id, err := readingNumber(o.entries[n])
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

// takeOf is the take of the reading i, as far as it was named.
func (o *sheetOptions) takeOf(i int) string {
	switch {
	case i < len(o.takes):
		return o.takes[i]
	case len(o.takes) == 1:
		return o.takes[0] // both of one clip
	}
	return ""
}

// write makes the sheet before anything is written, and says where it is.
func (o *sheetOptions) write(ctx context.Context, s streams, made sheetMade, make func(io.Writer) error) error {
	var b bytes.Buffer
	if err := make(&b); err != nil {
		return err
	}
	if err := o.files.Write(ctx, o.out, output.Page, writes(b.Bytes())); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, made)
	}
	_, err := fmt.Fprintln(s.out, o.out)
	return err
}

// options are those of the sheet.
func (o *sheetOptions) options() (sheet.Options, error) {
	var opt sheet.Options
	if err := desk.OneOf("for", o.reader, sheet.Audiences...); err != nil {
		return opt, err
	}
	if ext := strings.ToLower(o.out); !strings.HasSuffix(ext, ".html") && !strings.HasSuffix(ext, ".htm") {
		return opt, fault.New(fmt.Sprintf("the sheet %q does not end in .html, and HTML is what it will be", o.out), "give --out a name such as sheet.html")
	}
	tag, err := language.Parse(o.locale)
	if err != nil {
		return opt, fault.New(fmt.Sprintf("--locale %q is none", o.locale), "give a language, and a country if need be, such as en, de or fr-CA")
	}
	paper := strings.ToLower(o.paper)
	if err := desk.OneOf("paper", paper, sheet.Papers...); err != nil {
		return opt, err
	}
	if paper == "" {
		paper = string(sheet.A4)
		if r, c := tag.Region(); c >= language.High && (r.String() == "US" || r.String() == "CA") {
			paper = string(sheet.Letter)
		}
	}
	if o.bare && o.cover.Asked() {
		return opt, fault.New("--show-face leaves the head uncovered, and a cover was asked for", "give one of them")
	}
	if o.reader == string(sheet.Parent) && !o.bare {
		o.cover.Faceless = true
	}
	return sheet.Options{For: sheet.Audience(o.reader), Paper: sheet.Paper(paper), Locale: tag}, nil
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
	return fault.New(fmt.Sprintf("%s says how a frame is read, and %s has been read", strings.Join(flags, ", "), what), "leave it out, or give the marks file in place of the reading")
}
