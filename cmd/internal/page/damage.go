package page

import (
	"context"
	"sync"
)

// damage remembers of the frames that were decoded which are damaged: decoding one again only
// to find that out may take as long as the clip has frames between two key frames.
type damage struct {
	mu sync.Mutex
	at map[string]map[int]bool // by the take's id and the frame
}

func (d *damage) put(id string, n int, broken bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.at == nil {
		d.at = map[string]map[int]bool{}
	}
	if d.at[id] == nil {
		d.at[id] = map[int]bool{}
	}
	d.at[id][n] = broken
}

func (d *damage) get(id string, n int) (broken, known bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	broken, known = d.at[id][n]
	return broken, known
}

func (d *damage) forget(id string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.at, id)
}

// damaged reports whether a frame of a take is damaged.
func (s *Server) damaged(ctx context.Context, id string, n int) (bool, error) {
	if broken, known := s.damage.get(id, n); known {
		return broken, nil
	}
	done, err := s.turn(ctx, false)
	if err != nil {
		return false, err
	}
	defer done()
	f, err := s.decoded(ctx, id, n)
	if err != nil {
		return false, err
	}
	return f.Broken(), nil
}
