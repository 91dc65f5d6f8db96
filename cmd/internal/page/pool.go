package page

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// mostOpen takes are held open at a time; each keeps a decoder with its pictures.
const mostOpen = 3

// pool keeps the takes used last open.
type pool struct {
	ctx   context.Context
	store *store
	open  Opener

	mu      sync.Mutex
	entries map[string]*entry
}

type entry struct {
	ready chan struct{} // closed when take or err is set
	take  Take
	err   error
	users int
	used  time.Time
	drop  bool // close it when the last user is gone
}

func newPool(ctx context.Context, s *store, open Opener) *pool {
	return &pool{ctx: ctx, store: s, open: open, entries: map[string]*entry{}}
}

// borrow gives the take, opening it if need be; give it back with done.
func (p *pool) borrow(ctx context.Context, id string) (t Take, done func(), err error) {
	a, err := p.store.about(id)
	if err != nil {
		p.forget(id)
		return nil, nil, err
	}
	p.mu.Lock()
	e := p.entries[id]
	if e == nil {
		e = &entry{ready: make(chan struct{})}
		p.entries[id] = e
		go p.fill(e, id, a.Name)
	}
	e.users++
	e.used = time.Now()
	p.mu.Unlock()
	done = sync.OnceFunc(func() { p.giveBack(id, e) })
	select {
	case <-e.ready:
	case <-ctx.Done():
		done()
		return nil, nil, ctx.Err()
	}
	if e.err != nil {
		done()
		return nil, nil, e.err
	}
	return e.take, done, nil
}

func (p *pool) fill(e *entry, id, name string) {
	path := p.store.takePath(id)
	e.take, e.err = p.open(p.ctx, path)
	e.err = named(e.err, path, name)
	close(e.ready)
	p.mu.Lock()
	defer p.mu.Unlock()
	if e.err != nil && p.entries[id] == e {
		delete(p.entries, id) // tried again next time
	}
	p.tidy()
}

func (p *pool) giveBack(id string, e *entry) {
	p.mu.Lock()
	defer p.mu.Unlock()
	e.users--
	if e.drop && e.users == 0 && e.take != nil {
		e.take.Close()
	}
	p.tidy()
}

// tidy closes the takes that were not used for longest. Called with mu held.
func (p *pool) tidy() {
	for len(p.entries) > mostOpen {
		var oldest string
		for id, e := range p.entries {
			if e.users == 0 && isDone(e.ready) && (oldest == "" || e.used.Before(p.entries[oldest].used)) {
				oldest = id
			}
		}
		if oldest == "" {
			return // all in use
		}
		if e := p.entries[oldest]; e.take != nil {
			e.take.Close()
		}
		delete(p.entries, oldest)
	}
}

// forget lets go of a take whose file is going or gone.
func (p *pool) forget(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	e := p.entries[id]
	if e == nil {
		return
	}
	delete(p.entries, id)
	if e.users == 0 && isDone(e.ready) && e.take != nil {
		e.take.Close()
		return
	}
	e.drop = true
}

func (p *pool) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for id, e := range p.entries {
		<-e.ready
		if e.take != nil {
			e.take.Close()
		}
		delete(p.entries, id)
	}
}

func isDone(c <-chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

// gone is a take whose file somebody removed.
func gone(name string) error {
	return refuse(http.StatusGone, fmt.Sprintf("%q is no longer in the data folder", name), "drop the file again: its marks are still here")
}

// named puts the take's own name where an error has that of the stored file.
func named(err error, path, name string) error {
	var known hinted
	switch {
	case err == nil:
		return nil
	case errors.Is(err, os.ErrClosed), errors.Is(err, fs.ErrNotExist):
		return gone(name)
	case !errors.As(err, &known):
		return err
	}
	clean := func(s string) string {
		s = strings.ReplaceAll(s, fmt.Sprintf("%q", path), fmt.Sprintf("%q", name))
		return strings.ReplaceAll(s, fmt.Sprintf("%q", filepath.Base(path)), fmt.Sprintf("%q", name))
	}
	return refuse(http.StatusUnprocessableEntity, clean(known.Error()), clean(known.Hint()))
}
