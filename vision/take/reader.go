package take

import (
	"context"
	"errors"
	"io"

	"ecart/vision/internal/av"
)

// reader decodes one clip. It holds a demuxer, a decoder and their position.
type reader struct {
	path    string
	known   *av.Known // what av learnt about the streams when the file was first opened
	threads int
	index   *index

	clip  *av.Clip
	judge *judge // nil where packets are not judged
	fed   int    // place in decoding order of the packet last fed, -1 none
	shown int    // number of the frame last put out, -1 none
	ended bool   // no packet is left
	until int    // place in decoding order of the last packet to be fed

	expected int // number of the frame that should come next
	damage   damage
	jumps    int // number of restarts of decoding
	decoded  int // number of pictures the decoder has put out
}

// near is the largest number of packets that are decoded instead of skipped by a seek: a seek restarts
// the decoder's threads and costs about as much.
const near = 8

// late is the number of pictures after the requested frame that are decoded before the search gives up.
// A decoder holds back at most 16.
const late = 16

var errMissing = errors.New("the picture cannot be decoded")

// errTooLarge says that the decoder needs more memory for pictures than av.MostPictures.
var errTooLarge = errors.New("too much memory for pictures")

// openReader opens the clip at its start, with n decoding threads.
func openReader(ctx context.Context, path string, known *av.Known, n int, x *index) (*reader, error) {
	r := &reader{path: path, known: known, threads: n, index: x, until: x.packets - 1}
	if err := r.rewind(ctx); err != nil {
		return nil, err
	}
	return r, nil
}

func (r *reader) close() {
	if r.clip != nil {
		r.clip.Close()
		r.clip = nil
	}
}

// rewind reopens the file and starts decoding at its beginning.
func (r *reader) rewind(ctx context.Context) error {
	r.close()
	clip, err := av.Open(ctx, r.path, maxPixels, r.known)
	if err != nil {
		return err
	}
	if err := clip.Start(r.threads); err != nil {
		clip.Close()
		return err
	}
	r.clip = clip
	r.judge = r.index.judge(clip)
	r.reset(-1)
	return nil
}

// restart reopens the decoder with another number of threads and goes to the start.
func (r *reader) restart(ctx context.Context, threads int) error {
	r.threads = threads
	if err := r.clip.Start(threads); err != nil {
		return err
	}
	return r.toStart(ctx)
}

// toStart goes to the start. It reopens the file only if the container cannot seek there.
func (r *reader) toStart(ctx context.Context) error {
	if r.index.counted || !r.seek(ctx, r.index.start) {
		return r.rewind(ctx)
	}
	return nil
}

// reset clears the state of decoding. The next packet is the one after place fed.
func (r *reader) reset(fed int) {
	r.fed, r.shown, r.expected, r.ended = fed, -1, 0, false
	r.clip.Faults() // discards those from before the reset
	r.damage = damage{}
	r.jumps++
}

// seek goes to the key and feeds it to the decoder. It reports false if the container does not land at
// or before the key. If ctx ends meanwhile, it closes the clip, whose position is then unknown.
func (r *reader) seek(ctx context.Context, k key) bool {
	// From the start of the file, packets are skipped without being decoded.
	for _, ts := range []int64{k.dts, k.pts, r.index.start.dts, r.index.start.pts} {
		if ctx.Err() != nil {
			break
		}
		if ts == av.NoTime || r.clip.SeekKey(ts) != nil {
			continue
		}
		r.reset(-1)
		for {
			p, err := r.clip.Read()
			if err != nil || ctx.Err() != nil {
				break
			}
			if p.PTS == k.pts {
				if r.clip.Send() != nil {
					return false
				}
				r.fed = k.pos
				r.judgeFed(p)
				r.expected, _ = r.index.find(k.pts)
				return true
			}
			if r.index.place(p.PTS) > k.pos {
				break // landed too late
			}
		}
	}
	if ctx.Err() != nil {
		r.close()
	}
	return false
}

// decodeAlone decodes the first picture from its own packet only, without the further packets that a decoder
// normally takes before it puts out a picture. The error is errMissing if another picture may come first.
func (r *reader) decodeAlone(ctx context.Context) (av.Shown, error) {
	x := r.index
	if x.counted || len(x.frames) == 0 || len(x.keys) == 0 || x.keys[0].pos != 0 || x.frames[0].pos != 0 || !r.seek(ctx, x.start) {
		return av.Shown{}, errMissing
	}
	r.until = r.fed
	defer func() { r.until = x.packets - 1 }()
	s, err := r.next(ctx)
	if err != nil || s.PTS != x.frames[0].pts || s.Damaged || r.isDamaged(s.PTS) {
		return av.Shown{}, errMissing
	}
	return s, nil
}

