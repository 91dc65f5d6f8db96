package output

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// TempFolder creates a folder for temporary files of a run, in the system's temporary
// folder. Its name begins with prefix, and it may contain only files with the names
// given. remove removes it. Folders of the same kind left by killed runs are removed.
func TempFolder(prefix string, names ...string) (dir string, remove func(), err error) {
	sweepFolders(prefix, names)
	for {
		if dir, err = os.MkdirTemp("", prefix); err != nil {
			return "", nil, err
		}
		d, err := os.Open(dir)
		if err == nil && lock(d) && isAt(d, dir) {
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

// sweepFolders removes folders that no run has locked and that contain only files with the
// names given.
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
