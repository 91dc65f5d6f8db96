package sheets

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/sheet"
)

// sheetScoreOptions are what 'ecart sheet score' was asked with, as typed.
type sheetScoreOptions struct {
	page         sheetPage
	key, answers string
	who          string
}

func newSheetScore(s terminal.Streams) *cobra.Command {
	var o sheetScoreOptions
	c := &cobra.Command{
		Use:   "score ANSWERS --key KEY",
		Short: "what a filled-in answer list of a quiz comes to",
		Long: `Scores the ANSWERS of a judge to a quiz, a CSV that was filled in, against the key
that 'ecart sheet quiz' wrote. The score is printed; it is a page too where --out
names one.`,
		Example: `  ecart sheet score answers.csv --key key.json
  ecart sheet score answers.csv --key key.json --who Linnet --out score.html`,
		Args: flags.OneArg("answer list"),
		RunE: func(c *cobra.Command, args []string) error {
			o.answers = args[0]
			return sheetScoreRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addKey(f, &o.key, "the JSON `FILE` of the key")
	f.StringVar(&o.who, "who", "", "the judge's `NAME` on the page")
	o.page.addOut(f, "", "write the page too, into the HTML `FILE`", "print the score as JSON")
	return c
}

func sheetScoreRun(ctx context.Context, s terminal.Streams, o *sheetScoreOptions) error {
	opt, err := o.page.options(string(sheet.Judge), sheet.Audiences)
	if err != nil {
		return err
	}
	paged := o.page.out != ""
	if paged {
		if err := o.page.writable(o.answers, o.key); err != nil {
			return err
		}
	}
	key, score, err := s.Desk("", "").Score(o.key, o.answers)
	if err != nil {
		return err
	}
	if paged {
		in := sheet.ScoreInput{Who: o.who, Key: key, Score: score}
		if err := o.page.save(ctx, func(w io.Writer) error { return sheet.WriteScore(w, in, opt) }); err != nil {
			return err
		}
	}
	if o.page.json {
		return terminal.PrintJSON(s.Out, score)
	}
	return printScore(s.Out, key, score, strings.TrimSpace(o.who))
}
