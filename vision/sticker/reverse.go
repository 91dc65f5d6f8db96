package sticker

import "context"

// keptBytes bounds the pictures that are kept while a clip is read backwards.
const keptBytes = 190 << 20

// leastKept is how many pictures are kept however large they are.
const leastKept = 6

// numbered is a picture that is kept, with its number. It must be dropped.
type numbered struct {
	i    int
	p    Picture
	drop func()
}

func kept(c Clip, i int, p Picture) numbered {
	p, drop := c.Keep(p)
	return numbered{i, p, drop}
}

func dropAll(list []numbered) {
	for _, n := range list {
		n.drop()
	}
}

// room is how many pictures may be kept at a time.
func room(c Clip) int { return max(keptBytes/max(c.FrameBytes(), 1), leastKept) }

// reverse calls fn with the frames from number from down to 0, beginning with those of have, which
// lead up to from without a gap, and drops them. A decoder goes forwards only: the clip is decoded
// in stretches, the last one first, each from where decoding begins clean; the pictures of one are
// kept and handed out from their end, while the stretch before it is being decoded. Where a stretch
// does not fit into memory, it is decoded more than once.
func reverse(ctx context.Context, c Clip, from int, have []numbered, fn func(i int, p Picture) error) error {
	room := max(room(c), len(have))
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	slots := make(chan struct{}, room)
	chunks := make(chan []numbered, 1)
	failed := make(chan error, 1)
	if len(have) > 0 {
		for range have {
			slots <- struct{}{}
		}
		chunks <- have
		from = have[0].i - 1
	}
	go func() {
		defer close(chunks)
		failed <- decodeBack(ctx, c, from, room, slots, chunks)
	}()
	for chunk := range chunks {
		for k := len(chunk) - 1; k >= 0; k-- {
			err := ctx.Err()
			if err == nil {
				err = fn(chunk[k].i, chunk[k].p)
			}
			chunk[k].drop()
			<-slots
			if err != nil {
				cancel()
				dropAll(chunk[:k])
				for chunk := range chunks {
					dropAll(chunk)
				}
				<-failed
				return err
			}
		}
	}
	return <-failed
}

// decodeBack decodes stretch after stretch, the last one first.
func decodeBack(ctx context.Context, c Clip, from, room int, slots chan<- struct{}, chunks chan<- []numbered) error {
	for hi := from; hi >= 0; {
		lo := stretch(c, hi, room)
		var chunk []numbered
		err := c.Stream(ctx, lo, hi, func(i int, p Picture) error {
			select {
			case slots <- struct{}{}:
			case <-ctx.Done():
				return ctx.Err()
			}
			chunk = append(chunk, kept(c, i, p))
			return nil
		})
		if err != nil {
			dropAll(chunk)
			return err
		}
		select {
		case chunks <- chunk:
		case <-ctx.Done():
			dropAll(chunk)
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
