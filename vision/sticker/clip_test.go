package sticker

import (
	"context"
	"errors"
	"image"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
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

// Each picture is decoded once. Before that, the picture of the seeds is decoded, with those from its key picture on.
func TestEachPictureIsDecodedOnce(t *testing.T) {
	balls := twoBalls()
	for _, seed := range []int{0, 20, 33, 49} {
		f := &keyedFilm{film: filmOf(50, wall, balls...), every: 20}
		n := 0
		require.NoError(t, Follow(context.Background(), f, seedsAt(seed, balls...), Options{}, func(Frame) error { n++; return nil }))
		assert.Equal(t, 50, n)
		assert.EqualValues(t, 50+seed%20+1, f.decoded.Load(), "seeds in picture %d", seed)
	}
}

// Pictures of seeds that follow one key picture are found in one go from there.
func TestWhatLeadsUpToSeedsIsDecodedOnce(t *testing.T) {
	balls := twoBalls()
	for _, c := range []struct{ first, second, lead int }{{11, 15, 16}, {11, 20, 13}, {0, 5, 6}, {25, 39, 20}, {18, 41, 21}} {
		f := &keyedFilm{film: filmOf(50, wall, balls...), every: 20}
		seeds := []Seed{seedsAt(c.second, balls...)[0], seedsAt(c.first, balls...)[1]}
		require.NoError(t, Follow(context.Background(), f, seeds, Options{}, func(Frame) error { return nil }))
		assert.EqualValues(t, 50+c.lead, f.decoded.Load(), "seeds in pictures %d and %d", c.first, c.second)
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

// Of two lost stickers of one look, one comes back. It is identified if its place is clearly nearer to that sticker's expected place, unless the other one was lost for so long
// that it may be anywhere.
func TestIdentifiedByItsPlace(t *testing.T) {
	for _, c := range []struct {
		x          float64 // place at which it comes back, px
		lost       float64 // frames for which the other one was lost by then
		identified bool
	}{{130, 4, true}, {250, 4, false}, {150, 40, true}, {270, 40, false}} {
		j := &job{seeds: []Seed{{Name: "a"}, {Name: "b"}}, lookAlikes: [][]int{{1}, {0}}, frameTime: 1.0 / 60, bounds: image.Rect(0, 0, 1280, 720), clip: make(film, 10)}
		for k, at := range []float64{100, 400} {
			tr := &track{sights: []sight{{i: 0, seen: true}}}
			for i := 1; i < 8; i++ {
				e := expectation{ptOf(at+float64(1-2*k)*10*float64(i), 300), ptOf(at, 300), 400, 8, float64(i)}
				if e.frames += float64(k) * (c.lost - 4); c.lost > 4 && k == 1 {
					e.at = ptOf(2000, 300) // at constant velocity
				}
				tr.sights = append(tr.sights, sight{i: i, expected: e})
			}
			j.tracks[1] = append(j.tracks[1], tr)
		}
		for i := 4; i < 8; i++ {
			s := &j.tracks[1][0].sights[i]
			s.seen, s.unsure, s.returned, s.what = true, true, i == 4, seenAs(c.x+10*float64(i-4), 300, 8, tag)
		}
		assert.Equal(t, c.identified, j.identified(0, 4), "at %g after %g frames", c.x, c.lost)
		assert.Equal(t, c.identified, j.identified(0, 7), "at %g after %g frames", c.x, c.lost)
	}
}

// Two stickers of one look are hidden where they cross, and both come back. Neither place alone tells which is which, but the two together do, where both went on; not where
// they came back close to one another.
func TestTwoThatCross(t *testing.T) {
	for _, c := range []struct {
		apart      float64 // px from the middle, where they come back
		step       float64 // px a frame from there
		both       bool
		identified bool
	}{{25, 20, true, true}, {25, 20, false, false}, {-25, -20, true, false}, {4, 0, true, false}} {
		j := &job{seeds: []Seed{{Name: "a"}, {Name: "b"}}, lookAlikes: [][]int{{1}, {0}}, frameTime: 1.0 / 60, bounds: image.Rect(0, 0, 1280, 720), clip: make(film, 10)}
		for k, way := range []float64{1, -1} {
			tr := &track{sights: []sight{{i: 0, seen: true}}}
			for i := 1; i < 8; i++ {
				e := thread{at: ptOf(300-40*way, 300), velocity: geometry.Vec{X: 20 * way}, scale: 60, radius: 8, frames: float64(i), timesSeen: 9}
				s := sight{i: i, unsure: i > 2, returned: i == 3, expected: e.expectation()}
				if s.seen = i > 2 && (k == 0 || c.both); s.seen {
					s.what = seenAs(300+way*(c.apart+c.step*float64(i-3)), 300, 8, tag)
				}
				tr.sights = append(tr.sights, s)
			}
			j.tracks[1] = append(j.tracks[1], tr)
		}
		for k := range 2 {
			if k == 0 || c.both {
				assert.Equal(t, c.identified, j.identified(k, 5), "%d, %g px from the middle, both back %v", k, c.apart, c.both)
			}
		}
	}
}

// Two stickers of one look are lost behind one thing, one of them long before the other. What comes out beside it may be either, though only one is expected there.
func TestHiddenInOnePlace(t *testing.T) {
	for _, c := range []struct {
		lost       float64 // px, where the other was lost
		identified bool
	}{{300, false}, {800, true}} {
		j := &job{seeds: []Seed{{Name: "a"}, {Name: "b"}}, lookAlikes: [][]int{{1}, {0}}, frameTime: 1.0 / 60, bounds: image.Rect(0, 0, 1280, 720), clip: make(film, 10)}
		for k := range 2 {
			tr := &track{sights: []sight{{i: 0, seen: true}}}
			for i := 1; i < 8; i++ {
				e := thread{at: ptOf(280, 300), velocity: geometry.Vec{X: 5}, scale: 60, radius: 8, frames: float64(i), timesSeen: 9}
				if k == 1 {
					e.at, e.velocity.X, e.frames = ptOf(c.lost, 300), -20, 40
				}
				tr.sights = append(tr.sights, sight{i: i, expected: e.expectation()})
			}
			j.tracks[1] = append(j.tracks[1], tr)
		}
		for i := 3; i < 8; i++ {
			s := &j.tracks[1][0].sights[i]
			s.seen, s.unsure, s.returned, s.what = true, true, i == 3, seenAs(280+5*float64(i), 300, 8, tag)
		}
		assert.Equal(t, c.identified, j.identified(0, 5), "the other one was lost at %g", c.lost)
	}
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
