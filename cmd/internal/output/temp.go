package output

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
)

// temp is a file that is being written: it has no name, or one by which [Sweep]
// knows it. It stays locked until it is closed.
type temp struct {
	file   *os.File
	name   string // "" of one without a name
	target string
	fresh  bool // the target must not be there yet
	closed bool
}

// partName is the name of a file that is being written, where it needs one.
var partName = regexp.MustCompile(`^\.ecart-[0-9a-f]{16}\.part$`)

func newPartName(dir string) string {
	return filepath.Join(dir, fmt.Sprintf(".ecart-%016x.part", rand.Uint64()))
}

// newTemp opens a file in the folder of target, after removing what killed runs
// left there. It has the permissions of target, or those that a new file has.
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

// named opens a locked file under a name of its own.
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
		// another run may have swept it away before it was locked
		if lock(f) && stands(f, name) {
			return f, name, nil
		}
		f.Close()
	}
}

// stands says that name is still the file f.
func stands(f *os.File, name string) bool {
	a, err := f.Stat()
	if err != nil {
		return false
	}
	b, err := os.Lstat(name)
	return err == nil && os.SameFile(a, b)
}

// commit puts the file in its place. A fresh one takes no other's place.
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
		// a disk without links
		if _, there := os.Lstat(t.target); there == nil {
			return &fs.PathError{Op: "link", Path: t.target, Err: fs.ErrExist}
		}
	}
	for t.name == "" {
		name := newPartName(filepath.Dir(t.target))
		lock(t.file) // so that no sweep takes it for a killed run's
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

// Sweep removes from a folder what killed runs left of files they were writing:
// files of écart's own name that no run has locked. It reports how many.
func Sweep(dir string) (removed int) {
	entries, _ := os.ReadDir(dir) // what cannot be read has nothing to be found
	for _, e := range entries {
		if partName.MatchString(e.Name()) && e.Type().IsRegular() && RemoveLeft(filepath.Join(dir, e.Name())) {
			removed++
		}
	}
	return removed
}

// RemoveLeft removes a file that a killed run left, and leaves one that a run has
// locked. It reports whether it did.
func RemoveLeft(path string) bool {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	return lock(f) && stands(f, path) && os.Remove(path) == nil
}

// Lock locks a file that is being written under a name, so that [RemoveLeft] leaves
// it; closing it ends that. It reports false where another run has it.
func Lock(f *os.File) bool { return lock(f) }

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return nil // one may write into a folder that one may not list
	}
	defer d.Close()
	d.Sync() // not every file system can
	return nil
}
