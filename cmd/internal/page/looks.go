package page

import (
	"bufio"
	"context"
	"encoding/binary"
	"io"
	"io/fs"
	"net/http"
	"os"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"ecart/cmd/internal/large"
	"ecart/cmd/internal/page/folder"
)

// A look is a small picture of a frame. Every clip that is opened is looked
// through once in the background, so that the picture can follow a finger along
// the clip whatever the distance between its key frames; the sharp one follows.
//
// The file of a take's looks is records of frame number and length (uint32,
// little endian) and a JPEG; a record that is cut off at the end is overwritten.
const (
	lookWide  = 480
	lookSharp = 72 // JPEG quality
	mostLooks = 6000
)

// each returns the distance, in frames, between frames that have a look.
func each(frames int) int { return max(1, (frames+mostLooks-1)/mostLooks) }

// looks makes and serves small pictures, one clip at a time, the last wanted
// first.
type looks struct {
	s      *Server
	busy   atomic.Int32 // pictures that somebody waits for
	mu     sync.Mutex
	files  map[string]*lookFile
	queue  []string
	going  string
	cancel context.CancelFunc
	wake   chan struct{}
}

type lookFile struct {
	f     *os.File
	at    map[int][2]int64 // frame: offset and length
	end   int64
	whole bool
	lost  bool // taken off the disk
}

func newLooks(s *Server) *looks {
	l := &looks{s: s, files: map[string]*lookFile{}, wake: make(chan struct{}, 1)}
	s.background(l.run)
	return l
}

// pause holds the background work back until the function it returns is called.
func (l *looks) pause() func() {
	l.busy.Add(1)
	return func() { l.busy.Add(-1) }
}

// want asks for a clip to be looked through next.
func (l *looks) want(id string) {
	l.mu.Lock()
	if f := l.files[id]; f == nil || !f.whole {
		if l.going != "" && l.going != id {
			l.cancel()
			l.queue = append([]string{l.going}, l.queue...)
		}
		if l.going != id {
			l.queue = append([]string{id}, l.queue...)
		}
	}
	l.mu.Unlock()
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// later asks for a clip to be looked through after those that wait.
func (l *looks) later(id string) {
	l.mu.Lock()
	if f := l.files[id]; (f == nil || !f.whole) && l.going != id && !slices.Contains(l.queue, id) {
		l.queue = append(l.queue, id)
	}
	l.mu.Unlock()
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// forget stops with a take and lets go of its file.
func (l *looks) forget(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.going == id {
		l.cancel()
	}
	if f := l.files[id]; f != nil {
		f.lost = true
		f.f.Close()
		delete(l.files, id)
	}
}

func (l *looks) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, f := range l.files {
		f.f.Close()
	}
}

func (l *looks) run(ctx context.Context) {
	for {
		l.mu.Lock()
		id := ""
		if len(l.queue) > 0 {
			id, l.queue = l.queue[0], l.queue[1:]
		}
		var one context.Context
		if id != "" {
			one, l.cancel = context.WithCancel(ctx)
			l.going = id
		}
		l.mu.Unlock()
		if id == "" {
			select {
			case <-ctx.Done():
				return
			case <-l.wake:
				continue
			}
		}
		if err := l.through(one, id); err != nil && one.Err() == nil {
			l.s.log("small pictures of %s: %v", id, err)
		}
		l.mu.Lock()
		l.cancel()
		l.going = ""
		l.mu.Unlock()
	}
}

// through looks through one clip, from where it was left.
func (l *looks) through(ctx context.Context, id string) error {
	t, done, err := l.s.pool.borrow(ctx, id)
	if err != nil {
		return err
	}
	defer done()
	i := t.Info()
	f, err := l.file(id)
	if err != nil || i.Still {
		return err
	}
	step := each(i.Frames)
	l.mu.Lock()
	from, had := 0, len(f.at)
	for ; from < i.Frames; from += step {
		if _, ok := f.at[from]; !ok {
			break
		}
	}
	l.mu.Unlock()
	total := (i.Frames + step - 1) / step
	var last time.Time
	tell := func(n int) {
		l.s.hub.tell(id, event{Kind: "looks", Done: n, Of: total})
		last = time.Now()
	}
	if from < i.Frames {
		err = t.Stream(ctx, from, func(frame Frame) error {
			n := frame.Number()
			if n%step != 0 {
				return nil
			}
			for l.busy.Load() > 0 {
				select {
				case <-ctx.Done():
					return ctx.Err()
				case <-time.After(4 * time.Millisecond):
				}
			}
			data, err := asJPEG(large.Shrunk(frame, frame.Bounds(), lookWide), lookSharp)
			if err != nil {
				return err
			}
			if err := l.add(f, n, data); err != nil {
				return err
			}
			had++
			if time.Since(last) > 250*time.Millisecond {
				tell(had)
			}
			return nil
		})
	}
	if err == nil {
		l.mu.Lock()
		f.whole = true
		l.mu.Unlock()
		tell(total)
	}
	return err
}

func (l *looks) add(f *lookFile, n int, jpeg []byte) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if _, ok := f.at[n]; ok || f.lost {
		return nil
	}
	var head [8]byte
	binary.LittleEndian.PutUint32(head[:4], uint32(n))
	binary.LittleEndian.PutUint32(head[4:], uint32(len(jpeg)))
	if _, err := f.f.WriteAt(append(head[:], jpeg...), f.end); err != nil {
		return err
	}
	f.at[n] = [2]int64{f.end + 8, int64(len(jpeg))}
	f.end += 8 + int64(len(jpeg))
	return nil
}

