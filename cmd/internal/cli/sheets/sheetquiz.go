package sheets

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/squad"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/sheet"
)

// sheetQuizOptions are what 'ecart sheet quiz' was asked with, as typed.
type sheetQuizOptions struct {
	flags.ReadOptions
	page         sheetPage
	from         []string // readings or lists
	folders      []string
	key, answers string
	showFace     bool
}

func newSheetQuiz(s terminal.Streams) *cobra.Command {
	var o sheetQuizOptions
	c := &cobra.Command{
		Use:   "quiz (READING | LIST) ...",
		Short: "frames without answers, for judges to practise on",
		Long: `Writes a quiz: frames without answers, on which judges practise, a key with the
answers, which is a file of its own, and an empty answer list.

READING is what 'ecart read --json' printed; its take is looked for in the folders
given with --in. LIST is read as 'ecart squad' does. All heads are covered unless
--show-face says not to. 'ecart sheet score' says what filled-in answers come to.`,
		Example: `  ecart sheet quiz monday.csv --camera by-eye --out quiz.html \
      --key key.json --answers answers.csv`,
		Args: func(_ *cobra.Command, args []string) error { o.from = args; return nil },
		RunE: func(c *cobra.Command, _ []string) error {
			return sheetQuizRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addKey(f, &o.key, "the JSON `FILE` to write the key into")
	f.StringVar(&o.answers, "answers", "ecart-quiz-answers.csv", "the CSV `FILE` to write the empty answer list into")
	f.StringArrayVar(&o.folders, "in", nil, "a `FOLDER` in which the take of a reading is looked for by its content; may be given again")
	f.BoolVar(&o.showFace, "show-face", false, "leave the heads uncovered")
	o.page.addFlags(f)
	flags.AddReading(f, &o.ReadOptions)
	return c
}

func addKey(f *pflag.FlagSet, key *string, about string) {
	f.StringVar(key, "key", "ecart-quiz-key.json", about)
}

// writtenQuiz is what --json prints of a quiz.
type writtenQuiz struct {
	Schema    string `json:"schema"`
	Quiz      string `json:"quiz"`
	File      string `json:"file"`
	Key       string `json:"key"`
	Answers   string `json:"answers"`
	Questions int    `json:"questions"`
	Covered   bool   `json:"covered"`
	Paper     string `json:"paper"`
	Locale    string `json:"locale"`
}

func sheetQuizRun(ctx context.Context, s terminal.Streams, o *sheetQuizOptions) error {
	opt, err := o.page.options(string(sheet.Judge), sheet.Audiences)
	if err != nil {
		return err
	}
	if len(o.from) > 0 {
		if err := o.writable(); err != nil {
			return err
		}
	}
	ask := desk.SheetAsk{Ask: o.Ask, Folders: o.folders}
	q, err := s.Desk("", o.Rules).Quiz(ctx, desk.QuizAsk{SheetAsk: ask, Filing: o.Keep.Filing, Files: o.from, ShowFace: o.showFace, Progress: squad.ListProgress(s)})
	if err != nil {
		return err
	}
	key := q.Key
	var page, secret, empty bytes.Buffer
	if err := sheet.WriteQuiz(&page, key, func(i int) (sheet.Input, error) { return q.Frame(ctx, i) }, opt); err != nil {
		return err
	}
	if err := errors.Join(terminal.PrintJSON(&secret, key), desk.WriteAnswers(&empty, key, opt.Locale)); err != nil {
		return err
	}
	if err := o.page.files.Together(ctx, output.Item{Path: o.key, Form: flags.KeyForm, Write: flags.Writes(secret.Bytes())},
		output.Item{Path: o.answers, Form: flags.AnswersForm, Write: flags.Writes(empty.Bytes())},
		output.Item{Path: o.page.out, Form: output.Page, Write: flags.Writes(page.Bytes())}); err != nil {
		return err
	}
	written := writtenQuiz{"ecart/quiz/1", key.Quiz, o.page.out, o.key, o.answers, len(key.Questions), !o.showFace, string(opt.Paper), opt.Locale.String()}
	if o.page.json {
		return terminal.PrintJSON(s.Out, written)
	}
	return printQuiz(s.Out, written)
}

// writable reports early that one of the three files cannot be written.
func (o *sheetQuizOptions) writable() error {
	if !strings.EqualFold(filepath.Ext(o.key), ".json") {
		return fault.New(fmt.Sprintf("the key %q does not end in .json", o.key), "give --key a name such as key.json")
	}
	if !strings.EqualFold(filepath.Ext(o.answers), ".csv") {
		return fault.New(fmt.Sprintf("the answer list %q does not end in .csv", o.answers), "give --answers a name such as answers.csv")
	}
	if err := o.page.writable(append([]string{o.Priors, o.Lens}, o.from...)...); err != nil {
		return err
	}
	if err := o.page.files.Add(o.key, flags.KeyForm); err != nil {
		return err
	}
	return o.page.files.Add(o.answers, flags.AnswersForm)
}
