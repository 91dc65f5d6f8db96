package take

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"sort"
	"sync"
	"time"

	"ecart/vision/internal/av"
)

// Take is one still or one clip, open for reading. It may be used from several goroutines.
// Its memory grows with the length of the clip only by some bytes for each frame.
type Take struct {
	path string
	info Info
	sum  *sum

	still *av.Picture // nil for a clip

	known         *av.Known
	index         *index
	clock         clock
	usualInterval float64 // ticks between frames, 0 unknown
	stretch       float64 // stored intervals over true ones

	frameThreads, streamThreads int

	mu      sync.Mutex // one Frame at a time
	recent  []*Frame   // those asked for last, the latest last: see keep
	missing map[int]bool

	idleMu sync.Mutex
	idle   *reader // positioned after the last frame read
	closed bool
}

// Open opens the file at path. It decodes all of a still; of a clip it reads the time stamps and decodes the
// first frame. The hash of the file is computed in the background and may continue after Open has returned.
//
// Every error about the file is an *Error with a hint. If ctx ends first, its error is returned at once.
func Open(ctx context.Context, path string) (*Take, error) {
	return await(ctx, func() (*Take, error) { return openTake(ctx, path) }, func(t *Take) { t.Close() })
}

func openTake(ctx context.Context, path string) (*Take, error) {
	kind, size, err := inspect(path)
	if err != nil {
		return nil, err
	}
	t := &Take{path: path, stretch: 1, missing: map[int]bool{}}
	t.info = Info{Name: filepath.Base(path), Size: size, Orientation: 1, PixelAspect: 1}
	t.sum = startSum(path)
	if kind == clipKind {
		err = t.openClip(ctx)
	} else {
		err = t.openStill(ctx, kind)
	}
	if err != nil {
		t.Close()
		return nil, err
	}
	return t, nil
}

// StillBytes returns the memory of the decoded still, in bytes, which it holds until Close; 0 for a clip.
func (t *Take) StillBytes() int64 {
	if t.still == nil {
		return 0
	}
	return int64(t.still.Bytes())
}

// Close frees the resources of the take. Frames already returned stay valid.
func (t *Take) Close() error {
	t.sum.stop()
	t.idleMu.Lock()
	defer t.idleMu.Unlock()
	t.closed = true
	if t.idle != nil {
		t.idle.close()
		t.idle = nil
	}
	return nil
}

// SHA256 waits for the hash of the file and returns it in hexadecimal. It is "" if the file cannot be read to its
// end or the take was closed before. The error is that of ctx.
func (t *Take) SHA256(ctx context.Context) (string, error) { return t.sum.wait(ctx) }

// Info describes the take.
func (t *Take) Info() Info {
	info := t.info
	info.Warnings = append([]string(nil), t.info.Warnings...)
	return info
}

func (t *Take) warn(format string, args ...any) {
	t.info.Warnings = append(t.info.Warnings, fmt.Sprintf(format, args...))
}

// Time returns the stored time stamp of frame i, relative to the first frame; 0 for a still. i is clamped to
// the range of the frames.
func (t *Take) Time(i int) time.Duration {
	if t.still != nil {
		return 0
	}
	i = min(max(i, 0), t.info.Frames-1)
	return t.clock.duration(t.index.frames[i].pts - t.index.frames[0].pts)
}

// TrueTime is Time with slow motion undone.
func (t *Take) TrueTime(i int) time.Duration {
	if t.still != nil {
		return 0
	}
	return time.Duration(float64(t.Time(i)) / t.stretch)
}

// TrueInterval returns the true time from frame i to the next, with slow motion undone. For the last frame
// it is the duration of that frame in the file, or the usual interval if the file does not state it. It is 0
// for a still and if i is out of range.
func (t *Take) TrueInterval(i int) time.Duration {
	if t.still != nil || i < 0 || i >= t.info.Frames {
		return 0
	}
	return time.Duration(float64(t.interval(i)) / t.stretch)
}

// interval is TrueInterval by the stored time stamps, with slow motion not undone.
func (t *Take) interval(i int) time.Duration {
	if i+1 < t.info.Frames {
		return t.Time(i+1) - t.Time(i)
	}
	if t.index.last > 0 {
		return t.clock.duration(t.index.last)
	}
	return time.Duration(t.clock.seconds(t.usualInterval) * float64(time.Second))
}

// FrameAt returns the number of the frame that a player shows at d: the last one whose time
// stamp is not after d, 0 for a negative d.
func (t *Take) FrameAt(d time.Duration) int {
	return max(0, sort.Search(t.info.Frames, func(i int) bool { return t.Time(i) > d })-1)
}

// Frame returns frame i. A request for the frame after the last one decoded decodes without a seek, and one for a frame
// asked for shortly before decodes nothing. The error is an *Error if there is no such frame or it cannot be decoded. If ctx ends, its error is returned
// at once.
func (t *Take) Frame(ctx context.Context, i int) (*Frame, error) {
	if err := t.checkRange(i); err != nil {
		return nil, err
	}
	if t.still != nil {
		return t.stillFrame(), nil
	}
	return await(ctx, func() (*Frame, error) { return t.clipFrame(ctx, i) }, func(*Frame) {})
}

