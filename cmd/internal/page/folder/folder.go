package folder

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
	"sync"
	"time"
	"unicode"
)

// Folder is an open data folder. An id is the SHA-256 of a take, in hexadecimal: the
// only thing from a browser that a path is made of.
type Folder struct {
	dir     string
	journal string // name of the journal's file, which may lie in dir
	lock    *os.File
	Left    error      // what could not be removed of a former run
	mu      sync.Mutex // held while a take is added or removed
}

// IsID reports whether a string has the form of an id.
var IsID = regexp.MustCompile(`^[0-9a-f]{64}$`).MatchString

// The parts of the data folder.
const (
	TakesDir    = "takes"
	AboutDir    = "about"
	MarksDir    = "marks"
	LookDir     = "look"
	TracksDir   = "tracks"
	ClipsDir    = "clips"
	QuizzesDir  = "quizzes"
	LensesDir   = "lenses"
	IncomingDir = "incoming"
	keyFile     = "key" // of the former form
	lockFile    = "lock"

	NotesFile = "today.json" // the notes on takes
	MostNotes = 8 << 20      // bytes
)

// AddressLife is how long an address in the lock is valid, in words.
const AddressLife = "five minutes"

// Open makes the data folder if it is missing, locks it, and removes what a killed run has
// left in it. A folder that is not écart's own is refused and stays as it is. journal is the
// name of the journal if that lies in the folder.
func Open(dir, journal string) (*Folder, error) {
	s := &Folder{dir: dir, journal: journal}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, s.unusable(err)
	}
	if err := s.checkOwn(); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(s.Path(lockFile), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, s.unusable(err)
	}
	if err := hold(f); err != nil {
		at, _ := io.ReadAll(io.LimitReader(f, 200))
		f.Close()
		return nil, &Error{Unusable, fmt.Sprintf("the data folder %q is in use by another 'ecart page'", dir),
			fmt.Sprintf("open %s (it works once, within %s), or give another folder with --data", strings.TrimSpace(string(at)), AddressLife)}
	}
	s.lock = f
	if err := s.prepare(); err != nil {
		s.Close()
		return nil, s.unusable(err)
	}
	return s, nil
}

// prepare marks the folder, makes its parts and removes what was left.
func (s *Folder) prepare() error {
	if err := s.mark(); err != nil {
		return err
	}
	for d := range OwnNames {
		if err := os.MkdirAll(s.Path(d), 0o700); err != nil {
			return err
		}
	}
	if err := s.lock.Truncate(0); err != nil {
		return err
	}
	s.Left = s.tidy()
	return nil
}

func (s *Folder) unusable(err error) error {
	return &Error{Unusable, fmt.Sprintf("the data folder %q cannot be used: %v", s.dir, Cause(err)), "check its permissions, or give another with --data"}
}

// Close releases the folder.
func (s *Folder) Close() { s.lock.Close() }

// Announce writes an address into the lock, for whoever starts a second page. All
// addresses of a run are as long as each other.
func (s *Folder) Announce(address string) { s.lock.WriteAt([]byte(address+"\n"), 0) }

// Path returns a path in the folder.
func (s *Folder) Path(parts ...string) string {
	return filepath.Join(append([]string{s.dir}, parts...)...)
}

// TakePath returns the file of a take.
func (s *Folder) TakePath(id string) string { return s.Path(TakesDir, id) }

// Secret returns 128 random bits, coded in base64.
func Secret() string {
	b := make([]byte, 16)
	rand.Read(b)
	return base64.RawURLEncoding.EncodeToString(b)
}

// WriteWhole writes a file as a whole or not at all.
func (s *Folder) WriteWhole(path string, data []byte) (err error) {
	temp := s.Path(IncomingDir, Secret())
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

// About is what is known of a take without opening it.
type About struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Size   int64     `json:"size"`
	Opened time.Time `json:"opened"`
	Came   time.Time `json:"came"` // when it was last dropped
	Says   *Says     `json:"says,omitempty"`
	Part   *ClipPart `json:"part,omitempty"` // nil for a whole take

	Without []string `json:"without,omitempty"` // passes of the clip of which no marks are proposed, and why
}

// Says is what the file of a take says of it; nil in an older About, which does not have it.
type Says struct {
	Day string `json:"day"` // on which it was recorded, 2006-01-02, "" if it does not say
}

