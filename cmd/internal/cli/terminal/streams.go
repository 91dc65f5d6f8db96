// Package terminal is what all commands print with: streams, lines broken between words, a
// ruler drawn in characters, JSON, and progress. It has no command and no flag.
package terminal

import (
	"fmt"
	"io"

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
