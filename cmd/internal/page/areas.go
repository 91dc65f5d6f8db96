package page

import (
	"bytes"
	"image"
	"image/draw"
	"image/jpeg"
	"net/http"
	"sync"

	xdraw "golang.org/x/image/draw"

	"ecart/cmd/internal/desk"
)

// areas remembers where somebody moves in each clip.
type areas struct {
	mu sync.Mutex
	at map[string]*moves
}

// moves is where somebody moves in a clip: for every Each-th frame from 0 on a part of the frame, in
// pixels of the take: x, y, width, height. If there are no parts, nothing is known.
type moves struct {
	Each  int      `json:"each"`
	Parts [][4]int `json:"parts"`
}

const (
	movingWide = 160 // px, of the pictures that are compared: an athlete of a tenth of it is still found
	mostMoving = 240 // pictures of a clip that are compared
)

// moving sends where somebody moves in a clip; 204 until its small pictures are all there.
func (s *Server) moving(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	m, err := s.movesIn(r, id)
	switch {
	case err != nil:
		s.fail(w, r, err)
	case m == nil:
		w.Header().Set("Cache-Control", "no-store")
		w.WriteHeader(http.StatusNoContent)
	default:
		answer(w, http.StatusOK, m)
	}
}

func (s *Server) movesIn(r *http.Request, id string) (*moves, error) {
	if _, err := s.store.About(id); err != nil {
		return nil, err
	}
	s.areas.mu.Lock() // one clip at a time: it takes a processor for up to a second
	defer s.areas.mu.Unlock()
	if m := s.areas.at[id]; m != nil {
		return m, nil
	}
	frames, step, whole := s.looks.state(id)
	if !whole {
		return nil, nil
	}
	t, done, err := s.pool.borrow(r.Context(), id)
	if err != nil {
		return nil, err
	}
	size := image.Pt(t.Info().Width, t.Info().Height)
	done()
	for frames/step > mostMoving {
		step *= 2
	}
	m := &moves{Each: step, Parts: [][4]int{}}
	var pictures []*image.Gray
	for n := 0; n < frames; n += step {
		if r.Context().Err() != nil {
			return nil, r.Context().Err()
		}
		data, err := s.looks.get(id, n)
		if err != nil {
			return nil, err
		}
		img, err := jpeg.Decode(bytes.NewReader(data))
		if err != nil { // the file was damaged meanwhile
			pictures = nil
			break
		}
		small := image.NewGray(image.Rect(0, 0, movingWide, max(1, movingWide*img.Bounds().Dy()/img.Bounds().Dx())))
		xdraw.ApproxBiLinear.Scale(small, small.Rect, img, img.Bounds(), draw.Src, nil)
		pictures = append(pictures, small)
	}
	if len(pictures) > 0 {
		f := float64(size.X) / float64(pictures[0].Rect.Dx())
		px := func(v int) int { return int(float64(v) * f) }
		for _, p := range desk.Moving(pictures) {
			m.Parts = append(m.Parts, [4]int{px(p.Min.X), px(p.Min.Y), px(p.Dx()), px(p.Dy())})
		}
	}
	s.areas.at[id] = m
	return m, nil
}

// forget lets go of a take.
func (a *areas) forget(id string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.at, id)
}

// state returns how far small pictures of a take go, as a number of frames, the distance between
// frames that have one, and whether all are there.
func (l *looks) state(id string) (frames, step int, whole bool) {
	f, err := l.file(id)
	if err != nil {
		return 0, 1, false
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	last, least := 0, 0
	for n := range f.at {
		last = max(last, n)
		if n > 0 && (least == 0 || n < least) {
			least = n
		}
	}
	return last + 1, max(1, least), f.whole
}
