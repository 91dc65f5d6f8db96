package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
)

// squadMemory is what is remembered of a row: the reading as the journal would keep
// it, without the name of the athlete or of the take.
type squadMemory struct {
	Entry journal.Entry    `json:"entry"`
	Told  string           `json:"told"` // the day on which the take says it was made, or nothing
	Notes []string         `json:"notes"`
	r     *reading.Reading // the reading, with the take's name
}

// memory is the folder in which readings are remembered, a file each, by a key of
// all that they depend on; "" where there is none to be had.
type memory struct{ dir string }

// forgetAfter is how long a reading is remembered that nobody asks for.
const forgetAfter = 180 * 24 * time.Hour

// Readings are remembered in files of sealedExt. Those of openExt were written by a
// version that did not seal them.
const (
	sealedExt = ".sealed"
	openExt   = ".json"
)

// memoryDir is where squads are remembered.
func memoryDir() (string, error) {
	dir, err := os.UserCacheDir()
	return filepath.Join(dir, "ecart", "squad"), err
}

// forget takes what is remembered of the takes of erased readings off the disk.
func forget(rows []journal.Row) error {
	dir, err := memoryDir()
	if err != nil {
		return nil // then nothing was remembered either
	}
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	gone := map[string]bool{}
	for _, r := range rows {
		gone[r.Take.SHA256] = true
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name())
		data, failed := os.ReadFile(path)
		var s sealedFile
		if failed == nil && json.Unmarshal(data, &s) == nil && gone[s.Take] {
			failed = os.Remove(path)
		}
		err = errors.Join(err, failed)
	}
	return err
}

// openMemory finds the folder and forgets what is old. Without one every row is
// read, which is said and stops nothing.
func openMemory(warn io.Writer) memory {
	dir, err := memoryDir()
	if err == nil {
		err = os.MkdirAll(dir, 0o700)
	}
	if err != nil {
		fmt.Fprintln(warn, oneLine(fmt.Sprintf("what is read cannot be remembered for a second run: %v", err)))
		return memory{}
	}
	files, _ := os.ReadDir(dir)
	for _, f := range files {
		if info, err := f.Info(); err == nil && !f.IsDir() && (time.Since(info.ModTime()) > forgetAfter || filepath.Ext(f.Name()) == openExt) {
			os.Remove(filepath.Join(dir, f.Name()))
		}
	}
	return memory{dir}
}

// fingerprint is a key of all that the row's reading depends on: the bytes of its
// take and of its file of marks, track or seeds, everything it is asked with, and the
// program.
func (j *squadJob) fingerprint() (rowKey, error) {
	data, err := json.Marshal(struct {
		Program, Take, Colours, At string
		File, Lens, Priors         []byte
		Followed                   bool
		Marks                      *reading.Marks
		Request                    journal.Request
	}{thisProgram(), j.sum, j.o.colours, j.o.at, j.o.raw.file, j.o.raw.lens, j.o.raw.priors, j.seeds != nil, j.q.Marks, journal.NewRequest(&j.q, j.o.raw.lens, j.o.raw.priors)})
	if err != nil {
		return rowKey{}, err
	}
	return newRowKey(data), nil
}

// thisProgram is the version, and, since one that is being worked on changes under
// one version, when the program was made and how large it is.
func thisProgram() string {
	out := version()
	if path, err := os.Executable(); err == nil {
		if info, err := os.Stat(path); err == nil {
			out += fmt.Sprintf(" %d %d", info.Size(), info.ModTime().UnixNano())
		}
	}
	return out
}

func (m memory) path(name string) string { return filepath.Join(m.dir, name+sealedExt) }

// recall is what is remembered of a row. A file that is not whole is as none.
func (m memory) recall(j *squadJob) *squadMemory {
	if m.dir == "" || j.key == (rowKey{}) {
		return nil
	}
	path := m.path(j.key.name)
	data, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	if data, err = j.key.open(data); err != nil {
		return nil
	}
	var s squadMemory
	if json.Unmarshal(data, &s) != nil || s.named(j.o.take) != nil || s.r.Schema != reading.Schema || s.r.Take.SHA256 != j.sum {
		return nil
	}
	now := time.Now()
	os.Chtimes(path, now, now)
	return &s
}

// remember puts a row's reading away. That it cannot be costs the next run time and
// nothing else.
func (m memory) remember(j *squadJob, s *squadMemory) error {
	if m.dir == "" || j.key == (rowKey{}) || s.r.Take.SHA256 != j.sum { // it was changed while it was read
		return nil
	}
	bare := *s
	r := *s.r
	r.Take.Name = ""
	var err error
	if bare.Entry.Reading, err = json.Marshal(&r); err != nil {
		return err
	}
	data, err := json.Marshal(bare)
	if err != nil {
		return err
	}
	if data, err = j.key.close(j.sum, data); err != nil {
		return err
	}
	return output.Replace(m.path(j.key.name), writes(data))
}

// named parses the reading and gives it its take's name of today.
func (s *squadMemory) named(take string) error {
	var err error
	if s.r, err = s.Entry.Parse(); err != nil {
		return err
	}
	s.r.Take.Name = filepath.Base(take)
	var b bytes.Buffer
	if err := encodeReading(&b, s.r); err != nil {
		return err
	}
	s.Entry.Reading = bytes.TrimSpace(b.Bytes())
	return nil
}

func encodeReading(w io.Writer, r *reading.Reading) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(r)
}

// withoutName takes the take's name off the head of what was said about it.
func withoutName(notes []string, name string) (out []string) {
	for _, n := range notes {
		out = append(out, strings.TrimPrefix(n, name+": "))
	}
	return out
}
