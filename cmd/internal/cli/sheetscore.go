package cli

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
)

// scoreRun scores a list of answers.
func scoreRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if len(o.from) > 0 {
		return &inputError{fmt.Sprintf("--score scores one list, and %q was given too", o.from), "give one list of answers at a time"}
	}
	page := k.given.Changed("out")
	if page {
		o.files.From(k.score, k.key)
		if err := o.files.Add(o.out, output.Page); err != nil {
			return err
		}
	}
	data, err := readSmall("key", k.key)
	if err != nil {
		return err
	}
	key, err := quiz.ParseKey(k.key, data)
	if err != nil {
		return err
	}
	if data, err = readSmall("answer list", k.score); err != nil {
		return err
	}
	rows, note, err := session.Table(k.score, data, "question", "band", "quiz")
	if err != nil {
		return err
	}
	if note != "" {
		fmt.Fprintln(s.err, oneLine(note))
	}
	answers, err := key.ParseAnswers(k.score, rows)
	if err != nil {
		return err
	}
	score, err := key.Mark(answers)
	if err != nil {
		return err
	}
	if page {
		var b bytes.Buffer
		if err := sheet.WriteScore(&b, sheet.ScoreInput{Who: o.who, Key: key, Score: score}, opt); err != nil {
			return err
		}
		if err := o.files.Write(ctx, o.out, output.Page, writes(b.Bytes())); err != nil {
			return err
		}
	}
	if o.json {
		return printJSON(s.out, score)
	}
	return printScore(s.out, key, score, strings.TrimSpace(o.who))
}
