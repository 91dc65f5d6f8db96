package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// ErrAbsent is in the chain of an error that says that the journal, the athlete
// or the reading asked for is not there.
var ErrAbsent = errors.New("not there")

// Fault is an error that a person can act on: what is wrong, and what to do.
type Fault struct {
	fact, hint string
	err        error
	failed     bool
}

func fault(fact, hint string) *Fault { return &Fault{fact: fact, hint: hint} }

func absent(fact, hint string) *Fault { return &Fault{fact: fact, hint: hint, err: ErrAbsent} }

func (f *Fault) Error() string { return f.fact }

// Hint says what to do next.
func (f *Fault) Hint() string { return f.hint }

// Failed says that the drive or the file is at fault, and not what was asked.
func (f *Fault) Failed() bool { return f.failed }

// Unwrap is what lies behind it: a system's error, ErrAbsent, or nothing.
func (f *Fault) Unwrap() error { return f.err }

// movedMark begins the message of the trigger that stops writing to a journal
// which was moved to another place.
const movedMark = "the journal was moved to "

// code is the primary result code of SQLite, 0 for another error.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// explain puts what went wrong with the file into words. doing says what was not
// done: "the reading was not kept".
func explain(err error, path, doing string) error {
	var known *Fault
	if err == nil || errors.As(err, &known) {
		return err
	}
	say := func(fact, hint string) error { return &Fault{fact + ": " + doing, hint, err, true} }
	_, moved, isMoved := strings.Cut(err.Error(), movedMark)
	switch c := code(err); {
	case isMoved:
		moved = moved[:max(0, strings.LastIndex(moved, " ("))] // SQLite's code in brackets
		return say(fmt.Sprintf("the journal %q was moved to %q while it was open", path, moved), "open the journal at its new place and do it again")
	case c == lib.SQLITE_FULL || errors.Is(err, syscall.ENOSPC):
		return say(fmt.Sprintf("the drive with the journal %q is full", path), "make room and do it again; what was kept before is safe")
	case c == lib.SQLITE_READONLY || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS):
		return say(fmt.Sprintf("the journal %q cannot be written", path), "give yourself the right to write to the file and its folder, or name another with --journal FILE")
	case c == lib.SQLITE_BUSY || c == lib.SQLITE_LOCKED:
		return say(fmt.Sprintf("another program is writing to the journal %q and did not finish", path), "wait until it is done, or close it, and do it again")
	case c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB:
		return say(fmt.Sprintf("the journal %q is damaged", path), "leave the file as it is and go back to a copy or an export of it: 'ecart journal import FILE --journal NEW'")
	case c == lib.SQLITE_CANTOPEN:
		return say(fmt.Sprintf("the journal %q cannot be opened", path), "SQLite needs to make two files beside it; see that its folder can be written")
	case c == lib.SQLITE_IOERR:
		return say(fmt.Sprintf("the drive with the journal %q does not work as it should (%v)", path, err), "check the drive and its room, then do it again; what was kept before is safe")
	}
	return fmt.Errorf("journal %q: %s: %w", path, doing, err)
}
