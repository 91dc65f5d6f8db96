package page

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/vision/take"
)

// mostHeld is how many bytes takes that nobody uses may hold while they stay open. It is
// a clip of 4K (about 250 MB: see Take.Held), or four of 1080p. Whatever is beyond it is
// closed, that used longest ago first, and opened again when it is wanted. With what one
// take needs while it is opened (up to 600 MB), up to 30 MB of frames asked for last in each
// clip and the pictures that are being made, the page stays below 1.2 GB.
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

// entry is one take. Its fields are guarded by the pool's mu; take and err may be read
// without it once ready is closed.
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

// borrow returns the take, opened if need be; give it back with done.
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

// named replaces the name of the stored file in an error by the take's own name.
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

// Take is one open still or clip, used from several goroutines.
type Take interface {
	Info() take.Info
	// Held is about how many bytes the take holds while it is open.
	Held() int64
	// Time is the time stamp of frame i from the first one.
	Time(i int) time.Duration
	Frame(ctx context.Context, i int) (Frame, error)
	// Stream decodes onward from a frame; a frame is valid until fn returns.
	Stream(ctx context.Context, from int, fn func(Frame) error) error
	Close() error
}

// Frame is one picture of a take.
type Frame interface {
	Number() int
	// Broken says that the file is damaged before this frame: parts of the
	// picture may be made up.
	Broken() bool
	Bounds() image.Rectangle
	// Region is the part of the upright picture within r.
	Region(r image.Rectangle) *image.RGBA
}

// file is the take of a file.
type file struct{ *take.Take }

// openFile opens the file at path. Its errors about the file have a hint.
func openFile(d *desk.Desk) func(ctx context.Context, path string) (Take, error) {
	return func(ctx context.Context, path string) (Take, error) {
		t, err := d.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		return file{t}, nil
	}
}

// Held: a still is held decoded. The decoder of a clip holds pictures of 1.5 samples a pixel:
// up to 16 that others are made from (H.264 table A-1, HEVC A.4.2), and one for each of four
// threads, but no more than it may; a sample has two bytes where it has more than eight bits.
func (f file) Held() int64 {
	i := f.Take.Info()
	if i.Still {
		return f.StillBytes()
	}
	pixels := int64(i.Width) * int64(i.Height)
	if i.BitDepth > 8 {
		pixels *= 2
	}
	return min((16+4)*pixels*3/2, take.MostClipMemory)
}

func (f file) Frame(ctx context.Context, i int) (Frame, error) {
	p, err := f.Take.Frame(ctx, i)
	if err != nil {
		return nil, err
	}
	return picture{p}, nil
}

func (f file) Stream(ctx context.Context, from int, fn func(Frame) error) error {
	return f.Take.Stream(ctx, from, func(p *take.Frame) error { return fn(picture{p}) })
}

// clipOf returns the take behind t, for work that goes through all of its frames.
func clipOf(t Take) (*take.Take, error) {
	f, ok := t.(file)
	if !ok {
		return nil, errors.New("page: the take is of no file")
	}
	return f.Take, nil
}

type picture struct{ f *take.Frame }

func (p picture) Number() int                          { return p.f.Index }
func (p picture) Broken() bool                         { return p.f.Damaged }
func (p picture) Bounds() image.Rectangle              { return p.f.Bounds() }
func (p picture) Region(r image.Rectangle) *image.RGBA { return p.f.Region(r) }
func (p picture) Halved(times int) *image.RGBA         { return p.f.Halved(times) }
