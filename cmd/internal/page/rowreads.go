package page

import (
	"context"
	"fmt"
	"sync"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
)

// rowReads reads the takes of today's rows in the background, one after the other, and keeps the
// readings until their marks change.
type rowReads struct {
	s    *Server
	mu   sync.Mutex
	at   map[string]*rowRead // by take
	wake chan struct{}
}

// rowRead is the reading of a take's marks at its moment, or why there is none.
type rowRead struct {
	key  string // the version of the work, and the rater's figure
	done bool
	read *reading.Reading
	err  error
}

func newRowReads(s *Server) *rowReads {
	k := &rowReads{s: s, at: map[string]*rowRead{}, wake: make(chan struct{}, 1)}
	s.background(k.run)
	return k
}

// figures returns a function that gives a rater's own placement figure as the journal has it now, "" for none. It looks
// each rater up once.
func (k *rowReads) figures(ctx context.Context) func(rater string) string {
	found := map[string]string{"": ""}
	return func(rater string) string {
		if _, ok := found[rater]; !ok {
			q := &desk.Asked{}
			if err := k.s.config.Desk.ApplyRater(ctx, q, rater); err != nil {
				return ""
			}
			found[rater] = string(q.Sources.Priors)
		}
		return found[rater]
	}
}

// get returns the reading of a take's marks with a rater's figure; nil if it is still to be made.
func (k *rowReads) get(id string, work *Work, figure string) *rowRead {
	key := fmt.Sprint(work.Version) + figure
	k.mu.Lock()
	defer k.mu.Unlock()
	if r := k.at[id]; r != nil && r.key == key {
		if r.done {
			return r
		}
		return nil
	}
	k.at[id] = &rowRead{key: key}
	select {
	case k.wake <- struct{}{}:
	default:
	}
	return nil
}

// forget drops the reading of a take.
func (k *rowReads) forget(id string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.at, id)
}

func (k *rowReads) run(ctx context.Context) {
	for {
		id, r := k.next()
		if r == nil {
			select {
			case <-ctx.Done():
				return
			case <-k.wake:
				continue
			}
		}
		read, err := k.make(ctx, id)
		if ctx.Err() != nil {
			return
		}
		k.mu.Lock()
		if k.at[id] == r {
			r.read, r.err, r.done = read, err, true
		}
		k.mu.Unlock()
		k.s.hub.tell("", event{Kind: "today"})
	}
}

// next returns a reading that is still to be made.
func (k *rowReads) next() (string, *rowRead) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for id, r := range k.at {
		if !r.done {
			return id, r
		}
	}
	return "", nil
}

func (k *rowReads) make(ctx context.Context, id string) (*reading.Reading, error) {
	work, err := k.s.works.load(id)
	if err != nil {
		return nil, err
	}
	q, err := k.s.request(ctx, id, work, work.Frame)
	if err != nil {
		return nil, err
	}
	if err := k.s.config.Desk.ApplyRater(ctx, q, work.Rater); err != nil {
		return nil, err
	}
	return k.s.readOne(ctx, q)
}
