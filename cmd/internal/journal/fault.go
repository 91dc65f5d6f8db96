package journal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

// ErrAbsent is wrapped by an error for a journal, an athlete or a reading that does not
// exist.
var ErrAbsent = errors.New("not there")

func absent(fact, hint string) *fault.Error { return fault.New(fact, hint).Because(ErrAbsent) }

// movedMark begins the message of the triggers that prevent writing to a journal that was
// moved to another place.
const movedMark = "the journal was moved to "

// code returns the primary result code of an SQLite error, 0 for any other error.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// explain converts an error of the file to one for the user. doing says what was not done,
// such as "the reading was not kept".
func explain(err error, path, doing string) error {
	var hinted interface{ Hint() string }
	if err == nil || errors.As(err, &hinted) {
		return err
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	failed := func(fact, hint string) error { return fault.Failed(fact+": "+doing, hint, err) }
	_, moved, isMoved := strings.Cut(err.Error(), movedMark)
	switch c := code(err); {
	case isMoved:
		moved = moved[:max(0, strings.LastIndex(moved, " ("))] // SQLite's code in brackets
		return failed(fmt.Sprintf("the journal %q was moved to %q while it was open", path, moved), "open the journal at its new place and do it again")
	case c == lib.SQLITE_FULL || errors.Is(err, syscall.ENOSPC):
		return failed(fmt.Sprintf("the drive with the journal %q is full", path), "make room and do it again; what was kept before is safe")
	case c == lib.SQLITE_READONLY || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS):
		return failed(fmt.Sprintf("the journal %q cannot be written", path), "give yourself the right to write to the file and its folder, or name another with "+fault.Option("journal")+" FILE")
	case c == lib.SQLITE_BUSY || c == lib.SQLITE_LOCKED:
		return failed(fmt.Sprintf("another program is writing to the journal %q and did not finish", path), "wait until it is done, or close it, and do it again")
	case c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB:
		return failed(fmt.Sprintf("the journal %q is damaged", path), "leave the file as it is and go back to a copy or an export of it: "+fault.Operation("import a journal"))
	case c == lib.SQLITE_CANTOPEN:
		return failed(fmt.Sprintf("the journal %q cannot be opened", path), "SQLite needs to make two files beside it; see that its folder can be written")
	case c == lib.SQLITE_IOERR && noSpace(err):
		return failed(fmt.Sprintf("the drive with the journal %q has no room for the files that SQLite keeps beside it", path), "make room and do it again; what was kept before is safe")
	case c == lib.SQLITE_IOERR:
		return failed(fmt.Sprintf("the drive with the journal %q does not work as it should", path), "check the drive and its room, then do it again; what was kept before is safe")
	case c == lib.SQLITE_NOMEM || c == lib.SQLITE_TOOBIG:
		return failed(fmt.Sprintf("the journal %q takes more memory than there is", path), "close other programs and do it again")
	case c == lib.SQLITE_INTERRUPT:
		return context.Canceled
	case c != 0:
		return failed(fmt.Sprintf("the journal %q is not as this version of ecart left it", path), "leave the file as it is and go back to a copy or an export of it: "+fault.Operation("import a journal"))
	}
	return fault.Failed(fmt.Sprintf("the journal %q cannot be used (%v): %s", path, output.Cause(err), doing), "check the file, its folder and its permissions", err)
}

// noSpace reports whether SQLite failed to enlarge the write-ahead log or its index file,
// which programs share.
func noSpace(err error) bool {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return false
	}
	switch e.Code() {
	case lib.SQLITE_IOERR_SHMSIZE, lib.SQLITE_IOERR_SHMOPEN, lib.SQLITE_IOERR_SHMMAP, lib.SQLITE_IOERR_WRITE, lib.SQLITE_IOERR_TRUNCATE:
		return true
	}
	return false
}
