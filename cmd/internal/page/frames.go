package page

import (
	"bytes"
	"container/list"
	"context"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"ecart/cmd/internal/large"
)

// frame sends a whole frame as a JPEG, as wide as asked for with w (px), at most
// as wide as it is.
func (s *Server) frame(w http.ResponseWriter, r *http.Request) {
	width, err := number(r, "w", 16, 1<<14)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	width = min(width, widest)
	s.picture(w, r, fmt.Sprint(width), func(f Frame) (*coded, error) {
		data, err := asJPEG(large.Shrunk(f, f.Bounds(), width), quality)
		return &coded{kind: "image/jpeg", data: data}, err
	})
}

// widest is how wide a picture is sent, px: as wide as the screens of most people.
const widest = 4096

// Parts up to losslessPixels go as PNG, for the loupe; larger ones as JPEG, for a
// picture that is zoomed.
const losslessPixels = 400 * 400

// part sends a part of a frame: x, y, pw, ph in pixels of the upright picture, w
// wide as it is to be shown.
func (s *Server) part(w http.ResponseWriter, r *http.Request) {
	var v [5]int
	for i, q := range []struct {
		name      string
		low, high int
	}{{"x", -1 << 15, 1 << 15}, {"y", -1 << 15, 1 << 15}, {"pw", 1, 1 << 14}, {"ph", 1, 1 << 14}, {"w", 1, 1 << 12}} {
		n, err := number(r, q.name, q.low, q.high)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		v[i] = n
	}
	cut := image.Rect(v[0], v[1], v[0]+v[2], v[1]+v[3])
	s.picture(w, r, fmt.Sprint(v), func(f Frame) (*coded, error) {
		in := cut.Intersect(f.Bounds())
		if in.Empty() {
			return nil, refuse(http.StatusUnprocessableEntity, "that part lies outside the picture", "ask for a part of it")
		}
		if in.Dx()*in.Dy() <= losslessPixels {
			data, err := asPNG(f.Region(in))
			return &coded{kind: "image/png", data: data}, err
		}
		data, err := asJPEG(large.Shrunk(f, in, v[4]), 92)
		return &coded{kind: "image/jpeg", data: data}, err
	})
}

// picture sends a frame as encode codes it, from the cache if it is there. as names the coding in the cache's key.
func (s *Server) picture(w http.ResponseWriter, r *http.Request, as string, encode func(Frame) (*coded, error)) {
	id := r.PathValue("id")
	n, err := frameNumber(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	encodeAndCache := func(f Frame) (*coded, error) {
		p, err := encode(f)
		if err != nil {
			return nil, err
		}
		p.key, p.broken = pictureKey(id, f.Number(), as), f.Broken()
		s.damage.put(id, f.Number(), p.broken)
		s.cache.put(p)
		return p, nil
	}
	p := s.cache.get(pictureKey(id, n, as))
	if p == nil {
		done, err := s.turn(r.Context(), false)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		defer done()
		defer s.looks.pause()()
		if r.URL.Query().Has("back") {
			p = s.before(r.Context(), id, n, encodeAndCache)
		}
		if p == nil {
			var f Frame
			if f, err = s.decoded(r.Context(), id, n); err == nil {
				p, err = encodeAndCache(f)
			}
		}
		if err != nil {
			s.fail(w, r, err)
			return
		}
	}
	send(w, r, p)
}

// pictures is how many pictures are made at a time. Each needs an open take and memory for its
// pixels; more than there are processors are no faster.
const pictures = 2

// turn waits until a picture may be made; call done when it is. A whole one, at the size
// of the take, is made alone.
func (s *Server) turn(ctx context.Context, whole bool) (done func(), err error) {
	n := int64(1)
	if whole {
		n = pictures
	}
	if err := s.turns.Acquire(ctx, n); err != nil {
		return nil, err
	}
	return func() { s.turns.Release(n) }, nil
}

func pictureKey(id string, n int, as string) string { return fmt.Sprintf("%s %d %s", id, n, as) }

// backward is how many frames before frame n are coded with it when the page steps
// backward: each alone would be decoded from its key frame.
const backward = 24

// before codes the frames before n and n itself, which it returns; nil after an
// error, which decoding the frame alone reports.
func (s *Server) before(ctx context.Context, id string, n int, encode func(Frame) (*coded, error)) (of *coded) {
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return nil
	}
	defer done()
	if n >= t.Info().Frames {
		return nil
	}
	errReached := errors.New("the frame was reached")
	t.Stream(ctx, max(0, n-backward), func(f Frame) error {
		p, err := encode(f)
		if err != nil {
			return err
		}
		if f.Number() == n {
			of = p
		}
		if f.Number() >= n {
			return errReached
		}
		return nil
	})
	return of
}

