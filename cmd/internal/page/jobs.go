package page

import (
	"context"
	"net/http"
	"sync"
	"time"
)

// jobs is one kind of work on takes that goes on in the background, for a take one
// at a time. Windows are told how far it is, and how it ended.
type jobs struct {
	s             *Server
	doing, did    string // the kinds of the events on the way, and at the end
	busy, stopped said   // where one is going on already, and where it was stopped

	mu    sync.Mutex
	going map[string]job
}

type job struct {
	stop context.CancelFunc
	done chan struct{} // closed when it has ended
}

func newJobs(s *Server, doing, did string, busy, stopped said) *jobs {
	return &jobs{s: s, doing: doing, did: did, busy: busy, stopped: stopped, going: map[string]job{}}
}

// begin works on a take until work returns. tell says how far it is, and passes on
// ten a second at most.
func (j *jobs) begin(id string, work func(ctx context.Context, tell func(event)) error) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if _, ok := j.going[id]; ok {
		return refuse(http.StatusConflict, j.busy.Error, j.busy.Hint)
	}
	ctx, stop := context.WithCancel(j.s.ctx)
	done := make(chan struct{})
	j.going[id] = job{stop, done}
	j.s.background(func(context.Context) {
		defer stop()
		var told time.Time
		err := work(ctx, func(e event) {
			if time.Since(told) > 100*time.Millisecond {
				told = time.Now()
				e.Kind = j.doing
				j.s.hub.tell(id, e)
			}
		})
		j.mu.Lock()
		delete(j.going, id)
		j.mu.Unlock()
		close(done)
		e := event{Kind: j.did}
		switch {
		case ctx.Err() != nil:
			e.Said = &j.stopped
		case err != nil:
			status, words := say(err)
			if status == http.StatusInternalServerError {
				j.s.log("%s %s: %v", j.doing, id, err)
			}
			e.Said = &words
		}
		j.s.hub.tell(id, e)
	})
	return nil
}

// on reports whether work on a take is going on.
func (j *jobs) on(id string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	_, ok := j.going[id]
	return ok
}

// underWay reports whether work on some take is going on.
func (j *jobs) underWay() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return len(j.going) > 0
}

// stop tells the work on a take to end, and says whether any was going on.
func (j *jobs) stop(id string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	at, ok := j.going[id]
	if ok {
		at.stop()
	}
	return ok
}

// end stops the work on a take and waits until it has ended, so that nothing more is
// written.
func (j *jobs) end(id string) {
	j.mu.Lock()
	at, ok := j.going[id]
	j.mu.Unlock()
	if ok {
		at.stop()
		<-at.done
	}
}

// wait returns when no work on a take is going on.
func (j *jobs) wait(id string) {
	j.mu.Lock()
	at, ok := j.going[id]
	j.mu.Unlock()
	if ok {
		<-at.done
	}
}

// lend gives the take that a job is on, and holds up what is less pressing until it is
// given back with done. Jobs on other takes wait for their turn: each has decoders of its
// own and keeps all processors busy.
func (s *Server) lend(ctx context.Context, id string) (t Take, done func(), err error) {
	select {
	case s.working <- struct{}{}:
	case <-ctx.Done():
		return nil, nil, ctx.Err()
	}
	t, back, err := s.pool.borrow(ctx, id)
	if err != nil {
		<-s.working
		return nil, nil, err
	}
	resume := s.looks.pause()
	return t, func() { resume(); back(); <-s.working }, nil
}
