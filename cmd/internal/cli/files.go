package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// readSmall reads a file that people write by hand, refusing one that is too
// large to be that.
func readSmall(what, path string) ([]byte, error) {
	const most = 8 << 20
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &inputError{fmt.Sprintf("there is no %s %q", what, path), "check the name and the folder"}
	case err != nil:
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be looked at: %v", what, path, cause(err)), "check the name and the permissions"}
	case info.IsDir():
		return nil, &inputError{fmt.Sprintf("the %s %q is a folder", what, path), "name a file in it"}
	case info.Size() > most:
		return nil, &inputError{fmt.Sprintf("the %s %q has %d bytes, too many for what it is said to be", what, path, info.Size()), "check that it is the right file"}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &inputError{fmt.Sprintf("the %s %q cannot be read: %v", what, path, cause(err)), "check its permissions"}
	}
	return data, nil
}

// writable says early, before long work, that a path cannot be written.
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
	}
	probe, err := os.CreateTemp(dir, ".ecart-*")
	if err != nil {
		return cannotWrite(path, err)
	}
	probe.Close()
	os.Remove(probe.Name())
	return nil
}

// writeFile writes a file as a whole or not at all.
func writeFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".ecart-*")
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
	if err := f.Chmod(0o644); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
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
	return err
}
