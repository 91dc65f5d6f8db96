package page

import (
	"context"
	"errors"
	"net/http"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
)

// onShelf is a take as the list shows it.
type onShelf struct {
	folder.About
	Marked int      `json:"marked"` // frames with marks on them
	Kept   []string `json:"kept"`   // its readings in the journal: "Wren: hip split 164° ± 6"
}

// shelf lists the takes, the last opened first.
func (s *Server) shelf(w http.ResponseWriter, r *http.Request) {
	list, err := s.store.List()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, map[string]any{"takes": s.onShelf(r.Context(), list), "most_bytes": s.config.MostBytes})
}

// onShelf returns takes as the list shows them.
func (s *Server) onShelf(ctx context.Context, list []folder.About) []onShelf {
	kept, err := s.keptOf(ctx, list)
	if err != nil { // the list of athletes reports it
		kept = nil
	}
	out := []onShelf{}
	for _, a := range list {
		o := onShelf{About: a, Kept: []string{}}
		for _, k := range kept[a.ID] {
			o.Kept = append(o.Kept, k.Athlete+": "+titleOf(k.Measure)+" "+shortly(k.AngleDeg, k.ExpandedUncertaintyDeg))
		}
		if work, err := s.works.load(a.ID); err == nil {
			o.Marked = work.marked()
		}
		out = append(out, o)
	}
	return out
}

// opened is a take as the page needs it to work on it.
type opened struct {
	folder.About
	Still    bool      `json:"still"`
	Width    int       `json:"width"`
	Height   int       `json:"height"`
	Frames   int       `json:"frames"`
	Duration float64   `json:"duration_s"`
	Rate     float64   `json:"rate"`
	Codec    string    `json:"codec"`
	Day      string    `json:"day"` // on which it was made, "" unknown
	Times    []float64 `json:"times_s"`
	Warnings []string  `json:"warnings"`
	LookEach int       `json:"look_each"` // distance between frames that have a small picture
	Said     OfTake    `json:"said"`      // the notes on it, for its readings to be kept
}

// take opens a take and sends what the page needs of it.
func (s *Server) take(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	t, done, err := s.pool.borrow(r.Context(), id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer done()
	a, err := s.store.Touch(id, s.config.Now(), folder.Says{Day: desk.DayOf(t.Info())})
	if a.ID == "" {
		s.fail(w, r, err)
		return
	}
	if err != nil { // only the order of the list is wrong then
		s.log("about %s: %v", id, err)
	}
	// If the file of the notes is damaged, the list of today says so; the take is read all the same.
	if err := s.begin(id); err != nil {
		s.log("what was said of %s: %v", id, err)
	}
	said, err := s.notesOf(r.Context(), id)
	if err != nil {
		s.log("what was said of %s: %v", id, err)
	}
	i := t.Info()
	o := opened{Said: said, About: a, Still: i.Still, Width: i.Width, Height: i.Height, Frames: i.Frames, Duration: i.Duration.Seconds(),
		Rate: i.TrueRate, Codec: i.Codec, Day: desk.DayOf(i), Warnings: i.Warnings, Times: make([]float64, i.Frames), LookEach: each(i.Frames)}
	for n := range o.Times {
		o.Times[n] = t.Time(n).Round(time.Microsecond).Seconds()
	}
	s.looks.want(id)
	s.proposals.want(id, true)
	answer(w, http.StatusOK, o)
}

// discard removes a take from this machine, with its marks.
func (s *Server) discard(w http.ResponseWriter, r *http.Request) {
	if err := s.takeOff(r.PathValue("id")); err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// takeOff removes a take from this machine, with all that was made of it.
func (s *Server) takeOff(id string) error {
	// From here on nobody finds the take, so that nothing more is made of it.
	if err := s.store.Hide(id); err != nil {
		return err
	}
	s.follows.jobs.end(id)
	s.drawn.jobs.end(id)
	s.proposals.forget(id)
	s.looks.forget(id)
	s.pool.forget(id)
	s.works.forget(id)
	s.rowReads.forget(id)
	s.cache.forget(id)
	s.damage.forget(id)
	s.areas.forget(id)
	err := s.follows.forget(id)
	if err := errors.Join(err, s.store.Erase(id), s.notebook.tidy()); err != nil {
		return err
	}
	s.hub.tell("", event{Kind: "shelf"})
	return nil
}
