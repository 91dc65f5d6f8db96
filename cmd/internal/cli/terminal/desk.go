package terminal

import (
	"fmt"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
)

// Desk returns a desk with a journal and a folder of rule books; "" is the usual one. Its notes go
// to standard error, its progress to a terminal.
func (s Streams) Desk(journal, rules string) *desk.Desk { return s.DeskAt(journal, rules, nil) }

// DeskAt is Desk with the given clock.
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

// AsFlag returns the flag of an option.
func AsFlag(option string) string { return "--" + option }
