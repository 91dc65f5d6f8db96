package page

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
)

// store is the data folder. An id is the SHA-256 of a take, in hexadecimal: the
// only thing from a browser that a path is made of.
type store struct {
	dir     string
	journal string // its file's name, where it may lie in dir
	lock    *os.File
	left    error      // what of a former run could not be tidied
	mu      sync.Mutex // takes come and go one at a time
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
	quizzesDir  = "quizzes"
	lensesDir   = "lenses"
	incomingDir = "incoming"
	keyFile     = "key" // of the former form
	lockFile    = "lock"
)

// openStore makes the data folder where it is missing, takes hold of it, and removes
// what a run that was killed has left in it. A folder that is not écart's own is refused
// and stays as it is. journal is the name of the journal where that lies in the folder.
func openStore(dir, journal string) (*store, error) {
	s := &store{dir: dir, journal: journal}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, s.unusable(err)
	}
	if err := s.checkOwn(); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(s.path(lockFile), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, s.unusable(err)
	}
	if err := hold(f); err != nil {
		at, _ := io.ReadAll(io.LimitReader(f, 200))
		f.Close()
		return nil, &fault{0, fmt.Sprintf("the data folder %q is in use by another 'ecart page'", dir),
			fmt.Sprintf("open %s (it works once, within %s), or give another folder with --data", strings.TrimSpace(string(at)), keyLifeWords)}
	}
	s.lock = f
	if err := s.prepare(); err != nil {
		s.close()
		return nil, s.unusable(err)
	}
	return s, nil
}

// prepare marks the folder, makes its parts and removes what was left.
func (s *store) prepare() error {
	if err := s.mark(); err != nil {
		return err
	}
	for d := range ownNames {
		if err := os.MkdirAll(s.path(d), 0o700); err != nil {
			return err
		}
	}
	if err := s.lock.Truncate(0); err != nil {
		return err
	}
	s.left = s.tidy()
	return nil
}

func (s *store) unusable(err error) error {
	return &fault{0, fmt.Sprintf("the data folder %q cannot be used: %v", s.dir, cause(err)), "check its permissions, or give another with --data"}
}

func (s *store) close() { s.lock.Close() }

// announce writes an address into the lock, for whoever starts a second page. All
// addresses of a run are as long as each other.
func (s *store) announce(address string) { s.lock.WriteAt([]byte(address+"\n"), 0) }

func (s *store) path(parts ...string) string {
	return filepath.Join(append([]string{s.dir}, parts...)...)
}

func (s *store) takePath(id string) string { return s.path(takesDir, id) }

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
	Came   time.Time `json:"came"` // when it was dropped last
	Says   *says     `json:"says,omitempty"`
	Part   *clipPart `json:"part,omitempty"` // nil of a whole take

	Without []string `json:"without,omitempty"` // passes of the clip of which no marks are proposed, and why
}

// says is what a take says of itself, nil in an about from before it was stored.
type says struct {
	Day string `json:"day"` // on which it was made, 2006-01-02, "" where it does not say
}

// came is when the take was dropped, as far as it is known.
func (a *about) came() time.Time {
	if a.Came.IsZero() {
		return a.Opened
	}
	return a.Came
}

func (s *store) setAbout(a about) error {
	data, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return s.writeWhole(s.path(aboutDir, a.ID+".json"), data)
}

// without notes of a take the passes of which no marks are proposed.
func (s *store) without(id string, passes []string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, err := s.about(id)
	if err != nil || slices.Equal(a.Without, passes) {
		return err
	}
	a.Without = passes
	return s.setAbout(a)
}

// about reads one; errNoTake where there is none, and another fault where there
// was one and its file is gone.
func (s *store) about(id string) (about, error) {
	var a about
	if !isID(id) {
		return a, errNoTake
	}
	data, err := readSmall(s.path(aboutDir, id+".json"), mostAbout)
	if errors.Is(err, fs.ErrNotExist) {
		return a, errNoTake
	}
	if err == nil {
		err = json.Unmarshal(data, &a)
	}
	if err != nil {
		return about{}, refuse(http.StatusInternalServerError, "what this take is called cannot be read: its file is damaged",
			"start 'ecart page' again: it then gives the take a name")
	}
	a.ID, a.Name = id, shown(a.Name)
	if _, err := os.Stat(s.takePath(id)); errors.Is(err, fs.ErrNotExist) {
		return a, gone(a.Name)
	}
	return a, nil
}

// mostAbout is far more bytes than a description has.
const mostAbout = 1 << 16

// admit puts a take that has come in into its place with its description, both or
// neither. Where the take is there already its description alone is written.
func (s *store) admit(a about, temp string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.there(incomingDir, a.ID+".removed") {
		return refuse(http.StatusConflict, fmt.Sprintf("%q is just being taken off this machine", a.Name), "drop it again in a moment")
	}
	_, err := os.Lstat(s.path(aboutDir, a.ID+".json"))
	first := errors.Is(err, fs.ErrNotExist)
	if err := s.setAbout(a); err != nil {
		return err
	}
	if s.there(takesDir, a.ID) {
		return os.Remove(temp)
	}
	if err := os.Rename(temp, s.takePath(a.ID)); err != nil {
		if first {
			os.Remove(s.path(aboutDir, a.ID+".json"))
		}
		return err
	}
	return nil
}

// touch says that a take was opened just now, and what it says of itself.
func (s *store) touch(id string, now time.Time, of says) (about, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, err := s.about(id)
	if err != nil {
		return a, err
	}
	a.Came = a.came()
	a.Opened, a.Says = now, &of
	return a, s.setAbout(a)
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

// hide makes a take one that is not here, at once: its description is moved away. What
// is left of it goes with erase, or at the next start.
func (s *store) hide(id string) error {
	if !isID(id) {
		return errNoTake
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := os.Rename(s.path(aboutDir, id+".json"), s.path(incomingDir, id+".removed"))
	if errors.Is(err, fs.ErrNotExist) {
		return errNoTake
	}
	return err
}

// erase removes all that was made of a hidden take from the disk.
func (s *store) erase(id string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range []string{s.takePath(id), s.path(lookDir, id), s.path(tracksDir, id+".csv"), s.path(clipsDir, id+".mp4"),
		s.path(clipsDir, id+".covered.mp4"), s.path(marksDir, id+".json"), s.path(incomingDir, id+".removed")} {
		if err := os.Remove(p); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
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