// next decodes the next picture. The error is io.EOF after the last one, and that of ctx if ctx has ended.
func (r *reader) next(ctx context.Context) (av.Shown, error) {
	for {
		s, err := r.clip.Receive()
		faults := r.markFaults()
		switch {
		case err == nil:
			r.decoded++
			r.record(s)
			return s, nil
		case errors.Is(err, io.EOF):
			return av.Shown{}, io.EOF
		case r.tooLarge():
			return av.Shown{}, errTooLarge
		case !errors.Is(err, av.ErrAgain) && faults == 0:
			r.markUnknown()
		}
		if err := r.feed(ctx); err != nil {
			return av.Shown{}, err
		}
	}
}

// tooLarge reports whether the decoder was refused memory for a picture.
func (r *reader) tooLarge() bool {
	w, _ := r.clip.TooLarge()
	return w > 0
}

// record updates the position and the damage after the decoder has put out a picture.
func (r *reader) record(s av.Shown) {
	x := r.index
	if x.counted {
		r.shown++
		r.damage.all = r.damage.all || s.Damaged
		return
	}
	if s.Damaged {
		if pos := x.place(s.PTS); pos >= 0 {
			r.markDamaged(pos)
		} else {
			r.markUnknown()
		}
	}
	i, ok := x.find(s.PTS)
	if !ok {
		return
	}
	// Frames before i that were fed but not put out are damaged, and later ones may be predicted from
	// them. A frame that was not fed, because its packet lies after until, is not missing.
	for _, f := range x.frames[min(r.expected, i):i] {
		if f.pos <= r.fed {
			r.markDamaged(f.pos)
		}
	}
	r.shown, r.expected = i, max(r.expected, i+1)
}

// feed sends the next packet to the decoder, or drains the decoder if there is none.
func (r *reader) feed(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if r.ended {
		return io.EOF
	}
	if r.fed < r.until {
		if p, err := r.clip.Read(); err == nil {
			r.fed++
			if r.clip.Send() != nil && r.markFaults() == 0 {
				r.markUnknown()
			}
			r.judgeFed(p)
			return nil
		}
		if err := ctx.Err(); err != nil { // reading ended because ctx ended
			return err
		}
	}
	r.ended = true
	if r.clip.Drain() != nil && r.markFaults() == 0 {
		r.markUnknown()
	}
	return nil
}

// current returns the frame number of the picture last put out, or false if it is not a frame.
func (r *reader) current(s av.Shown) (int, bool) {
	if r.index.counted {
		return r.shown, r.shown < len(r.index.frames)
	}
	return r.index.find(s.PTS)
}

// advance decodes up to frame i. The error is errMissing if the decoder does not put it out.
func (r *reader) advance(ctx context.Context, i int) (av.Shown, error) {
	past := 0
	for {
		if err := ctx.Err(); err != nil {
			return av.Shown{}, err
		}
		s, err := r.next(ctx)
		if ctx.Err() != nil {
			return av.Shown{}, ctx.Err()
		}
		if errors.Is(err, errTooLarge) {
			return av.Shown{}, err
		}
		if err != nil { // the end
			return av.Shown{}, errMissing
		}
		n, ok := r.current(s)
		if ok && n == i {
			return s, nil
		}
		if ok && n > i {
			if past++; past > late {
				return av.Shown{}, errMissing
			}
		}
	}
}

// goTo decodes frame i. It continues from the current position if that is near, else starts from the
// clean start before the frame. If that fails, it tries earlier clean starts and then the start of the file.
func (r *reader) goTo(ctx context.Context, i int) (av.Shown, error) {
	x := r.index
	k := -1
	if !x.counted {
		k = x.before(i)
	}
	onward := r.shown < i && (r.shown >= 0 || r.fed < 0)
	if onward && (k < 0 || x.keys[k].pos <= r.fed+near) {
		if s, err := r.advance(ctx, i); !errors.Is(err, errMissing) {
			return s, err
		}
	}
	for _, back := range []int{0, 1, 4} {
		if k-back < 0 {
			break
		}
		if r.seek(ctx, x.keys[k-back]) {
			if s, err := r.advance(ctx, i); !errors.Is(err, errMissing) {
				return s, err
			}
		}
	}
	if err := r.rewind(ctx); err != nil {
		return av.Shown{}, err
	}
	return r.advance(ctx, i)
}
