package terminal

import (
	"fmt"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
)

// Desk is where the work of a command is done, with a journal and a folder of rule books, ""
// for the usual ones. Its notes go to standard error, and what is being done to a terminal.
func (s Streams) Desk(journal, rules string) *desk.Desk { return s.DeskAt(journal, rules, nil) }

// DeskAt is desk with a clock of its own.
func (s Streams) DeskAt(journal, rules string, now func() time.Time) *desk.Desk {
	done := func() {}
	return desk.New(desk.Options{Journal: journal, Rules: rules, Now: now,
		Note: func(line string) {
			done()
			fmt.Fprintln(s.Err, OneLine(fault.Worded(line, AsFlag)))
		},
		Doing: func(what string) {
			if done(); what != "" {
				done = s.Working(what)
			}
		}})
}

// AsFlag is an option as the command line calls it.
func AsFlag(option string) string { return "--" + option }
