package sheets

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/squad"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// sheetQuizOptions are the flags of 'ecart sheet quiz', as typed.
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

// writtenQuiz is what --json prints for a quiz.
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

// writable returns an error early if one of the three files cannot be written.
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

// sheetScoreOptions are the flags of 'ecart sheet score', as typed.
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

// Words of sheet quiz and sheet score.

const (
	quizWordsKey     = "keep the key to yourself: it has the readings"
	quizWordsScore   = "score %.2f: 0 is best, 1 is worst"
	quizWordsLeast   = "the pictures themselves leave %.2f, since they do not always decide; the answers' own part is %.2f"
	quizWordsHits    = "%d of %s the likeliest band"
	quizWordsLean    = "the answers are %s than the readings: by %.2f bands on average, standard error %.2f"
	quizWordsNeither = "the answers lean to neither side by more than chance: %+.2f bands on average, standard error %.2f"
	quizWordsTooFew  = "too few answers to say whether they lean to one side"
	quizWordsSigns   = "+ is stricter than the readings, - milder, in bands, with the standard error; a side is named from five answers on, where less than 5 in 100 is left to chance (Student's t)"
	quizWordsCaution = "a reading is measured off one frame and is no jury's verdict; a score holds for these frames"
)

func printQuiz(w io.Writer, m writtenQuiz) error {
	var p terminal.Printer
	p.Wrap("écart  ", fmt.Sprintf("quiz %s, %s", m.Quiz, desk.Count(m.Questions, "question")))
	p.Wrap("frames:  ", m.File)
	p.Wrap("answers: ", m.Answers+", to be filled in")
	p.Wrap("key:     ", m.Key)
	p.Wrap("         ", quizWordsKey)
	return p.Print(w)
}

func printScore(w io.Writer, k *quiz.Key, s *quiz.Score, who string) error {
	var p terminal.Printer
	head := "practice for judges"
	if k.Quiz != "" {
		head += ", quiz " + k.Quiz
	}
	if who != "" {
		head += ", " + who
	}
	p.Wrap("écart  ", head)
	p.Line("")
	p.Wrap("  ", fmt.Sprintf(quizWordsScore, s.Mean))
	p.Wrap("  ", fmt.Sprintf(quizWordsLeast, s.Least, s.Excess))
	names := "answers name"
	if len(s.Questions) == 1 {
		names = "answer names"
	}
	p.Wrap("  ", fmt.Sprintf(quizWordsHits, s.Hits(), fmt.Sprintf("%d %s", len(s.Questions), names)))
	p.Wrap("  ", leanWords(*s.Bias))
	if len(s.Unanswered) > 0 {
		p.Wrap("not answered: ", strings.Trim(strings.ReplaceAll(fmt.Sprint(s.Unanswered), " ", ", "), "[]"))
	}
	p.Line("")
	printAnswers(&p, k, s)
	p.Line("")
	p.Line("by the likeliest band")
	for _, b := range s.ByBand {
		printBias(&p, b.Deduction, b.Bias)
	}
	printBias(&p, "all", *s.Bias)
	p.Wrap("  ", quizWordsSigns)
	p.Line("")
	p.Wrap("rule:    ", quiz.Rule)
	p.Wrap("caution: ", quizWordsCaution)
	return p.Print(w)
}

func leanWords(b quiz.Bias) string {
	switch l := b.Lean(); l {
	case quiz.TooFew:
		return quizWordsTooFew
	case quiz.Neither:
		return fmt.Sprintf(quizWordsNeither, b.StricterBands, *b.StandardError)
	default:
		return fmt.Sprintf(quizWordsLean, l, math.Abs(b.StricterBands), *b.StandardError)
	}
}

// printAnswers prints a row for each question that was answered.
func printAnswers(p *terminal.Printer, k *quiz.Key, s *quiz.Score) {
	const mostWide = 20
	wide := len("answer")
	for _, q := range s.Questions {
		wide = max(wide, min(mostWide, len(quiz.Words(q.Belief))))
	}
	p.Line("%3s  %-*s  %-10s %5s  %5s", "no.", wide, "answer", "likeliest", "score", "own")
	for _, q := range s.Questions {
		best := k.Questions[q.Number-1].Choices[q.Likeliest[0]-'a']
		likeliest := best.Letter + " " + reading.Percent(best.Probability)
		likeliest += strings.Repeat(" ", max(0, 10-utf8.RuneCountInString(likeliest)))
		p.Line("%3d  %-*s  %s %5.2f  %5.2f", q.Number, wide, quiz.Words(q.Belief), likeliest, q.Score, q.Excess)
	}
}

func printBias(p *terminal.Printer, band string, b quiz.Bias) {
	const wide = 14
	if n := []rune(band); len(n) > wide {
		band = string(n[:wide-1]) + "…"
	}
	off := fmt.Sprintf("%+.2f", b.StricterBands)
	if b.StandardError != nil {
		off += fmt.Sprintf(" ± %.2f", *b.StandardError)
	}
	lean := string(b.Lean())
	if b.Lean() == quiz.Neither {
		lean = "no side"
	}
	p.Line("  %s %2d  %s %s", terminal.Padded(band, wide), b.Count, terminal.Padded(off, 13), lean)
}
