package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// readSmall reads a file that people write by hand, refusing one that is too
// large to be that.
func readSmall(what, path string) ([]byte, error) {
	const most = 8 << 20
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &inputError{fmt.Sprintf("there is no %s %q", what, path), "check the name and the folder it is in"}
	case err != nil:
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be looked at: %v", what, path, cause(err)), "check the name and the permissions"}
	case info.IsDir():
		return nil, &inputError{fmt.Sprintf("the %s %q is a folder", what, path), "name a file in it"}
	case !info.Mode().IsRegular():
		return nil, &inputError{fmt.Sprintf("the %s %q is no ordinary file", what, path), "save it to a file first"}
	case info.Size() > most:
		return nil, &inputError{fmt.Sprintf("the %s %q has %d bytes, too many for what it is said to be", what, path, info.Size()), "check that it is the right file"}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be read: %v", what, path, cause(err)), "check its permissions"}
	}
	return data, nil
}

// writablePNG says early, before long work, that a PNG cannot be written to
// path. Where it would take the place of one of inputs, it is refused.
func writablePNG(path string, inputs ...string) error {
	if err := isPNG(path); err != nil {
		return err
	}
	return writableApart(path, inputs...)
}

// writableApart says early that a path cannot be written, or is one of the files
// that are read.
func writableApart(path string, inputs ...string) error {
	if there, err := os.Stat(path); err == nil {
		for _, in := range inputs {
			if other, err := os.Stat(in); err == nil && os.SameFile(there, other) {
				return &inputError{fmt.Sprintf("%q would take the place of the file that is read", path), "name another file"}
			}
		}
	}
	return writable(path)
}

// isPNG wants the name that a PNG has.
func isPNG(path string) error {
	if ext := filepath.Ext(path); !strings.EqualFold(ext, ".png") {
		return &inputError{fmt.Sprintf("the figure %q does not end in .png, and a PNG is what it will be", path),
			fmt.Sprintf("name it %q", strings.TrimSuffix(path, ext)+".png")}
	}
	return nil
}

// writable says early that a path cannot be written.
func writable(path string) error {
	dir := filepath.Dir(path)
	info, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return &failure{fact: fmt.Sprintf("%q cannot be written: there is no folder %q", path, dir), hint: "make the folder, or name another", err: err}
	}
	if err == nil && !info.IsDir() {
		return &failure{fact: fmt.Sprintf("%q cannot be written: %q is no folder", path, dir), hint: "name another place"}
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return &failure{fact: fmt.Sprintf("%q cannot be written: it is a folder", path), hint: "name a file in it"}
	} else if err == nil && !info.Mode().IsRegular() {
		return &failure{fact: fmt.Sprintf("%q cannot be written: it is no ordinary file", path), hint: "name another file"}
	}
	probe, err := beside(path)
	if err != nil {
		return cannotWrite(path, err)
	}
	probe.Close()
	os.Remove(probe.Name())
	return nil
}

// writeFile writes a file as a whole or not at all. What write returns is
// taken for a reason not to.
func writeFile(path string, write func(io.Writer) error) (err error) {
	target := path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	}
	f, err := beside(target)
	if err != nil {
		return cannotWrite(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = cannotWrite(path, err)
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), target)
}

// beside opens a new file in path's folder, with the permissions that the
// user's files have.
func beside(path string) (*os.File, error) {
	for {
		name := filepath.Join(filepath.Dir(path), ".ecart-"+strconv.FormatUint(rand.Uint64(), 36))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

func cannotWrite(path string, err error) error {
	return &failure{fact: fmt.Sprintf("%q cannot be written: %v", path, cause(err)), hint: "check the folder, its permissions and the room left on the disk", err: err}
}

// cause is the reason alone, without the operation and the temporary name.
func cause(err error) error {
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
