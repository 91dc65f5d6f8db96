package cli

import (
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
)

// desk is where the work of a command is done, with a journal and a folder of rule books, ""
// for the usual ones. Its notes go to standard error, and what is being done to a terminal.
func (s streams) desk(journal, rules string) *desk.Desk { return s.deskAt(journal, rules, nil) }

// deskAt is desk with a clock of its own.
func (s streams) deskAt(journal, rules string, now func() time.Time) *desk.Desk {
	done := func() {}
	return desk.New(desk.Options{Journal: journal, Rules: rules, Now: now,
		Note: func(line string) {
			done()
			fmt.Fprintln(s.err, oneLine(fault.Worded(line, asFlag)))
		},
		Doing: func(what string) {
			if done(); what != "" {
				done = s.working(what)
			}
		}})
}

// asFlag is an option as the command line calls it.
func asFlag(option string) string { return "--" + option }

func addRulesDir(f *pflag.FlagSet, dir *string) {
	f.StringVar(dir, "rules", "", "a `FOLDER` of rule books of your own; else ecart/rules in your configuration folder")
}
