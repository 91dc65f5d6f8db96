package page

import (
	"context"
	"image"
	"image/color"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"ecart/cmd/internal/page/folder"
	"ecart/vision/take"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plate is a still; opened counts the open ones.
type plate struct {
	img    *image.RGBA
	held   int64
	opened *atomic.Int32
	closed atomic.Bool
}

func (p *plate) Info() take.Info {
	return take.Info{Still: true, Width: p.img.Rect.Dx(), Height: p.img.Rect.Dy(), Frames: 1}
}
func (p *plate) Held() int64                                          { return p.held }
func (p *plate) Time(int) time.Duration                               { return 0 }
func (p *plate) Frame(context.Context, int) (Frame, error)            { return p, nil }
func (p *plate) Stream(context.Context, int, func(Frame) error) error { return nil }
func (p *plate) Number() int                                          { return 0 }
func (p *plate) Broken() bool                                         { return false }
func (p *plate) Bounds() image.Rectangle                              { return p.img.Rect }
func (p *plate) Close() error {
	if !p.closed.Swap(true) {
		p.opened.Add(-1)
	}
	return nil
}

func (p *plate) Region(r image.Rectangle) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		copy(out.Pix[y*out.Stride:][:4*r.Dx()], p.img.Pix[p.img.PixOffset(r.Min.X, r.Min.Y+y):])
	}
	return out
}

func newPlate(w, h int) *plate {
	p := &plate{img: image.NewRGBA(image.Rect(0, 0, w, h)), opened: &atomic.Int32{}}
	for y := range h {
		for x := range w {
			p.img.SetRGBA(x, y, color.RGBA{uint8(x*x + y), uint8(x ^ y), uint8(7 * y), 255})
		}
	}
	return p
}

// storeWith returns a store with takes of the given names.
func storeWith(t *testing.T, ids ...string) *folder.Folder {
	s, err := folder.Open(filepath.Join(t.TempDir(), "data"), "")
	require.NoError(t, err)
	t.Cleanup(s.Close)
	for _, id := range ids {
		temp := s.Path(folder.IncomingDir, folder.Secret())
		require.NoError(t, os.WriteFile(temp, []byte(id), 0o600))
		require.NoError(t, s.Admit(folder.About{ID: id, Name: id[:4] + ".jpg", Opened: time.Now()}, temp))
	}
	return s
}

// idOf makes an id of one letter.
func idOf(letter string) string { return strings.Repeat(letter, 64) }

// TestTakeRemovedWhileOpeningIsClosed: the request has ended and the take is removed
// before it is open.
func TestTakeRemovedWhileOpeningIsClosed(t *testing.T) {
	p := newPlate(4, 4)
	asked, open := make(chan struct{}), make(chan struct{})
	pool := newPool(t.Context(), storeWith(t, idOf("a")), func(context.Context, string) (Take, error) {
		close(asked)
		<-open
		p.opened.Add(1)
		return p, nil
	})
	ctx, leave := context.WithCancel(t.Context())
	gone := make(chan struct{})
	go func() {
		_, _, err := pool.borrow(ctx, idOf("a"))
		assert.ErrorIs(t, err, context.Canceled)
		close(gone)
	}()
	<-asked
	leave()
	<-gone
	pool.forget(idOf("a"))
	close(open)
	require.Eventually(t, p.closed.Load, 10*time.Second, time.Millisecond, "the decoder stays open")
	pool.close()
	assert.Zero(t, p.opened.Load())
}

// TestOpenTakesAreBounded checks that unused open takes stay within the bound, that one take is
// opened at a time, and that takes in use stay open.
func TestOpenTakesAreBounded(t *testing.T) {
	var open, opening, most atomic.Int32
	letters := strings.Split("0123456789abcdef", "")
	var ids []string
	for _, l := range letters {
		ids = append(ids, idOf(l))
	}
	pool := newPool(t.Context(), storeWith(t, ids...), func(context.Context, string) (Take, error) {
		most.Store(max(most.Load(), opening.Add(1)))
		time.Sleep(time.Millisecond)
		opening.Add(-1)
		open.Add(1)
		p := newPlate(4, 4)
		p.opened, p.held = &open, mostHeld/4
		return p, nil
	})
	used, done, err := pool.borrow(t.Context(), ids[0])
	require.NoError(t, err)
	back := make(chan error)
	for _, id := range ids[1:] {
		go func() {
			_, done, err := pool.borrow(t.Context(), id)
			if err == nil {
				done()
			}
			back <- err
		}()
	}
	for range ids[1:] {
		require.NoError(t, <-back)
	}
	assert.LessOrEqual(t, open.Load(), int32(4))
	assert.Equal(t, int32(1), most.Load(), "one is opened at a time")
	assert.False(t, used.(*plate).closed.Load(), "one in use stays open")
	done()
	pool.close()
	assert.Zero(t, open.Load())
}

