package sticker

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/take"
)

// keyedFilm is a film with a key picture every so many pictures, from which a decoder has to start.
type keyedFilm struct {
	film
	every       int
	decoded     atomic.Int64 // number of decoded pictures, with those that only lead up to others
	undecodable map[int]bool // pictures that cannot be decoded
	damaged     map[int]bool // damaged ones
}

func (f *keyedFilm) CleanStart(i int) int { return i / f.every * f.every }

func (f *keyedFilm) Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error {
	f.decoded.Add(int64(from % f.every))
	return f.film.Stream(ctx, from, to, func(i int, p Picture, damaged bool) error {
		f.decoded.Add(1)
		if f.undecodable[i] {
			return nil
		}
		return fn(i, p, f.damaged[i])
	})
}

func twoBalls() []ball {
	return []ball{{colour: magenta, at: along(30, 50, 3, 0.2)}, {colour: green, at: along(40, 110, 2.6, -0.3)}}
}

// Each picture is decoded once. Before that, the pictures of the seeds are decoded, with those from their key pictures on; those that follow one
// key picture in one go.
func TestEachPictureIsDecodedOnce(t *testing.T) {
	balls := twoBalls()
	for _, c := range []struct{ first, last, lead int }{{0, 0, 1}, {20, 20, 1}, {33, 33, 14}, {49, 49, 10}, {11, 15, 16}, {11, 20, 13}, {0, 5, 6}, {25, 39, 20}, {18, 41, 21}} {
		f := &keyedFilm{film: filmOf(50, wall, balls...), every: 20}
		n := 0
		seeds := []Seed{seedsAt(c.last, balls...)[0], seedsAt(c.first, balls...)[1]}
		require.NoError(t, Follow(context.Background(), f, seeds, Options{}, func(Frame) error { n++; return nil }))
		assert.Equal(t, 50, n)
		assert.EqualValues(t, 50+c.lead, f.decoded.Load(), "seeds in pictures %d and %d", c.first, c.last)
	}
}

// Stickers pointed at in different pictures are each followed both ways from there.
func TestSeedsInSeveralPictures(t *testing.T) {
	balls := twoBalls()
	f := &keyedFilm{film: filmOf(50, wall, balls...), every: 20}
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
}

// When following is cancelled, the pictures followed until then are handed out without a gap, from the start on; none
// if the picture of the seeds was not reached.
func TestCancelled(t *testing.T) {
	balls := twoBalls()
	for _, stop := range []int{8, 40} { // before and after the seeds
		f := &keyedFilm{film: filmOf(50, wall, balls...), every: 10}
		ctx, cancel := context.WithCancel(context.Background())
		o := Options{Progress: func(done, _, _ int) {
			if done == stop {
				cancel()
			}
		}}
		var got []int
		err := Follow(ctx, f, seedsAt(20, balls...), o, func(fr Frame) error { got = append(got, fr.Index); return nil })
		assert.ErrorIs(t, err, context.Canceled)
		if stop < 20 {
			assert.Empty(t, got)
			continue
		}
		assert.Len(t, got, stop)
		for i := range got {
			require.Equal(t, i, got[i])
		}
	}
}

// A picture that cannot be decoded is left out, and a seed in it is refused.
func TestPictureThatIsMissing(t *testing.T) {
	balls := twoBalls()
	f := &keyedFilm{film: filmOf(40, wall, balls...), every: 10, undecodable: map[int]bool{7: true, 25: true}}
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
}

// No sticker is seen in a damaged picture, and a seed in one is refused.
func TestDamagedPictures(t *testing.T) {
	balls := twoBalls()
	f := &keyedFilm{film: filmOf(50, wall, balls...), every: 20, damaged: map[int]bool{20: true, 21: true, 35: true}}
	n := 0
	require.NoError(t, Follow(context.Background(), f, seedsAt(5, balls...), Options{}, func(fr Frame) error {
		n++
		require.Equal(t, f.damaged[fr.Index], fr.Damaged, "picture %d", fr.Index)
		for k, m := range fr.Marks {
			if fr.Damaged {
				require.NotEqual(t, Seen, m.Seen, "picture %d sticker %d", fr.Index, k)
			} else {
				require.Equal(t, Seen, m.Seen, "picture %d sticker %d", fr.Index, k)
			}
		}
		return nil
	}))
	assert.Equal(t, 50, n)

	seeds := seedsAt(5, balls...)
	seeds[1] = seedsAt(20, balls...)[1]
	err := Follow(context.Background(), f, seeds, Options{}, func(Frame) error { return nil })
	var known *Error
	require.ErrorAs(t, err, &known)
	assert.Equal(t, BadSeed, known.Problem)
	assert.Equal(t, `the file is damaged at frame 20, in which "s1" was pointed at`, known.Error())

	// seeds with a colour are searched in pictures that are not damaged
	f.damaged = map[int]bool{0: true, 1: true, 2: true}
	c := make([]Seed, len(balls))
	for k, b := range balls {
		colour := Colour{uint8(b.colour >> 16), uint8(b.colour >> 8), uint8(b.colour)}
		c[k] = Seed{Name: seeds[k].Name, Colour: &colour}
	}
	require.NoError(t, Follow(context.Background(), f, c, Options{}, func(fr Frame) error {
		for k, m := range fr.Marks {
			require.Equal(t, fr.Index > 2, m.Seen == Seen, "picture %d sticker %d", fr.Index, k)
		}
		return nil
	}))
}

// BenchmarkFollow follows the three stickers of the demo's clip, 90 frames of 1920 by 1080, and compares the time with that of
// decoding the clip without looking at a frame.
func BenchmarkFollow(b *testing.B) {
	const path = "../../cmd/internal/demotake/leap.mp4"
	seeds := []Seed{{Name: "hip", At: ptOf(965, 470), Frame: 43}, {Name: "front-ankle", At: ptOf(1255, 517), Frame: 43},
		{Name: "back-ankle", At: ptOf(652, 515), Frame: 43}}
	ctx := context.Background()
	var follow, decode time.Duration
	for b.Loop() {
		for _, run := range []struct {
			took *time.Duration
			do   func(t *take.Take) error
		}{
			{&decode, func(t *take.Take) error { return t.Span(ctx, 0, 89, func(*take.Frame) error { return nil }) }},
			{&follow, func(t *take.Take) error {
				return Follow(ctx, Of(t), seeds, Options{}, func(Frame) error { return nil })
			}},
		} {
			start := time.Now()
			t, err := take.Open(ctx, path)
			require.NoError(b, err)
			require.NoError(b, run.do(t))
			require.NoError(b, t.Close())
			*run.took += time.Since(start)
		}
	}
	b.ReportMetric(float64(follow)/float64(decode), "of-decoding")
	b.ReportMetric(float64(follow.Milliseconds())/float64(b.N), "ms/follow")
}
