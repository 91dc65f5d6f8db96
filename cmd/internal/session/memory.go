package session

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
)

// Memory is a folder with the readings of earlier runs, one file each, named by a key of
// all that the reading depends on. The zero value remembers nothing.
type Memory struct{ dir string }

// forgetAfter is the time after which a reading that no run uses is removed.
const forgetAfter = 180 * 24 * time.Hour

// Readings are remembered in files of sealedExt. Those of openExt were written by a
// version that did not seal them, and are removed.
const (
	sealedExt = ".sealed"
	openExt   = ".json"
)

func memoryDir() (string, error) {
	dir, err := os.UserCacheDir()
	return filepath.Join(dir, "ecart", "squad"), err
}

// Forget removes the remembered readings of the takes of erased readings.
func Forget(rows []journal.Row) error {
	dir, err := memoryDir()
	if err != nil {
		return nil // then nothing was remembered either
	}
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	erased := map[string]bool{}
	for _, r := range rows {
		erased[r.Take.SHA256] = true
	}
	for _, f := range files {
		path := filepath.Join(dir, f.Name())
		data, fileErr := os.ReadFile(path)
		var s sealedFile
		if fileErr == nil && json.Unmarshal(data, &s) == nil && erased[s.Take] {
			fileErr = os.Remove(path)
		}
		err = errors.Join(err, fileErr)
	}
	return err
}

// OpenMemory opens the folder, in the user's cache folder, and removes old files. With an
// error the Memory remembers nothing, and every row is read.
func OpenMemory() (Memory, error) {
	dir, err := memoryDir()
	if err == nil {
		err = os.MkdirAll(dir, 0o700)
	}
	if err != nil {
		return Memory{}, err
	}
	files, _ := os.ReadDir(dir)
	for _, f := range files {
		if info, err := f.Info(); err == nil && !f.IsDir() && (time.Since(info.ModTime()) > forgetAfter || filepath.Ext(f.Name()) == openExt) {
			os.Remove(filepath.Join(dir, f.Name()))
		}
	}
	return Memory{dir}, nil
}

// program identifies the program by its version and by the size and time of the
// executable: during development many programs have the same version.
func program(version string) string {
	if path, err := os.Executable(); err == nil {
		if info, err := os.Stat(path); err == nil {
			return fmt.Sprintf("%s %d %d", version, info.Size(), info.ModTime().UnixNano())
		}
	}
	return version
}

func (m Memory) path(name string) string { return filepath.Join(m.dir, name+sealedExt) }

// recall returns the result remembered under a key for the take with this SHA-256, nil if
// there is none or the file is damaged.
func (m Memory) recall(key rowKey, takeSum, takePath string) *Result {
	if m.dir == "" || key == (rowKey{}) {
		return nil
	}
	path := m.path(key.name)
	data, err := os.ReadFile(path)
	if err != nil {
		return nil
	}
	if data, err = key.decrypt(data); err != nil {
		return nil
	}
	var r Result
	if json.Unmarshal(data, &r) != nil || r.restore(takePath) != nil || r.takeSum() != takeSum {
		return nil
	}
	now := time.Now()
	os.Chtimes(path, now, now)
	return &r
}

// remember saves a result under its key. An error costs the next run time, no more.
func (m Memory) remember(key rowKey, takeSum string, r *Result) error {
	if m.dir == "" || key == (rowKey{}) || r.takeSum() != takeSum { // the take was changed while it was read
		return nil
	}
	saved := *r
	if r.Proposed == nil {
		nameless := *r.Reading
		nameless.Take.Name = ""
		var err error
		if saved.Entry.Reading, err = json.Marshal(&nameless); err != nil {
			return err
		}
	}
	data, err := json.Marshal(saved)
	if err != nil {
		return err
	}
	if data, err = key.encrypt(takeSum, data); err != nil {
		return err
	}
	return output.Replace(m.path(key.name), func(w io.Writer) error { _, err := w.Write(data); return err })
}

// restore parses a remembered reading and gives it the take's present name.
func (r *Result) restore(takePath string) error {
	if r.Proposed != nil {
		return nil
	}
	var err error
	if r.Reading, err = r.Entry.Parse(); err != nil {
		return err
	}
	if r.Reading.Schema != reading.Schema {
		return errors.New("a reading of another version")
	}
	r.Reading.Take.Name = filepath.Base(takePath)
	if err := r.Entry.SetReading(r.Reading); err != nil {
		return err
	}
	r.Entry.Reading = bytes.TrimSpace(r.Entry.Reading)
	return nil
}

// A remembered reading holds words that people wrote: in their priors, their rule books,
// their marks. It is therefore sealed: encrypted with AES-GCM under a key that is derived
// from all that the reading depends on and is stored nowhere. Whoever has the take, the
// marks and the question can open it. The file alone says only which take it is of, so
// that it can be removed with that take.

// rowKey is derived from all that a row's reading depends on. The zero value is no key.
type rowKey struct {
	name string   // of the file, in hexadecimal
	seal [32]byte // the AES-256 key
}

// newRowKey returns the key of a reading made by a program from a take with this SHA-256.
func newRowKey(program, takeSum string, dependsOn []byte) (rowKey, error) {
	all, err := json.Marshal(struct {
		Program, Take string
		DependsOn     []byte
	}{program, takeSum, dependsOn})
	if err != nil {
		return rowKey{}, err
	}
	name := sha256.Sum256(append([]byte("name\n"), all...))
	return rowKey{hex.EncodeToString(name[:]), sha256.Sum256(append([]byte("seal\n"), all...))}, nil
}

// sealedFile is the JSON of a remembered file.
type sealedFile struct {
	Take   string `json:"take_sha256"`
	Sealed []byte `json:"sealed"`
}

func (k rowKey) cipher() (cipher.AEAD, error) {
	block, err := aes.NewCipher(k.seal[:])
	if err != nil {
		return nil, err
	}
	return cipher.NewGCMWithRandomNonce(block)
}

// encrypt seals data about the take with this SHA-256.
func (k rowKey) encrypt(take string, data []byte) ([]byte, error) {
	c, err := k.cipher()
	if err != nil {
		return nil, err
	}
	return json.Marshal(sealedFile{take, c.Seal(nil, nil, data, []byte(take))})
}

// decrypt returns the data of a sealed file. A file that was altered or cut short is an error.
func (k rowKey) decrypt(file []byte) ([]byte, error) {
	var s sealedFile
	if err := json.Unmarshal(file, &s); err != nil {
		return nil, err
	}
	c, err := k.cipher()
	if err != nil {
		return nil, err
	}
	if len(s.Sealed) < c.Overhead() {
		return nil, errors.New("too short to be sealed")
	}
	return c.Open(nil, nil, s.Sealed, []byte(s.Take))
}
