// Package desk is the work behind the command line and the page: a take, marks and
// options become a reading, a track, a clip with the angle in it, an entry of the
// journal; a list becomes a session, takes a quiz. Package record goes on from there with
// what is kept.
//
//	ask.go, moment.go, rules.go   what is asked, as a person writes it, and its checks; small files
//	read.go, follow.go, paths.go  reading a frame or a peak, following stickers and points
//	propose*.go, moving.go        proposed marks and moments, and where somebody moves
//	record.go, cover.go           drawn clips; which part of a picture is covered
//	keep.go, rater.go             how a reading is filed, the day of its take, the placement figure of a rater
//	journal.go, remake.go         the file of the journal; kept readings computed again
//	repeat*.go                    how well a rater repeats
//	list.go, squad.go             the list of a squad, and its rows for package session
//	sheet.go, sessionpages.go     what the pages show
//	quiz.go                       quizzes: key, answers, score
//	takes.go                      takes found by their content
//
// It has no flag, no HTTP and no terminal. An error names an option with
// [fault.Option], and another thing that écart does with [fault.Operation], and the caller
// words both: as a flag or a command, as a column, as a part of the page; so are notes, which tell what is worth knowing beside the result.
package desk

import (
	"fmt"
	"runtime/debug"
	"sync"
	"time"

	"ecart/cmd/internal/rulebook"
)

// Options say where a desk finds files, and what receives its notes and progress. The zero value has the usual
// places and drops notes and progress.
type Options struct {
	Journal string // file; "" is the usual one
	Rules   string // folder of rule books; "" is the usual one
	Now     func() time.Time
	Note    func(line string) // receives what is worth knowing beside the result; options are marked in it
	Doing   func(what string) // receives what is being done from now on, such as `opening "leap.mp4"`; "" is nothing
}

// Desk does the work. Several goroutines may use one at the same time if Note and Doing may
// be called so.
type Desk struct {
	opt   Options
	books *books
}

// books is what copies of a desk share: the rule books, loaded when they are first needed, and a lock.
type books struct {
	mu  sync.Mutex
	lib *rulebook.Library

	network sync.Mutex // held while the pose network runs
}

// New returns a desk. It opens no file.
func New(o Options) *Desk {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Note == nil {
		o.Note = func(string) {}
	}
	if o.Doing == nil {
		o.Doing = func(string) {}
	}
	return &Desk{o, &books{}}
}

// Silent returns the desk without notes and progress, for use by several goroutines.
func (d *Desk) Silent() *Desk { return d.with(func(string) {}) }

// with returns the desk with other receivers of notes and progress.
func (d *Desk) with(note func(string)) *Desk {
	o := d.opt
	o.Note, o.Doing = note, func(string) {}
	return &Desk{o, d.books}
}

// Now returns the present time.
func (d *Desk) Now() time.Time { return d.opt.Now() }

func (d *Desk) note(format string, a ...any) { d.opt.Note(fmt.Sprintf(format, a...)) }

// released is the changelog's newest version; 'make' sets it when linking.
var released string

// Version returns the changelog's newest version; if it is not known, the version of the
// module as it was built.
func Version() string {
	if released != "" {
		return released
	}
	return Build()
}

// Build returns the version of the module as it was built, which differs from commit to commit.
func Build() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(unknown)"
}
