package page

import (
	"net/http"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// proposalIs is what a window shows of a proposal.
type proposalIs struct {
	State string  `json:"state"`
	Part  float64 `json:"part"`
	Said  said    `json:"said"`
	Frame int     `json:"frame"`
}

// proposal sends what is to be said of a take's proposals, and has them made where they are missing.
func (s *Server) proposal(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, err := s.store.About(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.proposals.want(id, false)
	o := s.proposals.state(id)
	answer(w, http.StatusOK, proposalIs{o.state, o.part, o.said, o.frame})
}

// proposeFor is told who is meant.
func (s *Server) proposeFor(w http.ResponseWriter, r *http.Request) {
	var o struct {
		At    reading.Pixel `json:"at"`
		Frame int           `json:"frame"`
	}
	id := r.PathValue("id")
	_, err := s.store.About(id)
	if err == nil {
		err = s.receive(w, r, 1<<10, &o)
	}
	if err == nil && o.Frame < 0 {
		err = refuse(http.StatusBadRequest, "the request is not understood: the frame is negative", "load the page again")
	}
	if err == nil {
		err = s.proposals.meant(id, desk.Athlete{At: geometry.Point{X: o.At[0], Y: o.At[1]}, Frame: o.Frame, Given: true})
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// proposeNoMore ends the work, or leaves marks to the hand.
func (s *Server) proposeNoMore(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, err := s.store.About(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.proposals.stop(id)
	s.hub.tell("", event{Kind: "today"})
	w.WriteHeader(http.StatusNoContent)
}
