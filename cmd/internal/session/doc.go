// Package session reads a session of many athletes: a list with one take a row, as a
// spreadsheet or a person writes it, becomes one report.
//
//	athlete;take;seeds;skill;condition
//	Wren;wren.mp4;wren.marks.json;split-leap;in-skill
//
//	list    Parse: columns, rows, encodings (list.go, columns.go, decode.go)
//	run     Run reads the takes, two at a time; Keep files them (question.go, run.go)
//	memory  readings of earlier runs, sealed (memory.go)
//	report  readings, who meets what is asked, gaps, failures; its JSON (report.go, standing.go, screen.go)
//
// A fault of the whole list is an error of Parse. A fault of one row is stored in that row,
// and the others are read.
//
// The package has no flags, no terminal and no HTTP, and opens no take: the caller gives a
// Reader, which turns a row into a Question that knows how to make its reading. That is
// desk.RowReader, so that this package builds without cgo.
package session

import (
	"fmt"

	"ecart/cmd/internal/fault"
)

// newError returns an error of a list or of one of its rows.
func newError(hint, format string, a ...any) *fault.Error {
	return fault.New(fmt.Sprintf(format, a...), hint)
}
