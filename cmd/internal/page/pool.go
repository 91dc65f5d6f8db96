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

	"ecart/cmd/internal/page/folder"
	"ecart/vision/take"
)

// mostHeld is how many bytes takes that nobody uses may hold while they stay open. It is
// a clip of 4K (about 250 MB: see Take.Held), or four of 1080p. Whatever is beyond it is
// closed, that used longest ago first, and opened again when it is wanted. With what one
// take needs while it is opened (up to 600 MB) and the pictures that are being made, the
// page stays below 1.2 GB.
const mostHeld = 256 << 20

// pool keeps the takes used last open. It opens one at a time: opening takes more memory
// than holding.
type pool struct {
	ctx     context.Context
	store   *folder.Folder
	open    func(ctx context.Context, path string) (Take, error)
	opening chan struct{}

	mu      sync.Mutex
	entries map[string]*entry
}

// entry is one take. Its fields are guarded by the pool's mu, but that take and err may
// be read by anybody once ready is closed.
type entry struct {
	ready chan struct{} // closed when take or err is set
	take  Take
	err   error
	held  int64 // bytes
	users int
	used  time.Time
	drop  bool // close it when the last user is gone
}

func newPool(ctx context.Context, s *folder.Folder, open func(ctx context.Context, path string) (Take, error)) *pool {
	return &pool{ctx: ctx, store: s, open: open, opening: make(chan struct{}, 1), entries: map[string]*entry{}}
}

// borrow gives the take, opening it if need be; give it back with done.
func (p *pool) borrow(ctx context.Context, id string) (t Take, done func(), err error) {
	p.mu.Lock()
	a, err := p.store.About(id)
	if err != nil {
		p.mu.Unlock()
		p.forget(id)
		return nil, nil, err
	}
	e := p.entries[id]
	if e == nil {
		e = &entry{ready: make(chan struct{})}
		p.entries[id] = e
		go p.fill(e, id, a.Name)
	}
	e.users++
	e.used = time.Now()
	p.mu.Unlock()
	done = sync.OnceFunc(func() { p.giveBack(e) })
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
	path := p.store.TakePath(id)
	t, err := p.opened(p.ctx, path)
	p.mu.Lock()
	defer p.mu.Unlock()
	e.take, e.err = t, named(err, path, name)
	if t != nil {
		e.held = t.Held()
	}
	close(e.ready)
	if e.err != nil && p.entries[id] == e {
		delete(p.entries, id) // tried again next time
	}
	p.closeDropped(e)
	p.tidy(mostHeld)
}

// opened opens the file at path when it is its turn, and when there is room for it.
func (p *pool) opened(ctx context.Context, path string) (Take, error) {
	select {
	case p.opening <- struct{}{}:
		defer func() { <-p.opening }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	p.mu.Lock()
	p.tidy(mostHeld / 2)
	p.mu.Unlock()
	return p.open(ctx, path)
}

// check opens the file at path and closes it again: an error says why it is no take.
func (p *pool) check(ctx context.Context, path, name string) (take.Info, error) {
	t, err := p.opened(ctx, path)
	if err != nil {
		return take.Info{}, named(err, path, name)
	}
	return t.Info(), t.Close()
}

func (p *pool) giveBack(e *entry) {
	p.mu.Lock()
	defer p.mu.Unlock()
	e.users--
	p.closeDropped(e)
	p.tidy(mostHeld)
}

// closeDropped closes a take that was forgotten, when it is open and its last user is
// gone. Called with mu held.
func (p *pool) closeDropped(e *entry) {
	if e.drop && e.users == 0 && e.take != nil {
		e.take.Close()
		e.drop = false // once
	}
}

// tidy closes takes that nobody uses, those used longest ago first, until those that are
// open hold no more than most bytes or are all in use. Called with mu held.
func (p *pool) tidy(most int64) {
	for {
		var sum int64
		oldest := ""
		for id, e := range p.entries {
			sum += e.held
			if e.users == 0 && isDone(e.ready) && (oldest == "" || e.used.Before(p.entries[oldest].used)) {
				oldest = id
			}
		}
		if oldest == "" || sum <= most {
			return
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
	if e := p.entries[id]; e != nil {
		delete(p.entries, id)
		e.drop = true
		p.closeDropped(e)
	}
}

// close closes all. The pool's context has ended, and with it what is being opened.
func (p *pool) close() {
	p.mu.Lock()
	all := p.entries
	p.entries = map[string]*entry{}
	p.mu.Unlock()
	for _, e := range all {
		<-e.ready
		if e.take != nil {
			e.take.Close()
		}
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

// named puts the take's own name where an error has that of the stored file.
func named(err error, path, name string) error {
	var known hinted
	switch {
	case err == nil:
		return nil
	case errors.Is(err, os.ErrClosed), errors.Is(err, fs.ErrNotExist):
		return folder.Gone(name)
	case !errors.As(err, &known):
		return err
	}
	clean := func(s string) string {
		s = strings.ReplaceAll(s, fmt.Sprintf("%q", path), fmt.Sprintf("%q", name))
		return strings.ReplaceAll(s, fmt.Sprintf("%q", filepath.Base(path)), fmt.Sprintf("%q", name))
	}
	return refuse(http.StatusUnprocessableEntity, clean(known.Error()), clean(known.Hint()))
}
