package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// mostLinks is how many links are followed one after the other, as Linux does.
const mostLinks = 40

// follow is where a path leads through links, also where the last leads nowhere
// yet. The folder is resolved as far as it exists.
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

// same says that two paths, both followed, are one file: by name, or as two names
// of one.
func same(a, b string) bool {
	if a == b {
		return true
	}
	x, err := os.Stat(a)
	y, err2 := os.Stat(b)
	return errors.Join(err, err2) == nil && os.SameFile(x, y)
}

func quoted(path string) string { return fmt.Sprintf("%q", path) }
