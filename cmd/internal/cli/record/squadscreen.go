package record

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/record"
)

const (
	wordsWithout   = "without a screen"
	wordsNoTakes   = "no take is missing, and no further take would tell more"
	wordsToTell    = "to tell: "
	wordsLargestIs = "largest: "
)

func squadScreenRun(ctx context.Context, s terminal.Streams, o *ScreenOptions) error {
	switch {
	case o.contrast != "":
		return fault.New("--squad and --contrast were both given, and a contrast is of one athlete", "give --movement with --squad, or name the athlete")
	case o.figure != "":
		return fault.New("--figure is of one athlete, and a squad was asked for", "name the athlete, or write the page: 'ecart sheet screens LIST'")
	}
	if o.all && o.squad != "" {
		return fault.New("--all and --squad both say who is screened", "give one of them")
	}
	r, err := o.SquadScreen(ctx, s, o.squad, o.toTake)
	if err != nil {
		return err
	}
	switch {
	case o.json:
		return terminal.PrintJSON(s.Out, r)
	case o.toTake:
		return printToTake(s.Out, r)
	}
	return printSquadScreen(s.Out, r)
}

// SquadScreen computes the screens of the athletes of a list, or the takes to make of them; if the list is "", of all in
// the journal.
func (o *ScreenOptions) SquadScreen(ctx context.Context, s terminal.Streams, list string, toTake bool) (*record.SquadScreen, error) {
	squad, err := record.SquadOf(list)
	if err != nil {
		return nil, err
	}
	return record.New(s.DeskAt(o.Journal, o.Rules, o.Now)).SquadScreen(ctx, record.SquadScreenAsk{Squad: squad, ScreenAsk: o.Ask(), ToTake: toTake})
}

// Columns of the table: the name, and one for each of the three conditions and the gap before it.
const (
	nameWide  = 11
	levelWide = 12
)

// printSquadScreen prints a block for each screen: the readings, the gaps and their probabilities.
func printSquadScreen(w io.Writer, r *record.SquadScreen) error {
	var p terminal.Printer
	p.Wrap("écart  ", r.Title+", "+r.List)
	p.Line("%s, %s", desk.Count(r.Athletes, "athlete"), desk.Count(len(r.Screens), "screen"))
	for _, outcome := range change.Outcomes {
		heads := false
		for i := range r.Screens {
			s := &r.Screens[i]
			if s.Outcome != outcome {
				continue
			}
			if !heads {
				p.Line("")
				p.Line("%s", change.OutcomeWords[outcome])
				printLevelHeads(&p)
				heads = true
			}
			printAthleteScreen(&p, s)
		}
	}
	p.Line("")
	if len(r.Without) > 0 {
		p.Line("%s", wordsWithout)
	}
	for _, n := range r.Without {
		p.Wrap("  ", record.Sided(n.Athlete, n.Side)+": "+n.Why)
	}
	if n := r.Takes(); n > 0 {
		p.Wrap("", fmt.Sprintf("%s would complete or decide screens: --to-take lists them", desk.Count(n, "take")))
	}
	printNotes(&p, r)
	return p.Print(w)
}

func printLevelHeads(p *terminal.Printer) {
	row := func(of []string) {
		line := strings.Repeat(" ", nameWide)
		for _, h := range of {
			line += fmt.Sprintf("%*s", levelWide, h)
		}
		p.Line("%s", line)
	}
	row([]string{movement.Passive, movement.Active, movement.InSkill})
	row([]string{change.Range, change.Control, change.Use})
}

func printAthleteScreen(p *terminal.Printer, s *record.AthleteScreen) {
	name := s.Athlete
	if rs := []rune(name); len(rs) > nameWide-1 {
		name = string(rs[:nameWide-2]) + "…"
	}
	angles, sizes, chances := [3]string{}, [3]string{}, [3]string{}
	for k, c := range []string{movement.Passive, movement.Active, movement.InSkill} {
		for i := range s.Levels {
			if l := &s.Levels[i]; l.Condition == c {
				angles[k] = terminal.Plain(desk.PlusMinus(l.AngleDeg, terminal.Half(l.IntervalDeg)))
				if l.AtLeast {
					angles[k] = strings.TrimSpace(wordsAtLeast) + angles[k]
				}
			}
		}
		for i := range s.Gaps {
			if g := &s.Gaps[i]; g.To == c && g.Name != change.Swing {
				sizes[k], chances[k] = terminal.Plain(desk.PlusMinus(g.Deg, terminal.Half(g.IntervalDeg))), gapProbability(g)
			}
		}
	}
	row := func(head string, cells [3]string) {
		p.Line("%s%*s%*s%*s", terminal.Padded(head, nameWide), levelWide, cells[0], levelWide, cells[1], levelWide, cells[2])
	}
	row(name, angles)
	row(s.Side, sizes)
	row(s.Day.Format(time.DateOnly), chances)
	for i := range s.Gaps {
		if g := &s.Gaps[i]; g.Name == change.Swing {
			p.Wrap("  ", fmt.Sprintf("swing %s (%s)", terminal.Plain(desk.PlusMinus(g.Deg, terminal.Half(g.IntervalDeg))), gapProbability(g)))
		}
	}
	if s.Largest != "" {
		p.Wrap("  ", wordsLargestIs+s.Largest)
	}
	for i, q := range s.OpenWords() {
		head := wordsToTell
		if i > 0 {
			head = strings.Repeat(" ", len(head))
		}
		p.Wrap("  "+head, q)
	}
}

// printToTake prints a line with boxes to tick for each athlete, condition by condition.
func printToTake(w io.Writer, r *record.SquadScreen) error {
	var p terminal.Printer
	p.Wrap("écart  ", r.Title+", "+r.List)
	p.Line("%s to make, %s", desk.Count(r.Takes(), "take"), r.Today)
	if len(r.ToTake) == 0 {
		p.Line("")
		p.Wrap("", wordsNoTakes)
	}
	for _, c := range r.ToTake {
		p.Line("")
		p.Line("%s", c.Condition)
		for _, a := range c.Athletes {
			var sides []string
			for _, s := range a.Sides {
				sides = append(sides, terminal.Held(strings.TrimSpace(s.Side+" "+strings.Repeat("□", s.Takes))))
			}
			p.Wrap("  "+a.Athlete+"  ", strings.Join(sides, "  "))
		}
	}
	p.Line("")
	for _, n := range r.NotByTakesWords() {
		p.Wrap("noted:   ", n)
	}
	printNotes(&p, r)
	return p.Print(w)
}

func printNotes(p *terminal.Printer, r *record.SquadScreen) {
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.Cautions {
		p.Wrap("caution: ", c)
	}
}

func squadAndAthlete(name string) error {
	return fault.New(fmt.Sprintf("'ecart screen' was given the athlete %q and a squad", name), "give one of them")
}

func toTakeOfOne() error {
	return fault.New("--to-take is of a squad, and one athlete was named", "give --squad LIST or --all in place of the athlete")
}
