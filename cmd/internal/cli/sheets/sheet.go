// Package sheets has the commands that write pages: ecart sheet, with one for each page.
package sheets

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/text/language"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/sheet"
)

func New(s terminal.Streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "sheet",
		Short: "pages to print: a reading, two side by side, months, a group, a screen, a squad's screens, a contrast, a protocol, a session, a quiz",
		Long: `Writes a page: an HTML file that stands by itself, asks for nothing from outside
and prints on one page of paper, in colour or grey. A sheet names no file and no
place.`,
		Example: `  ecart sheet reading leap.json --take leap.mp4 --for judge
  ecart sheet months Wren --measure hip-split
  ecart sheet session monday.csv --camera by-eye`,
		Args: flags.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newSheetReading(s), newSheetPair(s), newSheetMonths(s), newSheetGroup(s), newSheetScreen(s), newSheetScreens(s), newSheetContrast(s), newSheetProtocol(s), newSheetPlan(s), newSheetSession(s), newSheetQuiz(s), newSheetScore(s))
	return c
}

// sheetPage has the flags of every page, as typed.
type sheetPage struct {
	files  output.Set
	out    string
	paper  string
	locale string
	json   bool
}

func (o *sheetPage) addFlags(f *pflag.FlagSet) {
	o.addOut(f, "ecart-sheet.html", "the HTML `FILE` to write", "print what was written as JSON")
}

// addOut adds the flags, with the usual name of the page and the help on --out and --json.
func (o *sheetPage) addOut(f *pflag.FlagSet, usual, out, json string) {
	f.StringVar(&o.out, "out", usual, out)
	f.StringVar(&o.paper, "paper", "", "what it is printed on: `SIZE` is a4 or letter (default a4; letter where --locale is of the USA or Canada)")
	f.StringVar(&o.locale, "locale", "en", "how numbers are written, and in which language where there is one: `NAME` such as en, de or fr-CA")
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, json)
}

// addFor adds the flag for the reader of a page.
func addFor(f *pflag.FlagSet, who *string, usual sheet.Audience, others string) {
	f.StringVar(who, "for", string(usual), fmt.Sprintf("whom it is for: `READER` is %s, %s", usual, others))
}

// options returns the options of a page for the given reader, one of the audiences.
func (o *sheetPage) options(who string, audiences []string) (sheet.Options, error) {
	if err := desk.OneOf("for", who, audiences...); err != nil {
		return sheet.Options{}, err
	}
	if ext := strings.ToLower(o.out); ext != "" && !strings.HasSuffix(ext, ".html") && !strings.HasSuffix(ext, ".htm") {
		return sheet.Options{}, fault.New(fmt.Sprintf("the sheet %q does not end in .html, and HTML is what it will be", o.out), "give --out a name such as sheet.html")
	}
	tag, err := language.Parse(o.locale)
	if err != nil {
		return sheet.Options{}, fault.New(fmt.Sprintf("--locale %q is none", o.locale), "give a language, and a country if need be, such as en, de or fr-CA")
	}
	paper := strings.ToLower(o.paper)
	if err := desk.OneOf("paper", paper, sheet.Papers...); err != nil {
		return sheet.Options{}, err
	}
	if paper == "" {
		paper = string(sheet.A4)
		if r, c := tag.Region(); c >= language.High && (r.String() == "US" || r.String() == "CA") {
			paper = string(sheet.Letter)
		}
	}
	return sheet.Options{For: sheet.Audience(who), Paper: sheet.Paper(paper), Locale: tag}, nil
}

// writable returns an error early if the page cannot be written; inputs are never replaced.
func (o *sheetPage) writable(inputs ...string) error {
	o.files.From(inputs...)
	return o.files.Add(o.out, output.Page)
}

// save makes the page and then writes it.
func (o *sheetPage) save(ctx context.Context, page func(io.Writer) error) error {
	var b bytes.Buffer
	if err := page(&b); err != nil {
		return err
	}
	return o.files.Write(ctx, o.out, output.Page, flags.Writes(b.Bytes()))
}

// write saves the page and prints its path, or result as JSON.
func (o *sheetPage) write(ctx context.Context, s terminal.Streams, result any, page func(io.Writer) error) error {
	if err := o.save(ctx, page); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, result)
	}
	_, err := fmt.Fprintln(s.Out, o.out)
	return err
}

// writesPage writes a page.
type writesPage func(io.Writer, sheet.Options) error

// ofAthlete writes a page of an athlete of the journal, for a coach or one of the other readers. gather returns the
// athlete's name and the function that writes the page.
func (o *sheetPage) ofAthlete(ctx context.Context, s terminal.Streams, page, audience, journal string, gather func() (athlete string, write writesPage, err error)) error {
	opt, err := o.options(audience, sheet.CoachAudiences)
	if err != nil {
		return err
	}
	if err := o.writable(journal); err != nil {
		return err
	}
	athlete, write, err := gather()
	if err != nil {
		return err
	}
	return o.write(ctx, s, o.written(page, athlete, opt), func(w io.Writer) error { return write(w, opt) })
}

// writtenPage is what --json prints for a page that is not of readings alone.
type writtenPage struct {
	Schema  string `json:"schema"`
	Page    string `json:"page"`
	File    string `json:"file"`
	For     string `json:"for"`
	Paper   string `json:"paper"`
	Locale  string `json:"locale"`
	Athlete string `json:"athlete,omitempty"`
}

func (o *sheetPage) written(page, athlete string, opt sheet.Options) writtenPage {
	return writtenPage{"ecart/sheet/1", page, o.out, string(opt.For), string(opt.Paper), opt.Locale.String(), athlete}
}
