package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

// ReadSmall reads a file that people write by hand, refusing one that is too large to be
// that. what says in errors what it is.
func ReadSmall(what, path string) ([]byte, error) {
	const most = 8 << 20
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault.New(fmt.Sprintf("there is no %s %q", what, path), "check the name and the folder it is in")
	case err != nil:
		return nil, fault.New(fmt.Sprintf("the %s %q cannot be looked at: %v", what, path, output.Cause(err)), "check the name and the permissions")
	case info.IsDir():
		return nil, fault.New(fmt.Sprintf("the %s %q is a folder", what, path), "name a file in it")
	case !info.Mode().IsRegular():
		return nil, fault.New(fmt.Sprintf("the %s %q is no ordinary file", what, path), "save it to a file first")
	case info.Size() > most:
		return nil, fault.New(fmt.Sprintf("the %s %q has %d bytes, too many for what it is said to be", what, path, info.Size()), "check that it is the right file")
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fault.New(fmt.Sprintf("the %s %q cannot be read: %v", what, path, output.Cause(err)), "check its permissions")
	}
	return data, nil
}
