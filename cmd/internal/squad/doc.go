// Package squad reads the list of a session: a table of many athletes, one take a
// row, as a spreadsheet or a hand writes it. It is pure: what a row says is not
// looked up, and no file is opened.
//
//	athlete;take;seeds;skill;condition
//	Wren;wren.mp4;wren.marks.json;split-leap;in-skill
//
// What is wrong with the list as a whole is an error; what is wrong with one row
// stands in that row, and the others are read.
package squad

import "fmt"

// Fault is what is wrong with a list or with one of its rows.
type Fault struct{ fact, hint string }

func fault(hint, format string, a ...any) *Fault { return &Fault{fmt.Sprintf(format, a...), hint} }

func (f *Fault) Error() string { return f.fact }

// Hint says what to do next.
func (f *Fault) Hint() string { return f.hint }
