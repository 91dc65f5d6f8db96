package page

import (
	"net/http"

	"ecart/cmd/internal/large"
)

// look sends the small picture of a frame, or 204 where it is not there yet.
func (s *Server) look(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	n, err := frameNumber(r)
	var data []byte
	if err == nil {
		data, err = s.looks.get(id, n)
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case data == nil:
		w.Header().Set("Cache-Control", "no-store")
		w.WriteHeader(http.StatusNoContent)
	default:
		send(w, r, &coded{kind: "image/jpeg", data: data})
	}
}

// thumb sends a small picture for the list: of the frame that was looked at last.
func (s *Server) thumb(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	n := 0
	if work, err := s.works.load(id); err == nil {
		n = work.Frame
	}
	data, err := s.looks.get(id, n)
	if err == nil && data == nil {
		data, err = s.makeLook(r, id, n)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Type", "image/jpeg")
	w.Write(data)
}

// makeLook makes the small picture of one frame ahead of its turn.
func (s *Server) makeLook(r *http.Request, id string, n int) ([]byte, error) {
	done, err := s.turn(r.Context(), false)
	if err != nil {
		return nil, err
	}
	defer done()
	frame, err := s.decoded(r.Context(), id, n)
	if err != nil {
		return nil, err
	}
	data, err := asJPEG(large.Shrunk(frame, frame.Bounds(), lookWide), lookSharp)
	if err != nil {
		return nil, err
	}
	if f, err := s.looks.file(id); err == nil {
		s.looks.add(f, n, data)
	}
	return data, nil
}
