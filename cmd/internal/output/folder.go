package output

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// TempFolder makes a folder for files that a run needs while it lasts, in the
// system's folder for such. Its name begins with prefix, and it may hold files of the
// names given. remove ends it. What killed runs left of the same kind is removed.
func TempFolder(prefix string, names ...string) (dir string, remove func(), err error) {
	sweepFolders(prefix, names)
	for {
		if dir, err = os.MkdirTemp("", prefix); err != nil {
			return "", nil, err
		}
		d, err := os.Open(dir)
		if err == nil && lock(d) && stands(d, dir) {
			return dir, func() { os.RemoveAll(dir); d.Close() }, nil
		}
		if err != nil && !os.IsNotExist(err) { // else another run swept it away before it was locked
			return "", nil, err
		}
		if d != nil {
			d.Close()
		}
	}
}

// sweepFolders removes folders that no run has locked, and that have nothing in them
// but files of the names given.
func sweepFolders(prefix string, names []string) {
	entries, _ := os.ReadDir(os.TempDir())
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), prefix) {
			continue
		}
		dir := filepath.Join(os.TempDir(), e.Name())
		d, err := os.Open(dir)
		if err != nil {
			continue // somebody else's
		}
		in, err := d.Readdirnames(-1)
		strange := func(name string) bool { return !slices.Contains(names, name) }
		if err == nil && !slices.ContainsFunc(in, strange) && lock(d) {
			os.RemoveAll(dir)
		}
		d.Close()
	}
}
