package page

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/reading"
)

// Kept is what Keep saves: a reading, what it was made of, and how it is filed.
type Kept struct {
	Athlete   string // a pseudonym will do
	State     string // of the body: "cold", "warm", "after" or "" unknown
	Condition string // who moved the limb: "passive", "active", "in-skill" or "" unknown
	Note      string

	Reading  *reading.Reading
	Request  reading.Request // that made it, with the marks
	Figure   []byte          // PNG
	Captured time.Time       // when the take was made, zero unknown
}

// Keeper keeps a reading with its marks. It says where, in words that the page
// shows. Its errors about what was given have a Hint.
type Keeper interface {
	Keep(ctx context.Context, k Kept) (where string, err error)
}

// files keeps readings as files in the data folder.
type files struct {
	store *store
	now   func() time.Time
}

func (f *files) Keep(_ context.Context, k Kept) (string, error) {
	// The folder is named by time and take alone: no name goes into a path.
	name := f.now().UTC().Format("20060102-150405.000000") + "-" + k.Reading.Take.SHA256[:8]
	dir := f.store.path(keptDir, name)
	marks, err := pretty(k.Request.Marks)
	if err != nil {
		return "", err
	}
	read, err := readingJSON(k.Reading)
	if err != nil {
		return "", err
	}
	note, err := pretty(map[string]string{"athlete": k.Athlete, "state": k.State, "condition": k.Condition, "note": k.Note, "kept": f.now().Format(time.RFC3339)})
	if err != nil {
		return "", err
	}
	if err := f.store.writeFolder(dir, map[string][]byte{"marks.json": marks, "reading.json": read, "kept.json": note, "figure.png": k.Figure}); err != nil {
		return "", err
	}
	return "in the data folder, as " + filepath.ToSlash(filepath.Join(keptDir, name)), nil
}

// keepOrder is what the page asks Keep for.
type keepOrder struct {
	Frame   int    `json:"frame"`
	Version int    `json:"version"` // of the work that the window shows
	Athlete string `json:"athlete"`
	State   string `json:"state"`
	Moved   string `json:"condition"`
	Note    string `json:"note"`
}

var (
	states     = []string{"", "cold", "warm", "after"}
	conditions = []string{"", "passive", "active", "in-skill"}
)

// keep saves the stored marks of a frame with their reading.
func (s *Server) keep(w http.ResponseWriter, r *http.Request) {
	var o keepOrder
	if err := receive(w, r, 1<<14, &o); err != nil {
		s.fail(w, r, err)
		return
	}
	where, err := s.keepStored(r.Context(), r.PathValue("id"), o)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusCreated, map[string]string{"where": where})
}

func (s *Server) keepStored(ctx context.Context, id string, o keepOrder) (string, error) {
	o.Athlete = strings.TrimSpace(o.Athlete)
	switch {
	case o.Athlete == "":
		return "", refuse(http.StatusUnprocessableEntity, "no athlete was named", "write a name; a pseudonym will do")
	case len([]rune(o.Athlete)) > 80 || len([]rune(o.Note)) > 2000:
		return "", refuse(http.StatusUnprocessableEntity, "the name or the note is too long", "a name has up to 80 letters, a note up to 2000")
	case !slices.Contains(states, o.State):
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the state %q is not known", o.State), "it is cold, warm or after")
	case !slices.Contains(conditions, o.Moved):
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the condition %q is not known", o.Moved), "it is passive, active or in-skill")
	}
	work, err := s.works.load(id)
	if err != nil {
		return "", err
	}
	if work.Version != o.Version {
		return "", refuse(http.StatusConflict, "the marks have changed since this reading", "look at the reading again, then keep it")
	}
	q, peak, err := s.request(ctx, id, work, o.Frame)
	if err != nil {
		return "", err
	}
	got, err := s.readOne(ctx, q, peak)
	if err != nil {
		return "", err
	}
	figure, err := s.figure(ctx, id, got, o.Athlete)
	if err != nil {
		return "", err
	}
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return "", err
	}
	defer done()
	return s.config.Keeper.Keep(ctx, Kept{Athlete: o.Athlete, State: o.State, Condition: o.Moved, Note: strings.TrimSpace(o.Note),
		Reading: got, Request: q, Figure: figure, Captured: t.Info().Captured})
}

// figure is the annotated picture of a reading.
func (s *Server) figure(ctx context.Context, id string, r *reading.Reading, who string) ([]byte, error) {
	f, err := s.decoded(ctx, id, r.Take.Frame)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := s.config.Figure(&b, f.Region(f.Bounds()), r, who); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
