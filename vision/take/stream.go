package take

import (
	"context"
	"errors"
	"io"
)

// ahead is the number of decoded frames that may wait for the function of Stream.
const ahead = 2

// Stream calls fn with each frame in order, from frame from to the last one, while the following frames
// are being decoded. A frame and its planes are valid until fn returns; Clone makes a copy that lasts. Frames
// that cannot be decoded are left out; Frame.Index then skips their numbers.
//
// It returns the error of fn, the error of ctx as soon as ctx ends, or an *Error. fn may call Frame.
func (t *Take) Stream(ctx context.Context, from int, fn func(*Frame) error) error {
	return t.Span(ctx, from, t.info.Frames-1, fn)
}

// Span is Stream for the frames from to to, both included.
func (t *Take) Span(ctx context.Context, from, to int, fn func(*Frame) error) error {
	for _, i := range []int{from, to} {
		if err := t.checkRange(i); err != nil {
			return err
		}
	}
	if t.still != nil {
		return fn(t.stillFrame())
	}
	decodeCtx, cancel := context.WithCancel(ctx)
	queue := make(chan *Frame, ahead)
	var failed error
	go func() {
		defer close(queue)
		failed = t.decode(decodeCtx, from, to, queue)
	}()
	drain := func() {
		for f := range queue {
			f.Release()
		}
	}
	defer func() {
		cancel()
		if ctx.Err() != nil {
			go drain() // do not wait for the picture being decoded
		} else {
			drain()
		}
	}()
	for {
		select {
		case f, more := <-queue:
			if !more {
				return failed
			}
			err := fn(f)
			f.Release()
			if err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// CleanStart returns the last frame at or before frame i at which decoding can start clean: Stream from
// there decodes nothing before it, and every frame from it to i is the same as in a decode from the start.
// It returns 0 for a still, and if frames can only be counted from the start of the clip. i is clamped to
// the range of the frames.
//
// To read a clip backwards, read the stretches between such frames from the last to the first.
func (t *Take) CleanStart(i int) int {
	if t.still != nil || t.index.counted {
		return 0
	}
	x := t.index
	k := x.before(max(0, min(i, len(x.frames)-1)))
	if k < 0 {
		return 0
	}
	n, _ := x.find(x.keys[k].pts) // if an edit list hides the key, this is the first frame after it
	return n
}

// decode puts the frames from number from to number to into the queue.
func (t *Take) decode(ctx context.Context, from, to int, queue chan<- *Frame) error {
	r, err := t.acquire(ctx, t.streamThreads)
	if err != nil {
		return err
	}
	defer t.release(r)
	r.until = t.index.lastFor(to)
	s, err := r.goTo(ctx, from)
	if errors.Is(err, errMissing) { // decode from the start to the first frame after it
		if err = r.rewind(ctx); err == nil {
			s, err = r.next(ctx)
		}
	}
	for done := from - 1; err == nil; s, err = r.next(ctx) {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		i, ok := r.current(s)
		if !ok || i <= done {
			continue
		}
		if i > to {
			return nil
		}
		f, err := t.makeFrame(r, s, i)
		if err != nil {
			return err
		}
		done = i
		select {
		case queue <- f:
		case <-ctx.Done():
			f.Release()
			return ctx.Err()
		}
	}
	if errors.Is(err, io.EOF) {
		return nil
	}
	return t.readError(ctx, err)
}
