package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"ecart/cmd/internal/fault"
)

func refused(hint, format string, a ...any) error { return fault.New(fmt.Sprintf(format, a...), hint) }

func impossible(path, hint, format string, a ...any) error {
	return fault.Failed(fmt.Sprintf("%q cannot be written: %s", path, fmt.Sprintf(format, a...)), hint, nil)
}

// CannotWrite converts a system error to one for the user about the file path.
func CannotWrite(path string, err error) error {
	var known *fault.Error
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
	return fault.Failed(fmt.Sprintf("%q cannot be written: %v", path, Cause(err)), hint, err)
}

// Cause returns a system error without the operation and the temporary file name.
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
