package record

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
)

// screenArgs takes an athlete, and none where a squad is screened or the list is asked for.
func screenArgs(o *ScreenOptions) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case o.list:
			return flags.NoArgs(c, args)
		case (o.squad != "" || o.all) && len(args) > 0:
			return squadAndAthlete(args[0])
		case o.squad != "" || o.all:
			return nil
		}
		return flags.OneArg("athlete")(c, args)
	}
}

// printScreenList prints what a screen can be of.
func printScreenList(w io.Writer, l *record.ScreenList) error {
	var p terminal.Printer
	p.Line("%s", wordsMovements)
	for _, m := range l.Movements {
		words := m.Title + ", from " + m.Measure
		if m.Variant != "" {
			words += " kept with --variant " + m.Variant
		}
		if m.Less {
			words += "; less is better"
		}
		p.Wrap(fmt.Sprintf("  %-10s ", m.Name), words)
	}
	p.Line("")
	p.Line("%s", wordsContrasts)
	for _, c := range l.Contrasts {
		p.Wrap(fmt.Sprintf("  %-14s ", c.Name), c.Title+": --variant "+c.Taut+" against "+c.Slack)
		p.Wrap("                 ", "separates "+c.Separates)
	}
	p.Line("")
	p.Line("%s", wordsPositions)
	last := ""
	for _, v := range l.Variants {
		if v.Measure != last {
			last = v.Measure
			p.Line("  %s", last)
		}
		words := v.Words
		if v.Thigh {
			words += "; read with --leg thigh"
		}
		p.Wrap(fmt.Sprintf("    %-22s ", v.Name), words)
	}
	return p.Print(w)
}
