package take

import (
	"context"
	"errors"
	"io"

	"ecart/vision/internal/av"
)

// reader decodes one clip: a demuxer and a decoder, and where they stand.
type reader struct {
	path    string
	known   *av.Known // of the file
	threads int
	index   *index

	clip  *av.Clip
	fed   int  // place in decoding order of the packet last fed, -1 none
	shown int  // number of the frame last put out, -1 none
	ended bool // no packet is left
	until int  // place in decoding order of the last packet to be fed

	expected int // number of the frame that should come next
	damage   damage
	jumps    int // how often decoding has started anew
	came     int // pictures that the decoder has put out
}

// near is how many frames are decoded rather than jumped over: a seek restarts the decoder's
// threads and costs about as much.
const near = 8

// late is how many pictures past the wanted time stamp are looked at before a search gives up;
// a decoder holds back at most 16.
const late = 16

var errMissing = errors.New("the picture cannot be decoded")

// errTooLarge says that the decoder needs more memory for pictures than it may have.
var errTooLarge = errors.New("too much memory for pictures")

// openReader opens the clip anew, at its start.
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

// rewind starts over as a straight decode does, from a file opened anew.
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
	r.stand(-1)
	return nil
}

// restart opens the decoder with another number of threads, and stands at the start.
func (r *reader) restart(ctx context.Context, threads int) error {
	r.threads = threads
	if err := r.clip.Start(threads); err != nil {
		return err
	}
	return r.toStart(ctx)
}

// toStart stands at the start. The file is opened anew only where the container cannot go back there.
func (r *reader) toStart(ctx context.Context) error {
	if r.index.counted || !r.seek(ctx, r.index.start) {
		return r.rewind(ctx)
	}
	return nil
}

// stand forgets what was decoded; the next packet comes after place fed.
func (r *reader) stand(fed int) {
	r.fed, r.shown, r.expected, r.ended = fed, -1, 0, false
	r.clip.Faults() // those met before are over
	r.damage = damage{}
	r.jumps++
}

// seek stands before the key, ready to feed it. It reports false where the container does not
// land at or before it. Where ctx ends meanwhile, it closes the clip, whose place is not known.
func (r *reader) seek(ctx context.Context, k key) bool {
	// From the start of the file, packets are skipped without being decoded.
	for _, ts := range []int64{k.dts, k.pts, r.index.start.dts, r.index.start.pts} {
		if ctx.Err() != nil {
			break
		}
		if ts == av.NoTime || r.clip.SeekKey(ts) != nil {
			continue
		}
		r.stand(-1)
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

// alone decodes the first picture without those that a decoder asks for before it shows one. The
// error is errMissing where others may come before it.
func (r *reader) alone(ctx context.Context) (av.Shown, error) {
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

// next decodes the next picture. The error is io.EOF after the last, that of ctx where ctx has ended.
func (r *reader) next(ctx context.Context) (av.Shown, error) {
	for {
		s, err := r.clip.Receive()
		faults := r.faults()
		switch {
		case err == nil:
			r.came++
			r.note(s)
			return s, nil
		case errors.Is(err, io.EOF):
			return av.Shown{}, io.EOF
		case r.tooLarge():
			return av.Shown{}, errTooLarge
		case !errors.Is(err, av.ErrAgain) && faults == 0:
			r.failed()
		}
		if err := r.feed(ctx); err != nil {
			return av.Shown{}, err
		}
	}
}

// tooLarge reports whether there was no memory for a picture.
func (r *reader) tooLarge() bool {
	w, _ := r.clip.TooLarge()
	return w > 0
}

// note keeps account of a picture that has come out.
func (r *reader) note(s av.Shown) {
	x := r.index
	if x.counted {
		r.shown++
		r.damage.all = r.damage.all || s.Damaged
		return
	}
	if s.Damaged {
		if pos := x.place(s.PTS); pos >= 0 {
			r.spoil(pos)
		} else {
			r.failed()
		}
	}
	i, ok := x.find(s.PTS)
	if !ok {
		return
	}
	// Those between that were fed and did not come are damaged, and later ones may have been made from
	// them. One that was not fed, where a span ends before its packet, is not missing.
	for _, f := range x.frames[min(r.expected, i):i] {
		if f.pos <= r.fed {
			r.spoil(f.pos)
		}
	}
	r.shown, r.expected = i, max(r.expected, i+1)
}

// feed hands one more packet to the decoder, or tells it that there is none.
func (r *reader) feed(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if r.ended {
		return io.EOF
	}
	if r.fed < r.until {
		if _, err := r.clip.Read(); err == nil {
			r.fed++
			if r.clip.Send() != nil && r.faults() == 0 {
				r.failed()
			}
			return nil
		}
		if err := ctx.Err(); err != nil { // it is this that ended the reading
			return err
		}
	}
	r.ended = true
	if r.clip.Drain() != nil && r.faults() == 0 {
		r.failed()
	}
	return nil
}

// current says which frame the picture last put out is, false where it is none.
func (r *reader) current(s av.Shown) (int, bool) {
	if r.index.counted {
		return r.shown, r.shown < len(r.index.frames)
	}
	return r.index.find(s.PTS)
}

// advance decodes until frame i has come out. The error is errMissing where it does not come.
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

// goTo decodes frame i: onward from where it stands where that is near, else from the clean
// start before it, else from earlier ones, else from the start of the file.
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
