// Package record is what several kept readings say together: an athlete's months, screens
// and contrasts, a group, a plan of takes, and what the record itself is: its roster, and
// what is erased or filed otherwise.
//
//	athletes.go                      the roster and an athlete's months; what is erased or filed otherwise
//	kept.go, fromjournal.go          kept readings as sessions and package change take them
//	change*.go, besidetrends.go      what became of an angle, and of the angles beside it
//	growth.go                        stature over time
//	screen*.go, contrast.go          where degrees are missing; what limits an angle
//	whosquad.go, squadscreen.go, totake.go   the screens of a squad, and the takes that would tell
//	group.go, plan.go, typical.go    a group's mean change; how many takes a change needs
//	pages.go                         what the sheets of these show
//
// It works as package desk does: no flag, no HTTP, no terminal, and the same errors and notes.
package record

import "ecart/cmd/internal/desk"

// Record is a desk with its journal.
type Record struct{ *desk.Desk }

// Of returns the record of a desk. It opens no file.
func Of(d *desk.Desk) *Record { return &Record{d} }
