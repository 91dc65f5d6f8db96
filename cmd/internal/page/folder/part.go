package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
)

// A clip with several passes becomes a take for each moment: a part. A part has the bytes of the clip under an id of its
// own, so that it has its own marks, name and row. Its file is a hard link to the clip's file and takes no room. What is
// kept of it is filed under the clip's own SHA-256.

// ClipPart describes which part of a clip a take is.
type ClipPart struct {
	Of    string `json:"of"`     // the clip's SHA-256
	From  int    `json:"from"`   // first frame that belongs to it; the parts of a clip cover all of its frames
	To    int    `json:"to"`     // last frame that belongs to it
	N     int    `json:"n"`      // from 1
	Parts int    `json:"parts"`  // how many there are
	Frame int    `json:"moment"` // the proposed moment
}

// Sum returns the SHA-256 of a take's bytes.
func (a *About) Sum() string {
	if a.Part != nil {
		return a.Part.Of
	}
	return a.ID
}

// Called returns the take's name, with its number if it is a part.
func (a *About) Called() string {
	if p := a.Part; p != nil && p.Parts > 1 {
		return fmt.Sprintf("%s, %d of %d", a.Name, p.N, p.Parts)
	}
	return a.Name
}

// Number returns the number of a part, 0 for a whole take.
func (a *About) Number() int {
	if a.Part != nil {
		return a.Part.N
	}
	return 0
}

// Has reports whether a frame of the take's bytes belongs to it.
func (a *About) Has(frame int) bool {
	return a.Part == nil || frame >= a.Part.From && frame <= a.Part.To
}

// PartsOf returns the parts of a clip, whose number of frames is frames, at moments in order of time. Neighbours meet half-way.
func PartsOf(a About, frames int, moments []int) (out []About) {
	for i, m := range moments {
		p := ClipPart{Of: a.ID, To: frames - 1, N: i + 1, Parts: len(moments), Frame: m}
		if i > 0 {
			p.From = (moments[i-1]+m)/2 + 1
		}
		if i+1 < len(moments) {
			p.To = (m + moments[i+1]) / 2
		}
		sum := sha256.Sum256(fmt.Appendf(nil, "%s part %d to %d", a.ID, p.From, p.To))
		one := a
		one.ID, one.Part = hex.EncodeToString(sum[:]), &p
		out = append(out, one)
	}
	return out
}

// Split gives each part of a take that is here its file and its description.
func (s *Folder) Split(id string, parts []About) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, a := range parts {
		if err := os.Link(s.TakePath(id), s.TakePath(a.ID)); err != nil && !errors.Is(err, fs.ErrExist) {
			return err
		}
		if err := s.SetAbout(a); err != nil {
			return err
		}
	}
	return nil
}

// Holding returns the id of the take on the page that has a frame of the bytes with this SHA-256; "" for none.
func (s *Folder) Holding(sum string, frame int) string {
	if _, err := s.About(sum); err == nil {
		return sum
	}
	list, err := s.List()
	if err != nil {
		return ""
	}
	if i := slices.IndexFunc(list, func(a About) bool { return a.Sum() == sum && a.Has(frame) }); i >= 0 {
		return list[i].ID
	}
	return ""
}

// PathOf returns the file whose bytes have this SHA-256.
func (s *Folder) PathOf(sum string) string {
	if list, err := s.List(); err == nil {
		if i := slices.IndexFunc(list, func(a About) bool { return a.Sum() == sum }); i >= 0 {
			return s.TakePath(list[i].ID)
		}
	}
	return s.TakePath(sum)
}

// SumsOf returns the SHA-256 of the takes' bytes, without repeats.
func SumsOf(list []About) (out []string) {
	for _, a := range list {
		if sum := a.Sum(); !slices.Contains(out, sum) {
			out = append(out, sum)
		}
	}
	return out
}
