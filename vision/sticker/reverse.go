package sticker

import (
	"context"
	"errors"
)

// keptBytes bounds the pictures that are kept while a clip is read backwards.
const keptBytes = 190 << 20

// leastKept is how many pictures are kept however large they are.
const leastKept = 6

type numbered struct {
	i int
	p Picture
}

// reverse calls fn with the frames from number from down to 0. A decoder goes forwards only: the
// clip is decoded in stretches, the last one first, each from where decoding begins clean; the
// pictures of one are kept and handed out from their end, while the stretch before it is being
// decoded into the memory that they leave. Where a stretch does not fit, it is decoded more than
// once.
func reverse(ctx context.Context, c Clip, from int, fn func(i int, p Picture) error) error {
	room := max(keptBytes/max(c.FrameBytes(), 1), leastKept)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	slots := make(chan struct{}, room)
	free := make(chan Picture, room)
	chunks := make(chan []numbered)
	failed := make(chan error, 1)
	go func() {
		defer close(chunks)
		failed <- decodeBack(ctx, c, from, room, slots, free, chunks)
	}()
	for chunk := range chunks {
		for k := len(chunk) - 1; k >= 0; k-- {
			if err := fn(chunk[k].i, chunk[k].p); err != nil {
				cancel()
				for range chunks {
				}
				<-failed
				return err
			}
			free <- chunk[k].p
			chunk[k].p = nil
			<-slots
		}
	}
	return <-failed
}

// decodeBack decodes stretch after stretch, the last one first.
func decodeBack(ctx context.Context, c Clip, from, room int, slots chan<- struct{}, free <-chan Picture, chunks chan<- []numbered) error {
	for hi := from; hi >= 0; {
		lo := stretch(c, hi, room)
		var chunk []numbered
		err := c.Stream(ctx, lo, func(i int, p Picture) error {
			if i > hi {
				return errEnough
			}
			select {
			case slots <- struct{}{}:
			case <-ctx.Done():
				return ctx.Err()
			}
			var old Picture
			select {
			case old = <-free:
			default:
			}
			chunk = append(chunk, numbered{i, c.Keep(p, old)})
			if i == hi {
				return errEnough
			}
			return nil
		})
		if err != nil && !errors.Is(err, errEnough) {
			return err
		}
		select {
		case chunks <- chunk:
		case <-ctx.Done():
			return ctx.Err()
		}
		hi = lo - 1
	}
	return nil
}

// stretch returns where the stretch that ends at hi begins: where decoding begins clean, as far
// back as half the room, or all of it where no such place is nearer.
func stretch(c Clip, hi, room int) int {
	lo := c.Start(hi)
	if hi-lo >= room {
		return hi - room + 1
	}
	for lo > 0 {
		s := c.Start(lo - 1)
		if hi-s >= max(room/2, 1) {
			break
		}
		lo = s
	}
	return lo
}