// file opens the file of a take's looks and finds what is in it.
func (l *looks) file(id string) (*lookFile, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if f := l.files[id]; f != nil {
		return f, nil
	}
	if _, err := l.s.store.About(id); err != nil { // taken off the machine: its file is not made again
		return nil, err
	}
	path := l.s.store.Path(folder.LookDir, id)
	if i, err := os.Lstat(path); err == nil && !i.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "open", Path: path, Err: syscall.EINVAL}
	}
	o, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	f := &lookFile{f: o, at: map[int][2]int64{}}
	st, err := o.Stat()
	if err != nil {
		o.Close()
		return nil, err
	}
	b := bufio.NewReader(o)
	for {
		var head [8]byte
		if _, err := io.ReadFull(b, head[:]); err != nil {
			break
		}
		n, long := int(binary.LittleEndian.Uint32(head[:4])), int64(binary.LittleEndian.Uint32(head[4:]))
		if f.end+8+long > st.Size() {
			break
		}
		if _, err := b.Discard(int(long)); err != nil {
			break
		}
		f.at[n] = [2]int64{f.end + 8, long}
		f.end += 8 + long
	}
	l.files[id] = f
	return f, nil
}

// get returns the look of a frame, nil if it is not there yet.
func (l *looks) get(id string, n int) ([]byte, error) {
	if _, err := l.s.store.About(id); err != nil {
		return nil, err
	}
	f, err := l.file(id)
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	where, ok := f.at[n]
	l.mu.Unlock()
	if !ok {
		return nil, nil
	}
	data := make([]byte, where[1])
	_, err = f.f.ReadAt(data, where[0])
	return data, err
}

// look sends the small picture of a frame, or 204 if it is not there yet.
func (s *Server) look(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	n, err := frameNumber(r)
	var data []byte
	if err == nil {
		data, err = s.looks.get(id, n)
	}
	switch {
	case err != nil:
		s.fail(w, r, err)
	case data == nil:
		w.Header().Set("Cache-Control", "no-store")
		w.WriteHeader(http.StatusNoContent)
	default:
		send(w, r, &coded{kind: "image/jpeg", data: data})
	}
}

// thumb sends a small picture for the list: of the frame that was shown last.
func (s *Server) thumb(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	n := 0
	if work, err := s.works.load(id); err == nil {
		n = work.Frame
	}
	data, err := s.looks.get(id, n)
	if err == nil && data == nil {
		data, err = s.makeLook(r, id, n)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Type", "image/jpeg")
	w.Write(data)
}

// makeLook makes the small picture of one frame ahead of its turn.
func (s *Server) makeLook(r *http.Request, id string, n int) ([]byte, error) {
	done, err := s.turn(r.Context(), false)
	if err != nil {
		return nil, err
	}
	defer done()
	frame, err := s.decoded(r.Context(), id, n)
	if err != nil {
		return nil, err
	}
	data, err := asJPEG(large.Shrunk(frame, frame.Bounds(), lookWide), lookSharp)
	if err != nil {
		return nil, err
	}
	if f, err := s.looks.file(id); err == nil {
		s.looks.add(f, n, data)
	}
	return data, nil
}
