package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
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
	if len(o.from) > 0 {
		if err := k.apart(o); err != nil {
			return err
		}
	}
	q, err := s.desk(o.journal, o.rules).Quiz(ctx, desk.QuizAsk{SheetAsk: o.ask(), Filing: o.keep.Filing, Files: o.from, ShowFace: o.bare, Progress: s.listEvents})
	if err != nil {
		return err
	}
	key := q.Key
	var page bytes.Buffer
	if err := sheet.WriteQuiz(&page, key, func(i int) (sheet.Input, error) { return q.Frame(ctx, i) }, opt); err != nil {
		return err
	}
	secret, err := q.KeyFile()
	var empty bytes.Buffer
	if err := errors.Join(err, desk.WriteAnswers(&empty, key, opt.Locale)); err != nil {
		return err
	}
	if err := o.files.Together(ctx, output.Item{Path: k.key, Form: keyForm, Write: writes(secret)},
		output.Item{Path: k.answers, Form: answersForm, Write: writes(empty.Bytes())},
		output.Item{Path: o.out, Form: output.Page, Write: writes(page.Bytes())}); err != nil {
		return err
	}
	made := quizMade{"ecart/quiz/1", key.Quiz, o.out, k.key, k.answers, len(key.Questions), !o.bare, string(opt.Paper), opt.Locale.String()}
	if o.json {
		return printJSON(s.out, made)
	}
	return printQuiz(s.out, made)
}

// apart refuses files that would take each other's place, or that of a key or of
// answers that are there already.
func (k *sheetKinds) apart(o *sheetOptions) error {
	if !strings.EqualFold(filepath.Ext(k.key), ".json") {
		return fault.New(fmt.Sprintf("the key %q does not end in .json", k.key), "give --key a name such as key.json")
	}
	if !strings.EqualFold(filepath.Ext(k.answers), ".csv") {
		return fault.New(fmt.Sprintf("the answer list %q does not end in .csv", k.answers), "give --answers a name such as answers.csv")
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	if err := o.files.Add(k.key, keyForm); err != nil {
		return err
	}
	return o.files.Add(k.answers, answersForm)
}
