package sticker

import (
	"context"
	"image"

	"golang.org/x/sync/semaphore"

	"ecart/vision/take"
)

// keptBytes bounds the pictures that are kept while a clip is read backwards.
const keptBytes = 190 << 20

// leastKept is how many pictures are kept however large they are.
const leastKept = 6

// numbered is a picture that is kept, with its number. It must be dropped.
type numbered struct {
	i     int
	p     Picture
	gist  gist
	bytes int
	drop  func()
}

// keeper keeps pictures of a clip: all of them, or the parts with certain colours.
type keeper struct {
	clip Clip
	of   *take.Colours
	row  image.RGBA
}

func (k *keeper) keep(i int, p Picture) numbered {
	g := gistOf(p, &k.row)
	p, bytes, drop := k.clip.Keep(p, k.of)
	return numbered{i, p, g, bytes, drop}
}

// again keeps a picture once more.
func (k *keeper) again(n numbered) numbered {
	n.p, n.bytes, n.drop = k.clip.Keep(n.p, k.of)
	return n
}

// part is the same picture, of which only the parts with the colours are kept.
func (k *keeper) part(n numbered) numbered {
	defer n.drop()
	return k.again(n)
}

func dropAll(list []numbered) {
	for _, n := range list {
		n.drop()
	}
}

// room is how many pictures may be kept whole at a time.
func room(c Clip) int { return max(keptBytes/max(c.FrameBytes(), 1), leastKept) }

// reverse calls fn with the frames from number from down to 0, beginning with those of have, which
// lead up to from without a gap, and drops them. A decoder goes forwards only: the clip is decoded
// in stretches, the last one first, each from where decoding begins clean; the pictures of one are
// kept and handed out from their end, while the stretch before it is being decoded. Where a stretch
// does not fit into memory, its last pictures are kept, and it is decoded more than once.
func reverse(ctx context.Context, k *keeper, from int, have []numbered, fn func(n *numbered) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	d := backDecoder{keeper: k, most: keptBytes, chunks: make(chan []numbered)}
	first := 0
	for _, n := range have {
		first += n.bytes
	}
	d.free = semaphore.NewWeighted(int64(max(first, d.most)))
	failed := make(chan error, 1)
	go func() {
		defer close(d.chunks)
		failed <- d.run(ctx, from, have)
	}()
	for chunk := range d.chunks {
		for i := len(chunk) - 1; i >= 0; i-- {
			err := ctx.Err()
			if err == nil {
				err = fn(&chunk[i])
			}
			d.drop(chunk[i])
			if err != nil {
				cancel()
				dropAll(chunk[:i])
				for chunk := range d.chunks {
					dropAll(chunk)
				}
				<-failed
				return err
			}
		}
	}
	return <-failed
}

// backDecoder decodes stretch after stretch, the last one first.
type backDecoder struct {
	*keeper
	most   int                 // bytes that a stretch may take
	free   *semaphore.Weighted // bytes that may still be taken by any
	chunks chan []numbered
}

// size is what a picture counts for: leastKept are kept at any rate.
func (d *backDecoder) size(n numbered) int { return min(n.bytes, d.most/leastKept) }

func (d *backDecoder) drop(n numbered) {
	n.drop()
	d.free.Release(int64(d.size(n)))
}

func (d *backDecoder) run(ctx context.Context, from int, have []numbered) error {
	if len(have) > 0 {
		for _, n := range have {
			d.free.TryAcquire(int64(d.size(n))) // there is room for these
		}
		from = have[0].i - 1
		if err := d.hand(ctx, have); err != nil {
			return err
		}
	}
	for hi := from; hi >= 0; {
		lo := stretch(d.clip, hi, room(d.clip))
		chunk, err := d.decode(ctx, &lo, hi)
		if err == nil {
			err = d.hand(ctx, chunk)
		} else {
			dropAll(chunk)
		}
		if err != nil {
			return err
		}
		hi = lo - 1
	}
	return nil
}

func (d *backDecoder) hand(ctx context.Context, chunk []numbered) error {
	select {
	case d.chunks <- chunk:
		return nil
	case <-ctx.Done():
		dropAll(chunk)
		return ctx.Err()
	}
}

// decode keeps the frames from number lo to hi, or the last of them; then lo is moved to the first.
func (d *backDecoder) decode(ctx context.Context, lo *int, hi int) (chunk []numbered, err error) {
	all := 0
	err = d.clip.Stream(ctx, *lo, hi, func(i int, p Picture) error {
		n := d.keep(i, p)
		for all += d.size(n); all > d.most; chunk = chunk[1:] {
			all -= d.size(chunk[0])
			d.drop(chunk[0])
			*lo = chunk[0].i + 1
		}
		if err := d.free.Acquire(ctx, int64(d.size(n))); err != nil {
			n.drop()
			return err
		}
		chunk = append(chunk, n)
		return nil
	})
	return chunk, err
}

// stretch returns where the stretch that ends at hi begins: where decoding begins clean, and as far
// back as half the room where there is such a place.
func stretch(c Clip, hi, room int) int {
	lo := c.Start(hi)
	for lo > 0 {
		s := c.Start(lo - 1)
		if hi-s >= max(room/2, 1) {
			break
		}
		lo = s
	}
	return lo
}
