package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"strings"
)

// tidy removes what a killed run has left: unfinished uploads, drawn clips, files half
// written, removals half done. It removes only files with écart's own names. A take without
// a readable description gets a new one, so that it can be seen and removed.
func (s *Folder) tidy() error {
	var wrong []error
	remove := func(parts ...string) {
		if err := os.Remove(s.Path(parts...)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			wrong = append(wrong, err)
		}
	}
	for _, id := range s.ids(IncomingDir, ".removed") {
		if err := s.Erase(id); err != nil {
			wrong = append(wrong, err)
		}
	}
	for _, part := range []string{IncomingDir, ClipsDir} {
		for _, name := range s.Own(part) {
			if !strings.HasSuffix(name, ".removed") {
				remove(part, name)
			}
		}
	}
	if text, err := ReadSmall(s.Path(keyFile), 1000); err == nil && oldKeys.Match(text) { // of the former form
		remove(keyFile)
	}
	remove(markerPart)
	for _, id := range s.ids(TakesDir, "") {
		if _, err := s.About(id); err != nil {
			wrong = append(wrong, s.describeAnew(id))
		}
	}
	for _, id := range s.ids(AboutDir, ".json") { // written just before its take came
		if !s.There(TakesDir, id) && !s.There(MarksDir, id+".json") {
			remove(AboutDir, id+".json")
		}
	}
	for part, suffix := range map[string]string{LookDir: "", TracksDir: ".csv"} {
		for _, id := range s.ids(part, suffix) {
			if !s.There(AboutDir, id+".json") {
				remove(part, id+suffix)
			}
		}
	}
	return errors.Join(wrong...)
}

// describeAnew gives a new name to a take that has lost its own. For a part of a clip, which frames belong to it is lost too.
func (s *Folder) describeAnew(id string) error {
	i, err := os.Lstat(s.TakePath(id))
	if err != nil {
		return err
	}
	a := About{ID: id, Name: "take-" + id[:8], Size: i.Size(), Opened: i.ModTime()}
	f, err := os.Open(s.TakePath(id))
	if err != nil {
		return err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	if of := hex.EncodeToString(sum.Sum(nil)); of != id {
		a.Part = &ClipPart{Of: of, To: math.MaxInt32, N: 1, Parts: 1}
	}
	return s.SetAbout(a)
}

// Own returns the names of the regular files in a part of the folder that have names which écart gives.
func (s *Folder) Own(part string) (names []string) {
	entries, err := os.ReadDir(s.Path(part))
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if e.Type().IsRegular() && OwnNames[part].MatchString(e.Name()) {
			names = append(names, e.Name())
		}
	}
	return names
}

// ids returns the takes that have a file with a suffix in a part of the folder.
func (s *Folder) ids(part, suffix string) (out []string) {
	for _, name := range s.Own(part) {
		if id, ok := strings.CutSuffix(name, suffix); ok && IsID(id) {
			out = append(out, id)
		}
	}
	return out
}

// There reports whether a regular file is at a path in the folder.
func (s *Folder) There(parts ...string) bool {
	i, err := os.Lstat(s.Path(parts...))
	return err == nil && i.Mode().IsRegular()
}
