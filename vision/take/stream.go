package take

import (
	"context"
	"errors"
	"io"
)

// ahead is how many decoded frames may wait for the function of Stream.
const ahead = 2

// Stream decodes straight on from frame from and calls fn with each frame in order, while the
// next ones are being decoded. A frame and its planes are valid until fn returns; Clone
// keeps one. Frames that cannot be decoded are left out, which shows in Index.
//
// It returns the error of fn, that of ctx at once where ctx ends, or an *Error. From within fn, Frame may
// be called.
func (t *Take) Stream(ctx context.Context, from int, fn func(*Frame) error) error {
	return t.Span(ctx, from, t.info.Frames-1, fn)
}

// Span is Stream up to frame to, after which no more is decoded.
func (t *Take) Span(ctx context.Context, from, to int, fn func(*Frame) error) error {
	for _, i := range []int{from, to} {
		if err := t.checkRange(i); err != nil {
			return err
		}
	}
	if t.still != nil {
		return fn(t.stillFrame())
	}
	within, cancel := context.WithCancel(ctx)
	queue := make(chan *Frame, ahead)
	var failed error
	go func() {
		defer close(queue)
		failed = t.decode(within, from, to, queue)
	}()
	drain := func() {
		for f := range queue {
			f.Release()
		}
	}
	defer func() {
		cancel()
		if ctx.Err() != nil {
			go drain() // the picture that is being decoded is not waited for
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

// CleanStart is the last frame at or before frame i from which decoding begins clean: Stream
// from there decodes nothing before it, and every frame from it to i is as in a straight decode.
// It is 0 where frames can only be counted from the start of the clip, and for a still. i is
// brought into the range of the frames.
//
// A clip is read backwards in stretches from one such frame to the next.
func (t *Take) CleanStart(i int) int {
	if t.still != nil || t.index.counted {
		return 0
	}
	x := t.index
	k := x.before(max(0, min(i, len(x.frames)-1)))
	if k < 0 {
		return 0
	}
	n, _ := x.find(x.keys[k].pts) // a key that an edit list hides: the first frame after it
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
	if errors.Is(err, errMissing) { // straight from the start to the first one after it
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
		f, err := t.grab(r, s, i)
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
	return t.reread(ctx, err)
}
