// Package record answers questions about several kept readings: an athlete's months, screens and
// contrasts, a group, a plan of takes; and it lists, erases and moves readings.
//
//	athletes.go                      the roster and an athlete's months; erasing and moving
//	kept.go                          kept readings as sessions and package change take them
//	change*.go                       how an angle changed, and the angles read beside it
//	growth.go                        stature over time
//	screen.go, contrast.go           where degrees are missing; what limits an angle
//	squadscreen.go, totake.go        the screens of a squad, and the takes that would decide them
//	group.go, plan.go                a group's mean change; how many takes a change needs
//	pages.go                         what the sheets of these show
//
// Like package desk it has no flags, no HTTP and no terminal.
package record

import "ecart/cmd/internal/desk"

// Record is a desk with its journal.
type Record struct{ *desk.Desk }

// New returns the record of a desk. It opens no file.
func New(d *desk.Desk) *Record { return &Record{d} }
