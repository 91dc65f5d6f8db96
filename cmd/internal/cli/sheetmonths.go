package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/sheet"
)

// kindMade is what --json prints of a page that is of no single reading.
type kindMade struct {
	Schema  string `json:"schema"`
	Page    string `json:"page"`
	File    string `json:"file"`
	For     string `json:"for"`
	Paper   string `json:"paper"`
	Locale  string `json:"locale"`
	Athlete string `json:"athlete,omitempty"`
}

// options are those of a page that is for a coach unless --for says otherwise.
func (k *sheetKinds) options(o *sheetOptions) (sheet.Options, error) {
	who := string(sheet.Coach)
	if k.given.Changed("for") {
		who = o.reader
	}
	if err := desk.OneOf("for", who, sheet.CoachAudiences...); err != nil {
		return sheet.Options{}, err
	}
	plain := *o
	plain.reader = string(sheet.Judge) // whose sheet asks for nothing of its own
	opt, err := plain.options()
	opt.For = sheet.Audience(who)
	return opt, err
}

// oneAthlete is the only argument of a page from the journal.
func (o *sheetOptions) oneAthlete(page string) (string, error) {
	if len(o.from) != 1 {
		return "", fault.New(fmt.Sprintf("--%s is of one athlete, and %d were given", page, len(o.from)), fmt.Sprintf("name one, as: ecart sheet --%s Wren", page))
	}
	return o.from[0], nil
}

// writeKind makes the page before anything is written, and says where it is.
func (o *sheetOptions) writeKind(ctx context.Context, s streams, page, athlete string, opt sheet.Options, make func(io.Writer) error) error {
	var b bytes.Buffer
	if err := make(&b); err != nil {
		return err
	}
	if err := o.files.Write(ctx, o.out, output.Page, writes(b.Bytes())); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, kindMade{"ecart/sheet/1", page, o.out, string(opt.For), string(opt.Paper), opt.Locale.String(), athlete})
	}
	_, err := fmt.Fprintln(s.out, o.out)
	return err
}

// monthsRun writes an athlete's months.
func monthsRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := k.options(o)
	if err != nil {
		return err
	}
	athlete, err := o.oneAthlete("change")
	if err != nil {
		return err
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	c, err := s.desk(o.journal, o.rules).Change(ctx, desk.ChangeAsk{
		Filter: journal.Filter{Athlete: athlete, Measure: o.Measure, Side: o.Side, State: k.state, Condition: k.condition, From: k.from, To: k.to},
		Goal:   k.asked.goal(o.Skill), Confidence: o.Confidence})
	if err != nil {
		return err
	}
	in := desk.MonthsPage(c)
	return o.writeKind(ctx, s, "change", c.Athlete, opt, func(w io.Writer) error { return sheet.WriteMonths(w, in, opt) })
}

// gapsRun writes the screen of an athlete.
func gapsRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := k.options(o)
	if err != nil {
		return err
	}
	athlete, err := o.oneAthlete("screen")
	if err != nil {
		return err
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	r, err := s.desk(o.journal, o.rules).Screen(ctx, desk.ScreenAsk{Athlete: athlete, Movement: k.movement, Day: k.day, Side: o.Side,
		Goal: k.asked.goal(o.Skill), Confidence: o.Confidence, Seed: o.Seed})
	if err != nil {
		return err
	}
	in := desk.ScreenPage(r)
	return o.writeKind(ctx, s, "screen", r.Athlete, opt, func(w io.Writer) error { return sheet.WriteScreen(w, in, opt) })
}
