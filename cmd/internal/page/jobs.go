package page

import (
	"context"
	"net/http"
	"sync"
	"time"
)

// jobs is one kind of work on takes in the background, at most one job for a take at a
// time. Windows are told how far a job is, and how it ended.
type jobs struct {
	s             *Server
	doing, did    string // the kinds of the events during a job, and at its end
	busy, stopped said   // the errors if a job is running already, and after a stop

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

// begin starts a job on a take, which ends when work returns. tell says how far it is; at
// most ten calls a second are passed on.
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
		var last time.Time
		err := work(ctx, func(e event) {
			if time.Since(last) > 100*time.Millisecond {
				last = time.Now()
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

// on reports whether a job on a take is going on.
func (j *jobs) on(id string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	_, ok := j.going[id]
	return ok
}

// underWay reports whether any job is going on.
func (j *jobs) underWay() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return len(j.going) > 0
}

// stop tells the job on a take to end, and reports whether one was going on.
func (j *jobs) stop(id string) bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	at, ok := j.going[id]
	if ok {
		at.stop()
	}
	return ok
}

// end stops the job on a take and waits until it has ended, so that it writes nothing
// more.
func (j *jobs) end(id string) {
	j.mu.Lock()
	at, ok := j.going[id]
	j.mu.Unlock()
	if ok {
		at.stop()
		<-at.done
	}
}

// wait waits until no job on a take is going on.
func (j *jobs) wait(id string) {
	j.mu.Lock()
	at, ok := j.going[id]
	j.mu.Unlock()
	if ok {
		<-at.done
	}
}

// lend returns the take for a job, and holds up the making of small pictures until it is
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
