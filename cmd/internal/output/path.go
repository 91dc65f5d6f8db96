package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// mostLinks is the largest number of symbolic links followed, as in Linux.
const mostLinks = 40

// follow resolves the symbolic links of a path, also if the last one points to a file that
// does not exist. The folder is resolved as far as it exists.
func follow(path string) (string, error) {
	out, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	for range mostLinks {
		if dir, err := filepath.EvalSymlinks(filepath.Dir(out)); err == nil {
			out = filepath.Join(dir, filepath.Base(out))
		}
		to, err := os.Readlink(out)
		if err != nil { // no link, or nothing
			return out, nil
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(out), to)
		}
		out = to
	}
	return "", &fs.PathError{Op: "open", Path: path, Err: syscall.ELOOP}
}

// same reports whether two resolved paths are one file: by name, or as hard links.
func same(a, b string) bool {
	if a == b {
		return true
	}
	x, err := os.Stat(a)
	y, err2 := os.Stat(b)
	return errors.Join(err, err2) == nil && os.SameFile(x, y)
}

func quoted(path string) string { return fmt.Sprintf("%q", path) }
