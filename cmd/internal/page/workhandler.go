package page

import "net/http"

// work sends what was done on a take.
func (s *Server) work(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	_, err := s.store.About(id)
	var work *Work
	if err == nil {
		work, err = s.works.load(id)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, work)
}

// saveWork stores what was done. Where another window has stored something since
// it answers 409 with what that is.
func (s *Server) saveWork(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	var in Work
	err := s.receive(w, r, mostWork, &in)
	if err == nil {
		err = in.check()
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	before, err := s.works.load(id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	now, saved, err := s.works.save(id, &in)
	if err == nil && saved {
		err = s.carry(before, &in)
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case !saved:
		answer(w, http.StatusConflict, now)
	default:
		s.proposals.want(id, true)
		s.hub.tell(id, event{Kind: "work", Version: now.Version, From: r.URL.Query().Get("window")})
		answer(w, http.StatusOK, map[string]int{"version": now.Version})
	}
}

// carry takes over for all takes what was said of one.
func (s *Server) carry(before, after *Work) error {
	n, err := s.notebook.read()
	if err != nil {
		return err
	}
	if all := n.All; !all.carry(before, after) {
		return nil
	}
	err = s.notebook.change(func(n *notes) error {
		n.All.carry(before, after)
		return nil
	})
	s.hub.tell("", event{Kind: "today"})
	return err
}
