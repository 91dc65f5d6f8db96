package takes

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
)

// partFile is the partial table: it is written frame by frame beside the table asked for, so that
// it remains however the program ends. It is removed once the whole table is written.
type partFile struct {
	path string
	f    *os.File
	w    *reading.TrackWriter
	rows int
}

// partPath returns the path of a partial table: leap.part.csv for leap.csv.
func partPath(csv string) string { return csv[:len(csv)-len(".csv")] + ".part.csv" }

// newPart begins a partial table. It replaces one of an earlier run, and no other file.
func newPart(csv string, landmarks []string) (*partFile, error) {
	path := partPath(csv)
	if err := leftBehind(path); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return nil, output.CannotWrite(path, err)
	}
	w, err := reading.NewTrackWriter(f, landmarks)
	if err != nil {
		f.Close()
		os.Remove(path)
		return nil, output.CannotWrite(path, err)
	}
	return &partFile{path, f, w, 0}, nil
}

// leftBehind returns an error unless the file is a partial table.
func leftBehind(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return output.CannotWrite(path, err)
	}
	defer f.Close()
	head := make([]byte, 64)
	n, _ := io.ReadFull(f, head)
	if !bytes.HasPrefix(head[:n], []byte("frame,time_s,")) && n > 0 {
		return fault.New(fmt.Sprintf("%q is in the way: what is followed is kept there until it is done, and it is no table of 'ecart follow'", path), "move it, or give --csv another name")
	}
	return nil
}

func (p *partFile) add(f *reading.TrackFrame) error {
	if p == nil {
		return nil
	}
	if err := p.w.Write(f); err != nil {
		return output.CannotWrite(p.path, err)
	}
	p.rows++
	return nil
}

// done removes the partial table if the whole one is written or it has no frames; otherwise it returns its path.
func (p *partFile) done(written bool) (kept string) {
	if p == nil {
		return ""
	}
	p.f.Close()
	if !written && p.rows > 0 {
		return p.path
	}
	os.Remove(p.path)
	return ""
}

// report calls done and prints the path of a partial table that stays.
func (p *partFile) report(w io.Writer, written bool) {
	if kept := p.done(written); kept != "" {
		fmt.Fprintln(w, terminal.OneLine(fmt.Sprintf("what was followed is kept in %q", kept)))
	}
}
