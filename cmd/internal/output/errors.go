package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"
)

// Error says what is wrong with an output, and what to do.
type Error struct {
	fact, hint string
	err        error
	failed     bool
}

func (e *Error) Error() string { return e.fact }

// Hint says what to do.
func (e *Error) Hint() string { return e.hint }

// Failed says that the disk or the folder is at fault, and not the call.
func (e *Error) Failed() bool { return e.failed }

// Unwrap is the system's error, or nil.
func (e *Error) Unwrap() error { return e.err }

func refused(hint, format string, a ...any) error {
	return &Error{fact: fmt.Sprintf(format, a...), hint: hint}
}

func impossible(path, hint, format string, a ...any) error {
	return &Error{fact: fmt.Sprintf("%q cannot be written: %s", path, fmt.Sprintf(format, a...)), hint: hint, failed: true}
}

// CannotWrite words a system's error for the file that could not be written.
func CannotWrite(path string, err error) error {
	var known *Error
	if errors.As(err, &known) {
		return err
	}
	hint := "check the folder, its permissions and the room left on the disk"
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		hint = "make room on the disk, or name another place; nothing was written"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		hint = "give yourself the right to write there, or name another place"
	}
	return &Error{fmt.Sprintf("%q cannot be written: %v", path, Cause(err)), hint, err, true}
}

// Cause is a system's reason alone, without the operation and the temporary name.
func Cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}
