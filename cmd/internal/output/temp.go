package output

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// temp is a file that is being written. It has no name, or one that [Sweep] recognises. It
// stays locked until it is closed.
type temp struct {
	file   *os.File
	name   string // "" if it has no name
	target string
	fresh  bool // the target must not exist yet
	closed bool
}

// partName matches the temporary name of a file that is being written.
var partName = regexp.MustCompile(`^\.ecart-[0-9a-f]{16}\.part$`)

func newPartName(dir string) string {
	return filepath.Join(dir, fmt.Sprintf(".ecart-%016x.part", rand.Uint64()))
}

// newTemp opens a temporary file in the folder of target, after removing what killed runs
// left there. It has the permissions of target, or those of a new file.
func newTemp(target string) (*temp, error) {
	dir := filepath.Dir(target)
	Sweep(dir)
	t := &temp{target: target}
	var err error
	if t.file, err = unnamed(dir); err != nil {
		if t.file, t.name, err = named(dir); err != nil {
			return nil, err
		}
	}
	if info, err := os.Stat(target); err == nil {
		keepOwner(t.file, info)
		if err := t.file.Chmod(info.Mode().Perm()); err != nil {
			t.discard()
			return nil, err
		}
	} else {
		t.fresh = true
	}
	return t, nil
}

// named opens a locked file with a temporary name.
func named(dir string) (*os.File, string, error) {
	for {
		name := newPartName(dir)
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return nil, "", err
		}
		// another run may have removed it before it was locked
		if lock(f) && isAt(f, name) {
			return f, name, nil
		}
		f.Close()
	}
}

// isAt reports whether name is still the file f.
func isAt(f *os.File, name string) bool {
	a, err := f.Stat()
	if err != nil {
		return false
	}
	b, err := os.Lstat(name)
	return err == nil && os.SameFile(a, b)
}

// commit puts the file in its place. A fresh one replaces no other file.
func (t *temp) commit() error {
	if err := t.file.Sync(); err != nil {
		return err
	}
	if t.fresh {
		err := t.linkTo(t.target)
		if err == nil || errors.Is(err, fs.ErrExist) {
			return errors.Join(err, syncFolder(filepath.Dir(t.target)))
		}
		if t.name == "" {
			return err
		}
		// the file system has no hard links
		if _, there := os.Lstat(t.target); there == nil {
			return &fs.PathError{Op: "link", Path: t.target, Err: fs.ErrExist}
		}
	}
	for t.name == "" {
		name := newPartName(filepath.Dir(t.target))
		lock(t.file) // so that Sweep of another run does not remove it
		err := t.linkTo(name)
		if err == nil {
			t.name = name
		} else if !errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	if err := os.Rename(t.name, t.target); err != nil {
		return err
	}
	t.name = ""
	return syncFolder(filepath.Dir(t.target))
}

// linkTo gives the file another name.
func (t *temp) linkTo(name string) error {
	if t.name != "" {
		return os.Link(t.name, name)
	}
	return linkUnnamed(t.file, name)
}

// discard closes the file, and removes the name under which it was written.
func (t *temp) discard() {
	if t.closed {
		return
	}
	t.closed = true
	if t.name != "" {
		os.Remove(t.name)
	}
	t.file.Close()
}

// Sweep removes temporary files of killed runs from a folder: files with a name of partName
// that no run has locked. It returns their number.
func Sweep(dir string) (removed int) {
	entries, _ := os.ReadDir(dir) // a folder that cannot be read is ignored
	for _, e := range entries {
		if partName.MatchString(e.Name()) && e.Type().IsRegular() && RemoveLeft(filepath.Join(dir, e.Name())) {
			removed++
		}
	}
	return removed
}

// RemoveLeft removes a temporary file unless a run has it locked. It reports whether it
// removed the file.
func RemoveLeft(path string) bool {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	return lock(f) && isAt(f, path) && os.Remove(path) == nil
}

// Lock locks a file until it is closed, so that [RemoveLeft] does not remove it. It reports
// false if another run has locked it.
func Lock(f *os.File) bool { return lock(f) }

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return nil // the user may have the right to write to a folder but not to list it
	}
	defer d.Close()
	d.Sync() // ignored, since some file systems cannot sync a folder
	return nil
}

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