// TestNoSmallPictureAfterRemoval: a request that decoded a frame before its take was removed
// writes no file of small pictures afterwards.
func TestNoSmallPictureAfterRemoval(t *testing.T) {
	id := idOf("a")
	p := newPlate(40, 40)
	s, err := New(Config{Dir: filepath.Join(t.TempDir(), "data")})
	require.NoError(t, err)
	s.pool.open = func(context.Context, string) (Take, error) { return p, nil }
	defer s.Close()
	temp := s.store.Path(folder.IncomingDir, folder.Secret())
	require.NoError(t, os.WriteFile(temp, []byte("a"), 0o600))
	require.NoError(t, s.store.Admit(folder.About{ID: id, Name: "a.jpg"}, temp))
	r := httptest.NewRequest("DELETE", "/takes/"+id, nil)
	r.SetPathValue("id", id)
	w := httptest.NewRecorder()
	s.discard(w, r)
	require.Equal(t, http.StatusNoContent, w.Code)

	_, err = s.looks.file(id)
	assert.Equal(t, folder.ErrNoTake, err)
	_, err = s.store.Touch(id, time.Now(), folder.Says{})
	assert.Equal(t, folder.ErrNoTake, err, "nor is it described again")
	_, _, err = s.works.save(id, &Work{})
	assert.Equal(t, folder.ErrNoTake, err, "nor are marks stored")
	for part := range folder.OwnNames {
		in, err := os.ReadDir(s.store.Path(part))
		require.NoError(t, err)
		assert.Empty(t, in, part)
	}
}

// TestATakeAndItsDescriptionComeTogether: if one of the two cannot be written, neither
// is there.
func TestATakeAndItsDescriptionComeTogether(t *testing.T) {
	for _, broken := range []string{folder.AboutDir, folder.TakesDir} {
		s := storeWith(t)
		require.NoError(t, os.Remove(s.Path(broken))) // writing there fails
		temp := s.Path(folder.IncomingDir, folder.Secret())
		require.NoError(t, os.WriteFile(temp, []byte("a"), 0o600))
		require.Error(t, s.Admit(folder.About{ID: idOf("a"), Name: "a.jpg"}, temp))
		assert.NoFileExists(t, s.TakePath(idOf("a")), broken)
		assert.NoFileExists(t, s.Path(folder.AboutDir, idOf("a")+".json"), broken)
	}
}

// TestStalledBodyIsAbandoned: an upload, and a small body, that stop in the middle.
func TestStalledBodyIsAbandoned(t *testing.T) {
	s, err := New(Config{Dir: filepath.Join(t.TempDir(), "data")})
	require.NoError(t, err)
	defer s.Close()
	s.silence = 200 * time.Millisecond
	l, err := s.Listen(0)
	require.NoError(t, err)
	go s.Serve(t.Context(), l)
	base := "http://" + l.Addr().String()
	for _, to := range []string{"POST /takes?name=a.mp4", "PUT /takes/" + idOf("a") + "/work"} {
		method, path, _ := strings.Cut(to, " ")
		body, feed := io.Pipe()
		defer feed.Close()
		go feed.Write([]byte("{"))
		req, err := http.NewRequest(method, base+path, body)
		require.NoError(t, err)
		req.Header.Set("Origin", base)
		req.AddCookie(&http.Cookie{Name: "ecart-" + l.Addr().String()[strings.LastIndex(l.Addr().String(), ":")+1:], Value: s.entrance.pass})
		began := time.Now()
		r, err := http.DefaultClient.Do(req)
		require.NoError(t, err, to)
		r.Body.Close()
		assert.Equal(t, http.StatusRequestTimeout, r.StatusCode, to)
		assert.Less(t, time.Since(began), 20*time.Second)
		in, err := os.ReadDir(s.store.Path(folder.IncomingDir))
		require.NoError(t, err)
		assert.Empty(t, in)
	}
}

// TestEndsWithOpenRequests: neither an upload that stops in the middle nor a take that takes long to open
// keeps the server from ending.
func TestEndsWithOpenRequests(t *testing.T) {
	opening := make(chan struct{})
	s, err := New(Config{Dir: filepath.Join(t.TempDir(), "data")})
	require.NoError(t, err)
	s.pool.open = func(ctx context.Context, _ string) (Take, error) {
		close(opening)
		<-ctx.Done()
		return nil, ctx.Err()
	}
	l, err := s.Listen(0)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	ask := func(body io.Reader) {
		req, err := http.NewRequest("POST", "http://"+l.Addr().String()+"/takes?name=a.mp4", body)
		require.NoError(t, err)
		req.Header.Set("Origin", "http://"+l.Addr().String())
		req.AddCookie(&http.Cookie{Name: "ecart-" + l.Addr().String()[strings.LastIndex(l.Addr().String(), ":")+1:], Value: s.entrance.pass})
		if r, err := http.DefaultClient.Do(req); err == nil {
			r.Body.Close()
		}
	}
	body, feed := io.Pipe()
	defer feed.Close()
	go ask(body)
	go ask(strings.NewReader("clip"))
	_, err = feed.Write([]byte("{"))
	require.NoError(t, err)
	<-opening
	from := time.Now()
	cancel()
	require.NoError(t, <-ended)
	s.Close()
	assert.Less(t, time.Since(from), 2*time.Second) // half a second, and more on a busy machine; it was two and more
}

// TestKeysServeOnceAndExpire sets the clock.
func TestKeysServeOnceAndExpire(t *testing.T) {
	now := time.Date(2026, 3, 21, 12, 0, 0, 0, time.UTC)
	e := newEntrance(func() time.Time { return now })
	used := 0
	one, other := e.key(func() { used++ }), e.key(func() { used++ })
	assert.NotEqual(t, one, other)
	assert.False(t, e.use(""))
	assert.False(t, e.use(one+"x"))
	assert.True(t, e.use(one))
	assert.False(t, e.use(one), "a second time")
	assert.Equal(t, 1, used)
	now = now.Add(keyLife)
	assert.False(t, e.use(other), "too late")
	assert.Equal(t, 2, used)
	e.key(func() { used++ })
	now = now.Add(keyLife)
	e.expire()
	assert.Equal(t, 3, used)
	assert.Empty(t, e.keys)
}
