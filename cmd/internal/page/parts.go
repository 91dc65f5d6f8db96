package page

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/record"
)

// A clip in which several athletes come by becomes a take for each moment: a part. A part has the bytes of the clip under
// an id of its own, so that it has its own marks, name and row. Its file is a second name of the clip's file and takes
// no room. What is kept of it is filed under the clip's own SHA-256.

// clipPart says which part of a clip a take is.
type clipPart struct {
	Of    string `json:"of"`     // the clip's SHA-256
	From  int    `json:"from"`   // frames that belong to it, both included; parts of a clip have all of its frames
	To    int    `json:"to"`     // between them
	N     int    `json:"n"`      // from 1
	Parts int    `json:"parts"`  // how many there are
	Frame int    `json:"moment"` // as it was proposed
}

// sum is the SHA-256 of a take's bytes.
func (a *about) sum() string {
	if a.Part != nil {
		return a.Part.Of
	}
	return a.ID
}

// called is the take's name with its number where it is a part.
func (a *about) called() string {
	if p := a.Part; p != nil && p.Parts > 1 {
		return fmt.Sprintf("%s, %d of %d", a.Name, p.N, p.Parts)
	}
	return a.Name
}

// number is that of a part, 0 of a whole take.
func (a *about) number() int {
	if a.Part != nil {
		return a.Part.N
	}
	return 0
}

// has reports whether a frame of the take's bytes belongs to it.
func (a *about) has(frame int) bool {
	return a.Part == nil || frame >= a.Part.From && frame <= a.Part.To
}

// partsOf are the parts of a clip of so many frames at these moments, which are in order of time. Two neighbours meet half-way.
func partsOf(a about, frames int, moments []int) (out []about) {
	for i, m := range moments {
		p := clipPart{Of: a.ID, To: frames - 1, N: i + 1, Parts: len(moments), Frame: m}
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

// split gives each part of a take that is here its file and its description.
func (s *store) split(id string, parts []about) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, a := range parts {
		if err := os.Link(s.takePath(id), s.takePath(a.ID)); err != nil && !errors.Is(err, fs.ErrExist) {
			return err
		}
		if err := s.setAbout(a); err != nil {
			return err
		}
	}
	return nil
}

// holding is the take on the page that has a frame of these bytes, by their SHA-256; "" where none is here.
func (s *store) holding(sum string, frame int) string {
	if _, err := s.about(sum); err == nil {
		return sum
	}
	list, err := s.list()
	if err != nil {
		return ""
	}
	if i := slices.IndexFunc(list, func(a about) bool { return a.sum() == sum && a.has(frame) }); i >= 0 {
		return list[i].ID
	}
	return ""
}

// pathOf is the file with these bytes, by their SHA-256.
func (s *store) pathOf(sum string) string {
	if list, err := s.list(); err == nil {
		if i := slices.IndexFunc(list, func(a about) bool { return a.sum() == sum }); i >= 0 {
			return s.takePath(list[i].ID)
		}
	}
	return s.takePath(sum)
}

// sumsOf are the SHA-256 of the takes' bytes, each once.
func sumsOf(list []about) (out []string) {
	for _, a := range list {
		if sum := a.sum(); !slices.Contains(out, sum) {
			out = append(out, sum)
		}
	}
	return out
}

// keptOf are the kept readings of takes, by their ids.
func (s *Server) keptOf(ctx context.Context, list []about) (map[string][]record.KeptRow, error) {
	of, err := s.record.KeptOfTakes(ctx, sumsOf(list))
	out := map[string][]record.KeptRow{}
	for _, a := range list {
		for _, r := range of[a.sum()] {
			if a.has(r.Take.Frame) {
				out[a.ID] = append(out[a.ID], r)
			}
		}
	}
	return out, err
}

// split puts a take for each moment in place of a clip, each with its proposed marks. What was said of the clip is said of
// each, but for the name, which is that of the first pass alone. without is said of the first part.
func (s *Server) split(ctx context.Context, id string, passes []desk.Pass, without []string, key string) error {
	a, err := s.store.about(id)
	if err != nil {
		return err
	}
	work, err := s.proposals.work(id)
	if err != nil || keyOf(work) != key { // somebody has placed marks meanwhile, or reads something else
		return err
	}
	t, done, err := s.lend(ctx, id)
	if err != nil {
		return err
	}
	frames := t.Info().Frames
	done()
	passes = slices.Clone(passes)
	slices.SortFunc(passes, func(a, b desk.Pass) int { return cmp.Compare(a.Marks.Frame, b.Marks.Frame) })
	var moments []int
	for _, p := range passes {
		moments = append(moments, p.Marks.Frame)
	}
	parts := partsOf(a, frames, moments)
	parts[0].Without = without
	if err := s.store.split(id, parts); err != nil {
		return err
	}
	for i, p := range parts {
		mine := *work
		mine.Version, mine.Frames = 0, nil
		mine.propose(passes[i].Marks)
		if _, _, err := s.works.save(p.ID, &mine); err != nil {
			return err
		}
		s.proposals.made(p.ID, &mine)
	}
	if err := s.notebook.change(func(n *notes) error {
		for i, p := range parts {
			o := n.of(id)
			o.Begun = true
			if i > 0 {
				o.Line, o.Note = 0, ""
			}
			if passes[i].Number != passes[0].Number {
				o.Athlete = ""
			}
			n.Takes[p.ID] = &o
		}
		if n.List != nil { // its rows go to the parts
			for _, row := range n.List.rows() {
				if strings.EqualFold(lastPart(row.Ask.Take), a.Name) {
					n.List.Done = slices.DeleteFunc(n.List.Done, func(line int) bool { return line == row.Line })
				}
			}
		}
		return nil
	}); err != nil {
		return err
	}
	s.hub.tell(id, event{Kind: "parted", Of: len(parts)})
	if err := s.takeOff(id); err != nil {
		return err
	}
	return s.match(ctx)
}
