package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/sheet"
)

// quizMade is what --json prints of a quiz.
type quizMade struct {
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

// quizRun writes a quiz, its key and an answer list.
func quizRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if len(o.from) == 0 {
		return &inputError{"a quiz takes readings, and none was given", "give READINGs that 'ecart read --json' printed, or a LIST of 'ecart squad'"}
	}
	if err := k.apart(o); err != nil {
		return err
	}
	all, err := o.posed(ctx, s)
	if err != nil {
		return err
	}
	if err := o.findAll(ctx, s, all); err != nil {
		return err
	}
	order := rand.New(rand.NewPCG(o.seed, 0x71756973))
	order.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	var questions []quiz.Question
	for i, p := range all {
		q, err := quiz.NewQuestion(i+1, p.reading)
		if err != nil {
			return named(p.from, err)
		}
		questions = append(questions, q)
	}
	key, err := quiz.NewKey(questions)
	if err != nil {
		return err
	}
	var page bytes.Buffer
	frame := func(i int) (sheet.Input, error) {
		defer s.working(fmt.Sprintf("frame %d of %d", i+1, len(all)))()
		in, err := o.frameToJudge(ctx, &all[i])
		if err != nil {
			return sheet.Input{}, named(all[i].from, err)
		}
		return *in, nil
	}
	if err := sheet.WriteQuiz(&page, key, frame, opt); err != nil {
		return err
	}
	var secret, empty bytes.Buffer
	if err := errors.Join(printJSON(&secret, key), writeAnswers(&empty, key, opt.Locale)); err != nil {
		return err
	}
	if err := o.files.Together(ctx, output.Item{Path: k.key, Form: keyForm, Write: writes(secret.Bytes())},
		output.Item{Path: k.answers, Form: answersForm, Write: writes(empty.Bytes())},
		output.Item{Path: o.out, Form: output.Page, Write: writes(page.Bytes())}); err != nil {
		return err
	}
	made := quizMade{"ecart/quiz/1", key.Quiz, o.out, k.key, k.answers, len(all), !o.bare, string(opt.Paper), opt.Locale.String()}
	if o.json {
		return printJSON(s.out, made)
	}
	return printQuiz(s.out, made)
}

// apart refuses files that would take each other's place, or that of a key or of
// answers that are there already.
func (k *sheetKinds) apart(o *sheetOptions) error {
	if !strings.EqualFold(filepath.Ext(k.key), ".json") {
		return &inputError{fmt.Sprintf("the key %q does not end in .json", k.key), "give --key a name such as key.json"}
	}
	if !strings.EqualFold(filepath.Ext(k.answers), ".csv") {
		return &inputError{fmt.Sprintf("the answer list %q does not end in .csv", k.answers), "give --answers a name such as answers.csv"}
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	if err := o.files.Add(k.key, keyForm); err != nil {
		return err
	}
	return o.files.Add(k.answers, answersForm)
}

// frameToJudge is the frame of a question, with its head covered unless that is not
// wanted.
func (o *sheetOptions) frameToJudge(ctx context.Context, p *toPose) (*sheet.Input, error) {
	cover := coverOptions{faceless: !o.bare}
	covers, err := cover.still(figure.MarksOf(p.reading), p.reading.Measure)
	if err != nil {
		return nil, &inputError{err.Error(), "mark the shoulder and the hip, or leave all heads uncovered with --show-face"}
	}
	frame, err := o.frameOf(ctx, streams{err: io.Discard}, p.reading, p.take, []string{p.beside})
	if err != nil {
		return nil, err
	}
	return o.filled(p.reading, frame, covers, nil)
}

// named says which file an error is about.
func named(from string, err error) error {
	fact, hint := wordsOf(err)
	if _, part, ok := strings.Cut(fact, " has no bands: "); ok {
		fact = "there are no bands: " + part
	}
	if errors.Is(err, context.Canceled) {
		return err
	}
	return &inputError{from + ": " + fact, hint}
}

// writeAnswers writes an empty answer list as the spreadsheets of the place open one:
// parted by semicolons where a comma stands in numbers.
func writeAnswers(w io.Writer, k *quiz.Key, tag language.Tag) error {
	comma := ','
	if strings.Contains(message.NewPrinter(tag).Sprintf("%.1f", 0.5), ",") {
		comma = ';'
	}
	c, err := output.NewCSV(w, comma, false)
	if err != nil {
		return err
	}
	err = c.Write("question", "band", "quiz")
	for i := range k.Questions {
		err = errors.Join(err, c.Write(strconv.Itoa(i+1), "", k.Quiz))
	}
	return errors.Join(err, c.Flush())
}