// decoded returns frame n of a take. It stays valid after the take is given back.
func (s *Server) decoded(ctx context.Context, id string, n int) (Frame, error) {
	t, done, err := s.pool.borrow(ctx, id)
	if err != nil {
		return nil, err
	}
	defer done()
	f, err := t.Frame(ctx, n)
	if err != nil {
		a, _ := s.store.About(id)
		return nil, named(err, s.store.TakePath(id), a.Name)
	}
	return f, nil
}

// send sends a picture. It shows a person, so the browser must not store it; the page
// keeps pictures in its own memory.
func send(w http.ResponseWriter, r *http.Request, p *coded) {
	h := w.Header()
	h.Set("Content-Type", p.kind)
	h.Set("Content-Length", strconv.Itoa(len(p.data)))
	h.Set("Cache-Control", "no-store")
	if p.broken {
		h.Set("X-Broken", "1")
	}
	bytes.NewReader(p.data).WriteTo(w)
}

func frameNumber(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil || n < 0 {
		return 0, refuse(http.StatusNotFound, fmt.Sprintf("there is no frame %q", r.PathValue("n")), "frames count from 0")
	}
	return n, nil
}

// number returns a whole number of the query, from low to high.
func number(r *http.Request, name string, low, high int) (int, error) {
	n, err := strconv.Atoi(r.URL.Query().Get(name))
	if err != nil || n < low || n > high {
		return 0, refuse(http.StatusBadRequest, fmt.Sprintf("%q is %q, and a whole number from %d to %d is wanted", name, r.URL.Query().Get(name), low, high), "load the page again")
	}
	return n, nil
}

// quality of the pictures shown, JPEG 1 to 100. The loupe's are lossless.
const quality = 88

func asJPEG(img image.Image, q int) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: q})
	return b.Bytes(), err
}

func asPNG(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, img)
	return b.Bytes(), err
}

// cacheBytes is how much of coded pictures is kept.
const cacheBytes = 64 << 20

// cache keeps the coded pictures used last.
type cache struct {
	mu    sync.Mutex
	most  int
	bytes int
	order *list.List // of *coded, the last used first
	at    map[string]*list.Element
}

// coded is a picture as it goes to the browser.
type coded struct {
	key, kind string
	data      []byte
	broken    bool
}

func newCache(most int) *cache {
	return &cache{most: most, order: list.New(), at: map[string]*list.Element{}}
}

func (c *cache) get(key string) *coded {
	c.mu.Lock()
	defer c.mu.Unlock()
	e := c.at[key]
	if e == nil {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(*coded)
}

// forget lets go of all pictures of a take.
func (c *cache) forget(id string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for key, e := range c.at {
		if strings.HasPrefix(key, id+" ") {
			c.drop(e)
		}
	}
}

// drop is called with mu held.
func (c *cache) drop(e *list.Element) {
	old := c.order.Remove(e).(*coded)
	delete(c.at, old.key)
	c.bytes -= len(old.data)
}

func (c *cache) put(p *coded) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[p.key] != nil || len(p.data) > c.most {
		return
	}
	c.at[p.key] = c.order.PushFront(p)
	c.bytes += len(p.data)
	for c.bytes > c.most {
		c.drop(c.order.Back())
	}
}

// damage remembers which of the decoded frames are damaged: finding that out again may take the
// decoding of all frames since a key frame.
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
