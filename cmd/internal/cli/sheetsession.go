package cli

import (
	"context"
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/sheet"
)

// sessionRun writes a session of many athletes, or what one of them showed in it.
func sessionRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := k.options(o)
	if err != nil {
		return err
	}
	if len(o.from) != 1 {
		return fault.New(fmt.Sprintf("--squad is of one list, and %d were given", len(o.from)), "give one LIST, as 'ecart squad' reads")
	}
	one := strings.TrimSpace(o.who)
	switch {
	case opt.For == sheet.Coach && one != "":
		return fault.New("a coach's page of a session has everyone on it, and --who names one", "leave --who out, or give --for athlete or --for parent")
	case opt.For != sheet.Coach && one == "":
		return fault.New(fmt.Sprintf("the page of a session for the %s is of one athlete, and none was named", opt.For), "give --who NAME: the others are not on the page")
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	o.keep.Day, o.keep.State, o.keep.Condition = k.day, k.state, k.condition
	d := s.desk(o.journal, o.rules)
	list, err := d.OpenList(desk.ListAsk{Path: o.from[0], Ask: o.Ask, Filing: o.keep.Filing})
	if err != nil {
		return err
	}
	run := d.ReadList(ctx, list, s.listEvents)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	r := list.Report(run)
	in, err := list.Page(r, one)
	if err != nil {
		return err
	}
	if err := o.writeKind(ctx, s, "squad", in.Who, opt, func(w io.Writer) error { return sheet.WriteSquad(w, in, opt) }); err != nil {
		return err
	}
	if one == "" {
		return squadOutcome(r, false)
	}
	return nil
}