func (t *Take) clipFrame(ctx context.Context, i int) (*Frame, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := ctx.Err(); err != nil { // it may have ended while waiting for the lock
		return nil, err
	}
	if k := slices.IndexFunc(t.recent, func(f *Frame) bool { return f.Index == i }); k >= 0 {
		f := t.recent[k]
		t.keep(f)
		return f, nil
	}
	if t.missing[i] {
		return nil, t.undecodable(i)
	}
	r, err := t.acquire(ctx, t.frameThreads)
	if err != nil {
		return nil, err
	}
	defer t.release(r)
	s, err := r.goTo(ctx, i)
	if errors.Is(err, errMissing) {
		t.missing[i] = true
		return nil, t.undecodable(i)
	}
	if err != nil {
		return nil, t.readError(ctx, err)
	}
	f, err := t.makeFrame(r, s, i)
	if err != nil {
		return nil, err
	}
	defer f.Release()
	own := f.Clone()
	t.keep(own)
	return own, nil
}

// keep makes a frame the one asked for last, and lets go of those asked for longest ago, so that mostRecent are left and
// fit into recentMemory. Whoever marks a frame asks for it again and again while those beside it are fetched, and with one key
// frame in the clip, as many phones and programs write it, each way back decodes from the start.
func (t *Take) keep(f *Frame) {
	t.recent = append(slices.DeleteFunc(t.recent, func(g *Frame) bool { return g == f }), f)
	if over := len(t.recent) - min(max(1, recentMemory/f.picture.Bytes()), mostRecent); over > 0 {
		t.recent = slices.Delete(t.recent, 0, over)
	}
}

// makeFrame returns frame i from the picture that the reader has just put out. The frame uses the decoder's
// memory.
func (t *Take) makeFrame(r *reader, s av.Shown, i int) (*Frame, error) {
	p, err := r.clip.Take()
	if err != nil {
		return nil, t.undecodable(i).withCause(err)
	}
	f := &Frame{Index: i, Time: t.Time(i), Damaged: r.isDamaged(s.PTS), picture: p, orientation: av.Orientation(t.info.Orientation)}
	if b := f.Bounds(); b.Dx() != t.info.Width || b.Dy() != t.info.Height {
		p.Release()
		return nil, newError("use frames before it, or cut the clip there into two",
			"frame %d of %q is %d by %d pixels, the first one %d by %d", i, t.info.Name, b.Dx(), b.Dy(), t.info.Width, t.info.Height)
	}
	return f, nil
}

func (t *Take) checkRange(i int) error {
	if i >= 0 && i < t.info.Frames {
		return nil
	}
	if t.still != nil {
		return newError("ask for frame 0", "%q has no frame %d: it is a still, and has frame 0 only", t.info.Name, i)
	}
	return newError(fmt.Sprintf("ask for a frame from 0 to %d", t.info.Frames-1),
		"%q has no frame %d: it has %d frames and lasts %.3f s", t.info.Name, i, t.info.Frames, t.info.Duration.Seconds())
}

func (t *Take) undecodable(i int) *Error {
	return newError("use another frame, or record or copy the clip again",
		"frame %d of %q (at %.3f s) cannot be decoded: the file is damaged there", i, t.info.Name, t.Time(i).Seconds())
}

// acquire returns a reader with at least the given number of threads: the idle one, its decoder reopened if
// it has too few threads, or a new one. The reader obeys ctx until it is released.
func (t *Take) acquire(ctx context.Context, threads int) (*reader, error) {
	t.idleMu.Lock()
	r, closed := t.idle, t.closed
	t.idle = nil
	t.idleMu.Unlock()
	if closed {
		return nil, newError("open it again", "%q has been closed", t.info.Name)
	}
	if r != nil {
		r.clip.Heed(ctx)
		r.until = t.index.packets - 1
		if r.threads >= threads {
			return r, nil
		}
		if err := r.restart(ctx, threads); err == nil {
			return r, nil
		}
		r.close()
	}
	r, err := openReader(ctx, t.path, t.known, threads, t.index)
	if err != nil {
		return nil, t.readError(ctx, err)
	}
	return r, nil
}

// readError returns the error for a clip that was readable on opening and is no longer: that of ctx if ctx has
// ended, else one about memory or the file.
func (t *Take) readError(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if errors.Is(err, errTooLarge) {
		return t.tooLarge(t.info.Width, t.info.Height)
	}
	return newError("check that the file is still there", "%q cannot be read again", t.info.Name).withCause(err)
}

// release makes a reader idle again, or closes it if it is not needed.
func (t *Take) release(r *reader) {
	t.idleMu.Lock()
	defer t.idleMu.Unlock()
	if t.closed || t.idle != nil || r.clip == nil || r.clip.Stopped() {
		r.close()
		return
	}
	r.clip.Heed(context.Background())
	t.idle = r
}
