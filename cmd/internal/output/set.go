package output

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"ecart/cmd/internal/fault"
)

// Set holds the outputs of one command. The zero value is ready for use.
type Set struct {
	Force   bool // replace files of the same kind that écart did not write, or cannot make again
	inputs  []string
	outputs []placed
}

// placed is an output: the name given and the resolved path.
type placed struct {
	path, target string
	form         Form
}

// From adds input files, which no output may replace. "" is ignored, and the files need
// not exist.
func (s *Set) From(inputs ...string) {
	for _, in := range inputs {
		if in != "" {
			s.inputs = append(s.inputs, in)
		}
	}
}

// Add adds an output, and returns an error before long work if it cannot be written. "" is
// ignored.
func (s *Set) Add(path string, form Form) error {
	if path == "" {
		return nil
	}
	return s.add(path, form, false)
}

// add adds an output. If known, the same output may have been added before.
func (s *Set) add(path string, form Form, known bool) error {
	target, err := follow(path)
	if err != nil {
		return CannotWrite(path, err)
	}
	p := placed{path, target, form}
	for _, o := range s.outputs {
		if same(o.target, target) {
			if known && o.path == path && o.form == form {
				return nil
			}
			return refused("give each a name of its own", "%q and %q are one file, and two outputs would go into it", o.path, path)
		}
	}
	if err := s.check(p); err != nil {
		return err
	}
	if err := probe(p); err != nil {
		return err
	}
	s.outputs = append(s.outputs, p)
	return nil
}

// check returns an error for a target that must not be replaced.
func (s *Set) check(p placed) error {
	for _, in := range s.inputs {
		if from, err := follow(in); err == nil && same(from, p.target) {
			return refused("name another file", "%q would take the place of the file that is read", p.path)
		}
	}
	info, err := os.Lstat(p.target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return nil // probe returns the error
	case info.IsDir():
		return impossible(p.path, "name a file in it", "it is a folder")
	case !info.Mode().IsRegular():
		return impossible(p.path, "name another file", "it is no ordinary file")
	}
	there, err := p.form.look(p.target)
	if err != nil {
		return refused("name another file", "%q is there already and cannot be read (%v), so that it is not replaced", p.path, Cause(err))
	}
	want := p.form.kindFor(p.path)
	switch {
	case there.kind == kindEmpty:
		return nil // nothing is lost
	case there.kind != want:
		return refused("name another file", "%q is there already and is a %s: a %s does not take its place", p.path, there.kind, p.form.name)
	case there.own && p.form.redone:
		return nil
	case there.kind == kindMP4 && !there.own:
		return refused("name another file", "%q is there already and is a recording, which is never replaced", p.path)
	case s.Force:
		return nil
	case p.form.redone:
		return refused("name another file, or replace it with "+fault.Option("force"), "%q is there already, and écart did not write it", p.path)
	}
	return refused("name another file, or replace it with "+fault.Option("force"), "%q is there already", p.path)
}

// probe returns an error if no file can be created in the folder of an output. It removes
// what killed runs left there.
func probe(p placed) error {
	dir := filepath.Dir(p.target)
	shownDir := dir
	if filepath.Base(p.path) == filepath.Base(p.target) {
		shownDir = filepath.Dir(p.path) // as the user wrote it
	}
	info, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return impossible(p.path, "make the folder, or name another", "there is no folder %q", shownDir)
	}
	if err == nil && !info.IsDir() {
		return impossible(p.path, "name another place", "%q is no folder", shownDir)
	}
	t, err := newTemp(p.target)
	if err != nil {
		return CannotWrite(p.path, err)
	}
	t.discard()
	return nil
}

// Write writes an output completely or not at all. If write returns an error or ctx ends,
// the existing file stays.
func (s *Set) Write(ctx context.Context, path string, form Form, write func(io.Writer) error) error {
	f, err := s.Create(path, form)
	if err != nil {
		return err
	}
	defer f.Discard()
	if err := f.fill(write); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return f.Commit()
}

