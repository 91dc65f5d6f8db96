package page

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
)

// Kept is what Keep saves: a reading, what it was made of, and how it is filed.
type Kept struct {
	Athlete   string // a pseudonym will do
	Day       string // on which the take was made, 2006-01-02
	State     string // of the body: "cold", "warm", "after" or "" unknown
	Condition string // who moved the limb: "passive", "active", "in-skill" or "" unknown
	Setup     string // a name for where and how the camera stood, or "" unknown
	Rater     string // who placed the marks, or "" unknown
	Note      string

	Reading *reading.Reading
	Request reading.Request // that makes it by itself, with the marks
	Priors  []byte          // the priors file that the request has, nil where it has the built-in figures
}

// Keeper keeps a reading with its marks. It says where, in words that the page
// shows. Its errors about what was given have a Hint.
type Keeper interface {
	Keep(ctx context.Context, k Kept) (where string, err error)
	// Rater is a priors file with the rater's own placement figure, nil where none is known.
	Rater(ctx context.Context, name string) (priors []byte, err error)
}

// keepOrder is what the page asks Keep for.
type keepOrder struct {
	Frame   int    `json:"frame"`
	Version int    `json:"version"` // of the work that the window shows
	Athlete string `json:"athlete"`
	Day     string `json:"day"` // "": that on which the take says it was made
	State   string `json:"state"`
	Moved   string `json:"condition"`
	Setup   string `json:"setup"`
	Rater   string `json:"rater"`
	Note    string `json:"note"`
}

var (
	states     = []string{"", "cold", "warm", "after"}
	conditions = []string{"", "passive", "active", "in-skill"}
)

// keep saves the stored marks of a frame with their reading.
func (s *Server) keep(w http.ResponseWriter, r *http.Request) {
	var o keepOrder
	if err := s.receive(w, r, 1<<14, &o); err != nil {
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
	case max(len([]rune(o.Athlete)), len([]rune(o.Setup)), len([]rune(o.Rater))) > 80 || len([]rune(o.Note)) > 2000:
		return "", refuse(http.StatusUnprocessableEntity, "a name or the note is too long", "a name has up to 80 letters, a note up to 2000")
	case !slices.Contains(states, o.State):
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the state %q is not known", o.State), "it is cold, warm or after")
	case !slices.Contains(conditions, o.Moved):
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the condition %q is not known", o.Moved), "it is passive, active or in-skill")
	}
	if s.config.Keeper == nil {
		return "", refuse(http.StatusNotImplemented, "nothing keeps readings here", "save the reading as JSON, and the marks file")
	}
	var err error
	if o.Day, err = s.dayOf(ctx, id, o.Day); err != nil {
		return "", err
	}
	work, err := s.works.load(id)
	if err != nil {
		return "", err
	}
	if work.Version != o.Version {
		return "", refuse(http.StatusConflict, "the marks have changed since this reading", "look at the reading again, then keep it")
	}
	work.Rater = strings.TrimSpace(o.Rater)
	q, along, err := s.request(ctx, id, work, o.Frame)
	if err != nil {
		return "", err
	}
	priors, err := s.rated(ctx, &q, work.Rater)
	if err != nil {
		return "", err
	}
	got, q, err := s.readOne(ctx, q, along)
	if err != nil {
		return "", err
	}
	return s.config.Keeper.Keep(ctx, Kept{Athlete: o.Athlete, Day: o.Day, State: o.State, Condition: o.Moved, Setup: o.Setup, Rater: o.Rater, Note: strings.TrimSpace(o.Note), Reading: got, Request: q, Priors: priors})
}

// rated gives a request the rater's own placement figure, and returns the priors file that it is
// in: see [Keeper.Rater].
func (s *Server) rated(ctx context.Context, q *reading.Request, rater string) (priors []byte, err error) {
	if rater == "" || s.config.Keeper == nil {
		return nil, nil
	}
	priors, err = s.config.Keeper.Rater(ctx, rater)
	if err == nil && priors != nil {
		q.Priors, err = reading.ParsePriors("of the rater", priors)
	}
	return priors, err
}

// dayOf is the day on which a take was made: the one that was said, else the take's.
func (s *Server) dayOf(ctx context.Context, id, said string) (string, error) {
	if said == "" {
		t, done, err := s.pool.borrow(ctx, id)
		if err != nil {
			return "", err
		}
		defer done()
		if said = t.Info().Day; said == "" {
			return "", refuse(http.StatusUnprocessableEntity, "the take does not say on which day it was made", "write the day, then keep it")
		}
	}
	day, err := time.Parse(time.DateOnly, said)
	if err != nil {
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the day %q is no date", said), "write it as year, month and day: 2026-03-21")
	}
	if day.After(s.config.Now().UTC().Add(14 * time.Hour)) { // no place on earth is further ahead
		return "", refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the day %s lies ahead of today", said), "write the day the take was made; if it is right, set this machine's clock")
	}
	return said, nil
}

// figure is the annotated picture of a reading.
func (s *Server) figure(ctx context.Context, id string, r *reading.Reading, who string, head []reading.Placement) ([]byte, error) {
	done, err := s.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer done()
	f, err := s.decoded(ctx, id, r.Take.Frame)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := s.config.Figure(&b, large.Of(f), r, who, head); err != nil {
		return nil, onPage(err)
	}
	return b.Bytes(), nil
}
