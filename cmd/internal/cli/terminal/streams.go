// Package terminal is for printing, in all commands: streams, lines broken between words, a
// ruler drawn in characters, JSON, and progress. It has no command and no flag.
package terminal

import (
	"fmt"
	"io"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/text"
)

// Streams are where a command reads and writes.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Results is standard output; a write error is a failure of the command.
type Results struct{ io.Writer }

func (r Results) Write(b []byte) (int, error) {
	n, err := r.Writer.Write(b)
	if err != nil {
		err = fault.Failed(fmt.Sprintf("the result cannot be written to standard output: %v", output.Cause(err)), "check where standard output goes, and the room left there", err)
	}
	return n, err
}

// OneLine and Printable remove line breaks and control characters from text.
var OneLine, Printable = text.OneLine, text.Printable

// Desk returns a desk with a journal and a folder of rule books; "" is the usual one. Its notes go
// to standard error, its progress to a terminal.
func (s Streams) Desk(journal, rules string) *desk.Desk { return s.DeskAt(journal, rules, nil) }

// DeskAt is Desk with the given clock.
func (s Streams) DeskAt(journal, rules string, now func() time.Time) *desk.Desk {
	done := func() {}
	return desk.New(desk.Options{Journal: journal, Rules: rules, Now: now,
		Note: func(line string) {
			done()
			fmt.Fprintln(s.Err, OneLine(fault.Worded(line, Door)))
		},
		Doing: func(what string) {
			if done(); what != "" {
				done = s.Working(what)
			}
		}})
}
