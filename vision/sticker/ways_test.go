package sticker

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/take"
)

// tape is a film with a key every so many pictures, as a decoder would have to read it.
type tape struct {
	film
	every   int
	decoded atomic.Int64 // pictures, those among them that only lead up to others
	kept    atomic.Int64 // pictures that are kept and not dropped
	torn    map[int]bool // pictures that cannot be decoded
}

func (f *tape) Start(i int) int { return i / f.every * f.every }

func (f *tape) Keep(p Picture, _ *take.Colours) (Picture, int, func()) {
	f.kept.Add(1)
	return p, f.FrameBytes(), func() { f.kept.Add(-1) }
}

func (f *tape) Stream(ctx context.Context, from, to int, fn func(i int, p Picture) error) error {
	f.decoded.Add(int64(from - f.Start(from)))
	return f.film.Stream(ctx, from, to, func(i int, p Picture) error {
		f.decoded.Add(1)
		if f.torn[i] {
			return nil
		}
		return fn(i, p)
	})
}

func twoBalls() []ball {
	return []ball{{colour: magenta, at: along(30, 50, 3, 0.2)}, {colour: green, at: along(40, 110, 2.6, -0.3)}}
}

// Each picture is decoded once, wherever the seeds are between two keys, and none stays in memory.
func TestDecodesOnce(t *testing.T) {
	balls := twoBalls()
	for _, seed := range []int{0, 20, 33, 49} {
		f := &tape{film: roll(50, wall, balls...), every: 20}
		n := 0
		require.NoError(t, Follow(context.Background(), f, seedsAt(seed, balls...), Options{}, func(Frame) error { n++; return nil }))
		assert.Equal(t, 50, n)
		assert.EqualValues(t, 50, f.decoded.Load(), "seeds in picture %d", seed)
		assert.Zero(t, f.kept.Load())
	}
}

// Stickers pointed at in different pictures are each followed both ways from there.
func TestSeedsInSeveralPictures(t *testing.T) {
	balls := twoBalls()
	f := &tape{film: roll(50, wall, balls...), every: 20}
	seeds := []Seed{seedsAt(35, balls...)[0], seedsAt(11, balls...)[1]}
	next := 0
	require.NoError(t, Follow(context.Background(), f, seeds, Options{}, func(fr Frame) error {
		require.Equal(t, next, fr.Index)
		for k, m := range fr.Marks {
			require.Equal(t, Seen, m.Seen, "picture %d sticker %d", fr.Index, k)
			require.Less(t, m.At.Sub(balls[k].at(fr.Index)).Norm(), 0.1, "picture %d sticker %d", fr.Index, k)
		}
		next++
		return nil
	}))
	assert.Equal(t, 50, next)
	assert.Zero(t, f.kept.Load())
}

// What was followed until somebody stops it is handed out without a gap.
func TestStoppedOnTheWay(t *testing.T) {
	balls := twoBalls()
	for _, stop := range []int{8, 40} { // forwards from the seeds, and then backwards
		f := &tape{film: roll(50, wall, balls...), every: 10}
		ctx, cancel := context.WithCancel(context.Background())
		o := Options{Progress: func(done, _, _ int) {
			if done == stop {
				cancel()
			}
		}}
		var got []int
		err := Follow(ctx, f, seedsAt(20, balls...), o, func(fr Frame) error { got = append(got, fr.Index); return nil })
		assert.ErrorIs(t, err, context.Canceled)
		require.GreaterOrEqual(t, len(got), stop)
		assert.Less(t, len(got), 50)
		for i := range got {
			require.Equal(t, got[0]+i, got[i])
		}
		assert.Contains(t, got, 20, "the picture of the seeds")
		assert.Zero(t, f.kept.Load())
	}
}

// A picture that cannot be decoded is left out, and is no place to point at.
func TestPictureThatIsMissing(t *testing.T) {
	balls := twoBalls()
	f := &tape{film: roll(40, wall, balls...), every: 10, torn: map[int]bool{7: true, 25: true}}
	n := 0
	require.NoError(t, Follow(context.Background(), f, seedsAt(15, balls...), Options{}, func(Frame) error { n++; return nil }))
	assert.Equal(t, 38, n)
	for _, seed := range []int{7, 25} {
		err := Follow(context.Background(), f, seedsAt(seed, balls...), Options{}, func(Frame) error {
			t.Error("there is nothing to hand out")
			return nil
		})
		var e *Error
		require.True(t, errors.As(err, &e), "%v", err)
		assert.Equal(t, BadSeed, e.Problem)
		assert.Contains(t, e.Error(), "cannot be decoded")
	}
	assert.Zero(t, f.kept.Load())
}
