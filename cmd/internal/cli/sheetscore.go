package cli

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/sheet"
)

// scoreRun scores a list of answers.
func scoreRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := o.options()
	if err != nil {
		return err
	}
	if len(o.from) > 0 {
		return fault.New(fmt.Sprintf("--score scores one list, and %q was given too", o.from), "give one list of answers at a time")
	}
	page := k.given.Changed("out")
	if page {
		o.files.From(k.score, k.key)
		if err := o.files.Add(o.out, output.Page); err != nil {
			return err
		}
	}
	key, score, err := s.desk("", "").Score(k.key, k.score)
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