// fill writes the content of the file, with the mark if it is a PNG.
func (f *File) fill(write func(io.Writer) error) error {
	var w io.Writer = &diskWriter{f.temp.file, f.placed.path}
	if form := f.placed.form; form.kindFor(f.placed.path) == kindPNG {
		w = &marking{w: w, chunk: form.pngChunk()}
	}
	return write(w)
}

// Create begins an output that the caller writes, such as by another program. Discard or
// Commit ends it.
func (s *Set) Create(path string, form Form) (*File, error) {
	if err := s.add(path, form, true); err != nil {
		return nil, err
	}
	target, err := follow(path)
	if err != nil {
		return nil, CannotWrite(path, err)
	}
	t, err := newTemp(target)
	if err != nil {
		return nil, CannotWrite(path, err)
	}
	return &File{set: s, placed: placed{path, target, form}, temp: t}, nil
}

// File is an output that is being written. It gets its name only with Commit.
type File struct {
	set    *Set
	placed placed
	temp   *temp
}

// File returns the file to write to. Commit and Discard close it.
func (f *File) File() *os.File { return f.temp.file }

// Commit adds the mark and puts the file in its place.
func (f *File) Commit() error {
	defer f.Discard()
	if mark := f.placed.form.trailer(f.placed.form.kindFor(f.placed.path)); mark != nil {
		if _, err := f.temp.file.Seek(0, io.SeekEnd); err != nil {
			return CannotWrite(f.placed.path, err)
		}
		if _, err := f.temp.file.Write(mark); err != nil {
			return CannotWrite(f.placed.path, err)
		}
	}
	if err := f.set.check(f.placed); err != nil { // a file may have appeared meanwhile
		return err
	}
	return place(f.temp, f.placed.path)
}

// Discard drops the output and leaves no file. After Commit it does nothing.
func (f *File) Discard() { f.temp.discard() }

// Replace writes a file in a folder of écart's own, without the checks of a Set. It
// replaces an existing file, completely or not at all.
func Replace(path string, write func(io.Writer) error) error {
	target, err := follow(path)
	if err != nil {
		return CannotWrite(path, err)
	}
	t, err := newTemp(target)
	if err != nil {
		return CannotWrite(path, err)
	}
	defer t.discard()
	if err := write(&diskWriter{t.file, path}); err != nil {
		return err
	}
	return place(t, path)
}

// New is Replace for a file that must not exist yet; if it does, the error wraps
// fs.ErrExist.
func New(path string, write func(io.Writer) error) error {
	t, err := newTemp(path)
	if err != nil {
		return CannotWrite(path, err)
	}
	defer t.discard()
	t.fresh = true
	if err := write(&diskWriter{t.file, path}); err != nil {
		return err
	}
	return place(t, path)
}

func place(t *temp, path string) error {
	err := t.commit()
	if errors.Is(err, fs.ErrExist) {
		return fault.New("there is now a file "+quoted(path)+", and it was left as it is", "name another file").Because(fs.ErrExist)
	}
	if err != nil {
		return CannotWrite(path, err)
	}
	return nil
}

// diskWriter converts errors of the disk with CannotWrite, which distinguishes them from
// other errors of the function that writes.
type diskWriter struct {
	file *os.File
	path string
}

func (d *diskWriter) Write(b []byte) (int, error) {
	n, err := d.file.Write(b)
	if err != nil {
		err = CannotWrite(d.path, err)
	}
	return n, err
}

// Item is one of several outputs that are only useful together.
type Item struct {
	Path  string
	Form  Form
	Write func(io.Writer) error
}

// Together writes all items or none. All are complete before the first is put in its place.
func (s *Set) Together(ctx context.Context, items ...Item) error {
	files := make([]*File, len(items))
	for i, it := range items {
		f, err := s.Create(it.Path, it.Form)
		if err != nil {
			return err
		}
		defer f.Discard()
		files[i] = f
		if err := f.fill(it.Write); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for i, f := range files {
		if err := f.Commit(); err != nil {
			for _, done := range files[:i] {
				if done.temp.fresh {
					os.Remove(done.placed.target)
				}
			}
			return err
		}
	}
	return nil
}

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