// WhenCame returns when the take was last dropped; for an older About, when it was last opened.
func (a *About) WhenCame() time.Time {
	if a.Came.IsZero() {
		return a.Opened
	}
	return a.Came
}

// SetAbout writes the description of a take.
func (s *Folder) SetAbout(a About) error {
	data, err := json.Marshal(a)
	if err != nil {
		return err
	}
	return s.WriteWhole(s.Path(AboutDir, a.ID+".json"), data)
}

// Without stores, for a take, the passes of which no marks are proposed.
func (s *Folder) Without(id string, passes []string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, err := s.About(id)
	if err != nil || slices.Equal(a.Without, passes) {
		return err
	}
	a.Without = passes
	return s.SetAbout(a)
}

// About returns the description of a take. The error is ErrNoTake if there is none; if
// only the file of the take is gone, the description is returned with Gone.
func (s *Folder) About(id string) (About, error) {
	var a About
	if !IsID(id) {
		return a, ErrNoTake
	}
	data, err := ReadSmall(s.Path(AboutDir, id+".json"), mostAbout)
	if errors.Is(err, fs.ErrNotExist) {
		return a, ErrNoTake
	}
	if err == nil {
		err = json.Unmarshal(data, &a)
	}
	if err != nil {
		return About{}, &Error{Unreadable, "what this take is called cannot be read: its file is damaged",
			"start 'ecart page' again: it then gives the take a name"}
	}
	a.ID, a.Name = id, Shown(a.Name)
	if _, err := os.Stat(s.TakePath(id)); errors.Is(err, fs.ErrNotExist) {
		return a, Gone(a.Name)
	}
	return a, nil
}

// mostAbout is far more bytes than a description has.
const mostAbout = 1 << 16

// Admit adds a take from the file temp, with its description, both or neither. If the
// take is there already, only its description is written.
func (s *Folder) Admit(a About, temp string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.There(IncomingDir, a.ID+".removed") {
		return &Error{Leaving, fmt.Sprintf("%q is just being taken off this machine", a.Name), "drop it again in a moment"}
	}
	_, err := os.Lstat(s.Path(AboutDir, a.ID+".json"))
	first := errors.Is(err, fs.ErrNotExist)
	if err := s.SetAbout(a); err != nil {
		return err
	}
	if s.There(TakesDir, a.ID) {
		return os.Remove(temp)
	}
	if err := os.Rename(temp, s.TakePath(a.ID)); err != nil {
		if first {
			os.Remove(s.Path(AboutDir, a.ID+".json"))
		}
		return err
	}
	return nil
}

// Touch stores that a take is opened now, and what its file says of it.
func (s *Folder) Touch(id string, now time.Time, of Says) (About, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	a, err := s.About(id)
	if err != nil {
		return a, err
	}
	a.Came = a.WhenCame()
	a.Opened, a.Says = now, &of
	return a, s.SetAbout(a)
}

// List returns every take that is there, the last opened first.
func (s *Folder) List() ([]About, error) {
	entries, err := os.ReadDir(s.Path(AboutDir))
	if err != nil {
		return nil, err
	}
	out := []About{}
	for _, e := range entries {
		if a, err := s.About(strings.TrimSuffix(e.Name(), ".json")); err == nil {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b About) int { return b.Opened.Compare(a.Opened) })
	return out, nil
}

// Hide makes a take unknown at once, by moving its description away. Erase, or the next
// start, removes the rest of it.
func (s *Folder) Hide(id string) error {
	if !IsID(id) {
		return ErrNoTake
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := os.Rename(s.Path(AboutDir, id+".json"), s.Path(IncomingDir, id+".removed"))
	if errors.Is(err, fs.ErrNotExist) {
		return ErrNoTake
	}
	return err
}

// Erase removes all that was made of a hidden take from the disk.
func (s *Folder) Erase(id string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range []string{s.TakePath(id), s.Path(LookDir, id), s.Path(TracksDir, id+".csv"), s.Path(ClipsDir, id+".mp4"),
		s.Path(ClipsDir, id+".covered.mp4"), s.Path(MarksDir, id+".json"), s.Path(IncomingDir, id+".removed")} {
		if err := os.Remove(p); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// Shown returns a file's name as it may be shown: its last part, printable letters
// alone, at most 120 of them.
func Shown(name string) string {
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

// Cause returns the cause of a file error, without the operation and the path.
func Cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
