package page

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
)

// store is the data folder. An id is the SHA-256 of a take, in hexadecimal: the
// only thing from a browser that a path is made of.
type store struct {
	dir  string
	lock *os.File
}

var isID = regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString

// The parts of the data folder.
const (
	takesDir    = "takes"
	aboutDir    = "about"
	marksDir    = "marks"
	lookDir     = "look"
	tracksDir   = "tracks"
	clipsDir    = "clips"
	incomingDir = "incoming"
	keyFile     = "key"
	lockFile    = "lock"
)

// openStore makes the data folder where it is missing, and takes hold of it.
func openStore(dir string) (*store, error) {
	s := &store{dir: dir}
	wrong := func(err error) error {
		return &fault{0, fmt.Sprintf("the data folder %q cannot be used: %v", dir, cause(err)), "check its permissions, or give another with --data"}
	}
	for _, d := range []string{"", takesDir, aboutDir, marksDir, lookDir, tracksDir, clipsDir, incomingDir} {
		if err := os.MkdirAll(s.path(d), 0o700); err != nil {
			return nil, wrong(err)
		}
	}
	f, err := os.OpenFile(s.path(lockFile), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, wrong(err)
	}
	if err := hold(f); err != nil {
		at, _ := io.ReadAll(io.LimitReader(f, 200))
		f.Close()
		return nil, &fault{0, fmt.Sprintf("the data folder %q is in use by another 'ecart page'", dir),
			fmt.Sprintf("open %s, or give another folder with --data", strings.TrimSpace(string(at)))}
	}
	s.lock = f
	for _, d := range []string{incomingDir, clipsDir} { // of uploads that a stop cut off, and what was drawn to be saved
		left, err := os.ReadDir(s.path(d))
		if err != nil {
			s.close()
			return nil, wrong(err)
		}
		for _, e := range left {
			os.RemoveAll(s.path(d, e.Name()))
		}
	}
	return s, nil
}

func (s *store) close() { s.lock.Close() }

// announce writes the address into the lock, for whoever comes second.
func (s *store) announce(address string) {
	s.lock.Truncate(0)
	s.lock.WriteAt([]byte(address+"\n"), 0)
}

func (s *store) path(parts ...string) string {
	return filepath.Join(append([]string{s.dir}, parts...)...)
}

func (s *store) takePath(id string) string { return s.path(takesDir, id) }

// keys are the key of the address and the secret of the cookie. They stay from
// one start to the next, so that an open page goes on when the server is back.
func (s *store) keys() (key, pass string, err error) {
	data, err := os.ReadFile(s.path(keyFile))
	if err == nil {
		if f := strings.Fields(string(data)); len(f) == 2 && len(f[0]) >= 22 && len(f[1]) >= 22 {
			return f[0], f[1], nil
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return "", "", &fault{0, fmt.Sprintf("the key in the data folder %q cannot be read: %v", s.dir, cause(err)), "check its permissions, or give another folder with --data"}
	}
	key, pass = secret(), secret()
	return key, pass, s.writeWhole(s.path(keyFile), []byte(key+"\n"+pass+"\n"))
}

// secret is 128 random bits.
func secret() string {
	b := make([]byte, 16)
	rand.Read(b)
	return base64.RawURLEncoding.EncodeToString(b)
}

// writeWhole writes a file as a whole or not at all.
func (s *store) writeWhole(path string, data []byte) (err error) {
	temp := s.path(incomingDir, secret())
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(temp)
		}
	}()
	if _, err = f.Write(data); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(temp, path)
}

// about is what is known of a take without opening it.
type about struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Size   int64     `json:"size"`
	Opened time.Time `json:"opened"`
}

func (s *store) setAbout(a about) error {
	data, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return s.writeWhole(s.path(aboutDir, a.ID+".json"), data)
}

// about reads one; errNoTake where there is none, and another fault where there
// was one and its file is gone.
func (s *store) about(id string) (about, error) {
	var a about
	if !isID(id) {
		return a, errNoTake
	}
	data, err := os.ReadFile(s.path(aboutDir, id+".json"))
	if errors.Is(err, fs.ErrNotExist) {
		return a, errNoTake
	}
	if err == nil {
		err = json.Unmarshal(data, &a)
	}
	if err != nil {
		return a, err
	}
	a.ID = id
	if _, err := os.Stat(s.takePath(id)); errors.Is(err, fs.ErrNotExist) {
		return a, gone(a.Name)
	}
	return a, nil
}

// list is every take that is there, the last opened first.
func (s *store) list() ([]about, error) {
	entries, err := os.ReadDir(s.path(aboutDir))
	if err != nil {
		return nil, err
	}
	out := []about{}
	for _, e := range entries {
		if a, err := s.about(strings.TrimSuffix(e.Name(), ".json")); err == nil {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b about) int { return b.Opened.Compare(a.Opened) })
	return out, nil
}

// remove takes a take off the disk with all that was made of it.
func (s *store) remove(id string) error {
	var first error
	for _, p := range []string{s.takePath(id), s.path(lookDir, id), s.path(tracksDir, id+".csv"), s.path(clipsDir, id+".mp4"), s.path(marksDir, id+".json"), s.path(aboutDir, id+".json")} {
		if err := os.Remove(p); err != nil && !errors.Is(err, fs.ErrNotExist) && first == nil {
			first = err
		}
	}
	return first
}

// shown is a file's name as it may be shown and offered: its last part, what
// prints of it, not too long.
func shown(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, name))
	if r := []rune(name); len(r) > 120 {
		name = string(r[:100]) + "…" + string(r[len(r)-19:])
	}
	if strings.Trim(name, ".") == "" {
		return "take"
	}
	return name
}

// cause is the reason alone, without the operation and the path.
func cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
