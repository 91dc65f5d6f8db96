package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// A marker file says that a data folder is écart's own, with the version of its form.
// Files are removed only in a marked folder, and only those with names that écart itself
// gives.
const (
	markerFile = "ecart-page"
	markerPart = "ecart-page.part" // the marker while it is being written
	markerForm = "ecart/page/2"    // 1 had no marker and kept its key in a file
)

// OwnNames are the names that écart gives to files, by part of the data folder.
var OwnNames = map[string]*regexp.Regexp{
	TakesDir:    regexp.MustCompile(`^[0-9a-f]{64}$`),
	AboutDir:    regexp.MustCompile(`^[0-9a-f]{64}\.json$`),
	MarksDir:    regexp.MustCompile(`^[0-9a-f]{64}\.json$`),
	LookDir:     regexp.MustCompile(`^[0-9a-f]{64}$`),
	TracksDir:   regexp.MustCompile(`^[0-9a-f]{64}\.csv$`),
	LensesDir:   regexp.MustCompile(`^[0-9a-f]{16}(\.lens)?\.json$`),
	QuizzesDir:  regexp.MustCompile(`^[0-9a-f]{8}(\.open)?\.json$`),
	ClipsDir:    regexp.MustCompile(`^[0-9a-f]{64}(\.covered)?\.mp4$`),
	IncomingDir: regexp.MustCompile(`^([A-Za-z0-9_-]{22}(\.mp4|\.html)?|\.ecart-[0-9]+\.mp4|[0-9a-f]{64}\.removed)$`),
}

var (
	oldKeys    = regexp.MustCompile(`^[A-Za-z0-9_-]{22,}\n[A-Za-z0-9_-]{22,}\n$`)
	lockedText = regexp.MustCompile(`^(http://127\.0\.0\.1:\d+/\?key=[A-Za-z0-9_-]*\s*)?$`)
)

// checkOwn refuses a folder without a marker that has anything which écart did not make.
// It changes nothing. A folder without a marker may be new, or older than the marker, or
// its making was cut off.
func (s *Folder) checkOwn() error {
	text, err := ReadSmall(s.Path(markerFile), 100)
	switch form := strings.TrimSpace(string(text)); {
	case err == nil && form == markerForm:
		return nil
	case err == nil && regexp.MustCompile(`^ecart/page/\d+$`).MatchString(form):
		return &Error{Unusable, fmt.Sprintf("the data folder %q has the form %s, and this écart knows %s", s.dir, form, markerForm), "use the écart that made it, or give another folder with --data"}
	case errors.Is(err, fs.ErrPermission):
		return s.unusable(err)
	}
	name, err := s.foreign()
	if err != nil {
		return s.unusable(err)
	}
	if name != "" {
		return &Error{Unusable, fmt.Sprintf("the folder %q is not one of écart's: %q in it was not made by écart", s.dir, name), "give a new or an empty folder with --data"}
	}
	return nil
}

// foreign returns the name of something in the folder that écart did not make; "" for
// nothing.
func (s *Folder) foreign() (string, error) {
	top, err := os.ReadDir(s.dir)
	if err != nil {
		return "", err
	}
	for _, e := range top {
		name := e.Name()
		if own, ok := OwnNames[name]; ok {
			if !e.IsDir() {
				return name, nil
			}
			within, err := os.ReadDir(s.Path(name))
			if err != nil {
				return "", err
			}
			for _, f := range within {
				if !f.Type().IsRegular() || !own.MatchString(f.Name()) {
					return filepath.Join(name, f.Name()), nil
				}
			}
			continue
		}
		if !s.ownAtTop(e) {
			return name, nil
		}
	}
	return "", nil
}

// ownAtTop reports whether something at the top of the folder, which is none of its parts,
// has a name and a form that écart gives. The journal and its temporary files may stand
// here too.
func (s *Folder) ownAtTop(e fs.DirEntry) bool {
	name := e.Name()
	if s.journal != "" && strings.HasPrefix(name, s.journal) || strings.HasPrefix(name, ".ecart-") {
		return true
	}
	form := map[string]*regexp.Regexp{keyFile: oldKeys, lockFile: lockedText, markerFile: regexp.MustCompile(``), markerPart: regexp.MustCompile(``),
		NotesFile: regexp.MustCompile(`^\{"all":`)}[name]
	if form == nil {
		return false
	}
	text, err := ReadSmall(s.Path(name), MostNotes)
	return err == nil && form.Match(text)
}

// mark writes the marker.
func (s *Folder) mark() error {
	if text, err := ReadSmall(s.Path(markerFile), 100); err == nil && strings.TrimSpace(string(text)) == markerForm {
		return nil
	}
	part := s.Path(markerPart)
	if err := os.WriteFile(part, []byte(markerForm+"\n"), 0o600); err != nil {
		return err
	}
	return os.Rename(part, s.Path(markerFile))
}

// ReadSmall reads a regular file of at most most bytes: anything else in its place, such
// as a pipe, would hold up the reader.
func ReadSmall(path string, most int64) ([]byte, error) {
	i, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !i.Mode().IsRegular() || i.Size() > most {
		return nil, fmt.Errorf("%s is no file of at most %d bytes", filepath.Base(path), most)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most))
}
