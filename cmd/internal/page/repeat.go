package page

import (
	"net/http"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
)

// repeatOrder asks how well somebody placed the marks of a frame again.
type repeatOrder struct {
	Frame   int    `json:"frame"`
	Version int    `json:"version"` // of the work that the window shows
	Rater   string `json:"rater"`
}

// repeat works out how well the rater places marks, from the placements of a frame, and has the
// rater's readings take that figure from now on, as 'ecart repeat --keep' does.
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
