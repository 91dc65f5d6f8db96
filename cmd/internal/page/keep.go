package page

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
)

// keepOrder is a request to keep a reading.
type keepOrder struct {
	Frame     int    `json:"frame"`
	Version   int    `json:"version"` // of the work that the window shows
	Athlete   string `json:"athlete"`
	Day       string `json:"day"` // "": that on which the take says it was made
	State     string `json:"state"`
	Condition string `json:"condition"`
	Variant   string `json:"variant"`
	Setup     string `json:"setup"`
	Rater     string `json:"rater"`
	Note      string `json:"note"`
}

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
	s.hub.tell("", event{Kind: "journal"})
	answer(w, http.StatusCreated, map[string]string{"where": where})
}

func (s *Server) keepStored(ctx context.Context, id string, o keepOrder) (string, error) {
	o.Athlete = strings.TrimSpace(o.Athlete)
	switch {
	case o.Athlete == "":
		return "", refuse(http.StatusUnprocessableEntity, "no athlete was named", "write a name; a pseudonym will do")
	case max(len([]rune(o.Athlete)), len([]rune(o.Setup)), len([]rune(o.Rater))) > mostName || len([]rune(o.Note)) > 2000:
		return "", refuse(http.StatusUnprocessableEntity, "a name or the note is too long", "a name has up to 80 letters, a note up to 2000")
	}
	n, err := s.notebook.read()
	if err != nil {
		return "", err
	}
	f := desk.Filing{Athlete: o.Athlete, Day: o.Day, Session: n.ofTake(id).Session, State: o.State, Condition: o.Condition, Variant: o.Variant, Setup: o.Setup, Rater: o.Rater, Note: strings.TrimSpace(o.Note)}
	if err = s.config.Desk.CheckFiling(f, false); err == nil {
		f.Day, err = s.dayOf(ctx, id, f.Day)
	}
	if err != nil {
		return "", onPage(err)
	}
	work, err := s.works.load(id)
	if err != nil {
		return "", err
	}
	if work.Version != o.Version {
		return "", refuse(http.StatusConflict, "the marks have changed since this reading", "look at the reading again, then keep it")
	}
	mine := *work
	mine.Rater = strings.TrimSpace(o.Rater)
	q, err := s.request(ctx, id, &mine, o.Frame)
	if err != nil {
		return "", err
	}
	if err := s.config.Desk.ApplyRater(ctx, q, mine.Rater); err != nil {
		return "", err
	}
	got, err := s.readOne(ctx, q)
	if err != nil {
		return "", err
	}
	a, err := s.store.About(id)
	if err != nil {
		return "", err
	}
	q.Request.Take.SHA256 = a.Sum()
	at, err := s.config.Desk.Keep(ctx, f, q, got)
	if err != nil {
		return "", err
	}
	if err := s.notebook.change(func(n *notes) error { // now the journal has them
		o := n.toChange(id)
		o.Athlete, o.Note = "", ""
		return nil
	}); err != nil {
		s.log("what was said of %s: %v", id, err)
	}
	where := fmt.Sprintf("in the journal, as reading %d", at.ID)
	if at.AtLeast != "" {
		where += "; " + at.AtLeast
	}
	if at.Near != "" {
		where += fmt.Sprintf("; %s is new there, and there is a %s", at.Athlete, at.Near)
	}
	return where, nil
}

// dayOf returns the day on which a take was made: said if it is given, else that of the file.
func (s *Server) dayOf(ctx context.Context, id, said string) (string, error) {
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return "", err
	}
	defer done()
	if said == "" && desk.DayOf(t.Info()) == "" {
		return "", refuse(http.StatusUnprocessableEntity, "the take does not say on which day it was made", "write the day, then keep it")
	}
	return s.config.Desk.Day(said, t.Info())
}

// figure returns the annotated picture of a reading as a PNG.
func (s *Server) figure(ctx context.Context, id string, r *reading.Reading, who string, cover desk.Cover, marks []reading.Placement) ([]byte, error) {
	done, err := s.turn(ctx, true)
	if err != nil {
		return nil, err
	}
	defer done()
	f, err := s.decoded(ctx, id, r.Take.Frame)
	if err != nil {
		return nil, err
	}
	covers, err := cover.Still(marks, r.Measure)
	if err != nil {
		return nil, refuse(http.StatusUnprocessableEntity, err.Error(), "place a mark on the shoulder too, or leave the head uncovered and give the picture to nobody")
	}
	drawn, err := figure.Frame(large.Of(f), r, figure.Options{Who: who, Covers: covers})
	if err != nil {
		return nil, onPage(err)
	}
	var b bytes.Buffer
	err = figure.EncodePNG(&b, drawn)
	return b.Bytes(), err
}

// repeatOrder is a request to compute how well a rater places the marks of a frame again.
type repeatOrder struct {
	Frame   int    `json:"frame"`
	Version int    `json:"version"` // of the work that the window shows
	Rater   string `json:"rater"`
}

// repeat computes how well the rater places marks, from the placements of a frame, and keeps the figure
// for the rater's further readings, as 'ecart repeat --keep' does.
func (s *Server) repeat(w http.ResponseWriter, r *http.Request) {
	var o repeatOrder
	err := s.receive(w, r, 1<<12, &o)
	var says []string
	if err == nil {
		says, err = s.repeated(r, o)
	}
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	s.hub.tell("", event{Kind: "journal"})
	answer(w, http.StatusOK, map[string][]string{"says": says})
}

func (s *Server) repeated(r *http.Request, o repeatOrder) ([]string, error) {
	o.Rater = strings.TrimSpace(o.Rater)
	if o.Rater == "" || len([]rune(o.Rater)) > mostName {
		return nil, refuse(http.StatusUnprocessableEntity, "it is not said who placed the marks", "write a name under “marks placed by”; a pseudonym will do")
	}
	id := r.PathValue("id")
	work, err := s.works.load(id)
	if err != nil {
		return nil, err
	}
	if work.Version != o.Version {
		return nil, refuse(http.StatusConflict, "the marks have changed meanwhile", "look at them, then ask again")
	}
	q, err := s.request(r.Context(), id, work, o.Frame)
	if err != nil {
		return nil, err
	}
	take := reading.Take{Name: q.Request.Take.Name, SHA256: id, Frame: o.Frame, WidthPx: q.Request.Take.WidthPx, HeightPx: q.Request.Take.HeightPx}
	found, err := s.config.Desk.RepeatOf(desk.RepeatAsk{Rater: o.Rater, Measure: &q.Request.Measure, Options: q.Request.Options}, take, work.marks(o.Frame))
	if err != nil {
		return nil, err
	}
	says := found.Says()
	if !found.Keepable() {
		return append(says, "that is too few placements for a figure of one's own: place all marks once or twice more"), nil
	}
	if err := s.config.Desk.KeepRaters(r.Context(), found, func() error { return nil }); err != nil {
		return nil, err
	}
	return append(append(says, "readings marked by "+o.Rater+" count with that from now on"), found.Notes...), nil
}
