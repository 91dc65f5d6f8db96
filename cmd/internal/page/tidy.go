package page

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

// tidy removes what a run that was killed has left: takes on their way in, drawn clips,
// files half written, removals half done. It touches files with écart's own names only.
// A take without a readable description is described anew, so that it can be seen and
// removed.
func (s *store) tidy() error {
	var wrong []error
	remove := func(parts ...string) {
		if err := os.Remove(s.path(parts...)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			wrong = append(wrong, err)
		}
	}
	for _, id := range s.ids(incomingDir, ".removed") {
		if err := s.erase(id); err != nil {
			wrong = append(wrong, err)
		}
	}
	for _, part := range []string{incomingDir, clipsDir} {
		for _, name := range s.own(part) {
			if !strings.HasSuffix(name, ".removed") {
				remove(part, name)
			}
		}
	}
	if text, err := readSmall(s.path(keyFile), 1000); err == nil && oldKeys.Match(text) { // of the former form
		remove(keyFile)
	}
	remove(markerPart)
	for _, id := range s.ids(takesDir, "") {
		if _, err := s.about(id); err != nil {
			wrong = append(wrong, s.describeAnew(id))
		}
	}
	for _, id := range s.ids(aboutDir, ".json") { // written just before its take came
		if !s.there(takesDir, id) && !s.there(marksDir, id+".json") {
			remove(aboutDir, id+".json")
		}
	}
	for part, suffix := range map[string]string{lookDir: "", tracksDir: ".csv"} {
		for _, id := range s.ids(part, suffix) {
			if !s.there(aboutDir, id+".json") {
				remove(part, id+suffix)
			}
		}
	}
	return errors.Join(wrong...)
}

// describeAnew gives a take a name where its own is lost. Of a part of a clip it is known no more which frames are its own.
func (s *store) describeAnew(id string) error {
	i, err := os.Lstat(s.takePath(id))
	if err != nil {
		return err
	}
	a := about{ID: id, Name: "take-" + id[:8], Size: i.Size(), Opened: i.ModTime()}
	f, err := os.Open(s.takePath(id))
	if err != nil {
		return err
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	if of := hex.EncodeToString(sum.Sum(nil)); of != id {
		a.Part = &clipPart{Of: of, To: math.MaxInt32, N: 1, Parts: 1}
	}
	return s.setAbout(a)
}

// own are the regular files in a part of the folder that have names of écart's.
func (s *store) own(part string) (names []string) {
	entries, err := os.ReadDir(s.path(part))
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if e.Type().IsRegular() && ownNames[part].MatchString(e.Name()) {
			names = append(names, e.Name())
		}
	}
	return names
}

// ids are the takes that have such a file in a part of the folder.
func (s *store) ids(part, suffix string) (out []string) {
	for _, name := range s.own(part) {
		if id, ok := strings.CutSuffix(name, suffix); ok && isID(id) {
			out = append(out, id)
		}
	}
	return out
}

func (s *store) there(parts ...string) bool {
	i, err := os.Lstat(s.path(parts...))
	return err == nil && i.Mode().IsRegular()
}
