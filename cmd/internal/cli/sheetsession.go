package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
)

// sessionRun writes a session of many athletes, or what one of them showed in it.
func sessionRun(ctx context.Context, s streams, o *sheetOptions, k *sheetKinds) error {
	opt, err := k.options(o)
	if err != nil {
		return err
	}
	if len(o.from) != 1 {
		return &inputError{fmt.Sprintf("--squad is of one list, and %d were given", len(o.from)), "give one LIST, as 'ecart squad' reads"}
	}
	one := strings.TrimSpace(o.who)
	switch {
	case opt.For == sheet.Coach && one != "":
		return &inputError{"a coach's page of a session has everyone on it, and --who names one", "leave --who out, or give --for athlete or --for parent"}
	case opt.For != sheet.Coach && one == "":
		return &inputError{fmt.Sprintf("the page of a session for the %s is of one athlete, and none was named", opt.For), "give --who NAME: the others are not on the page"}
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	o.keep.day, o.keep.state, o.keep.condition = k.day, k.state, k.condition
	run, data, err := o.squadRead(ctx, s, o.from[0])
	if err != nil {
		return err
	}
	r := run.Report(filepath.Base(o.from[0]), data)
	if r.Read == 0 {
		f := r.NotRead[0]
		return &inputError{fmt.Sprintf("no row of %q was read; line %d: %s", o.from[0], f.Line, f.Reason), f.Do}
	}
	in := sessionPage(r)
	if one != "" {
		if err := onlyOf(r, &in, one); err != nil {
			return err
		}
	}
	if err := o.writeKind(ctx, s, "squad", in.Who, opt, func(w io.Writer) error { return sheet.WriteSquad(w, in, opt) }); err != nil {
		return err
	}
	if one == "" {
		return squadOutcome(r, false)
	}
	return nil
}

// sessionPage is the session as its page shows it. A row that was not read is named by
// its line, since a page names no file.
func sessionPage(r *session.Report) sheet.SquadInput {
	d := squadPicture(r, func(f *session.Failure) string {
		return fmt.Sprintf("line %d of the list: 'ecart squad' says why", f.Line)
	})
	in := sheet.SquadInput{Day: d.Day, Rows: d.Rows, Notes: r.Notes, Cautions: r.Cautions, Gaps: r.LargestGaps()}
	for _, g := range []struct {
		from []session.Standing
		to   *[]string
	}{{r.Short, &in.Short}, {r.Meets, &in.Meets}, {r.Undecided, &in.Undecided}} {
		for _, a := range g.from {
			*g.to = append(*g.to, a.String())
		}
	}
	return in
}

// onlyOf leaves one athlete on the page.
func onlyOf(r *session.Report, in *sheet.SquadInput, who string) error {
	var names []string
	for i := range r.Athletes {
		a := &r.Athletes[i]
		names = append(names, a.Athlete)
		if session.Key(a.Athlete) != session.Key(who) {
			continue
		}
		*in = sheet.SquadInput{Who: a.Athlete}
		var days []string
		for _, one := range a.Readings {
			if one.Day != "" {
				days = append(days, one.Day)
			}
			in.Readings = append(in.Readings, sheet.SquadReading{Condition: one.Condition, Side: one.Side, State: one.State, Counts: one.Counts, Reading: one.Reading})
		}
		in.Day = daysWords(days)
		return nil
	}
	return &inputError{fmt.Sprintf("nobody called %q was read in %q", who, r.List.Name), "read were " + strings.Join(names, ", ")}
}
