package sticker

import (
	"context"
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// Of places on a smooth path with scatter, localVariance gives the scatter and not the motion, which turns by a radian in 20
// frames or in two and a half, as a leg does at 30 frames a second. It assumes a correlation of a half between neighbours, so that independent
// scatter is stated up to sqrt(20/7.75) times too large. Without four places in a row it is infinite.
func TestScatterOfPlaces(t *testing.T) {
	for name, turn := range map[string]float64{"slow": 1.0 / 20, "fast": 1 / 2.5} {
		rnd := rand.New(rand.NewPCG(7, 7))
		tr := &track{}
		for i := range 300 {
			x := float64(i)
			c := seenAs(3*x+0.2*x*x+0.4*rnd.NormFloat64(), 40*math.Sin(x*turn)+0.4*rnd.NormFloat64(), 8, tag)
			tr.sights = append(tr.sights, sight{i: i, seen: i < 280 || i%4 > 0, what: c})
		}
		j := &job{seeds: make([]Seed, 1), tracks: [2][]*track{{tr}, {tr}}}
		sum := 0.0
		for i := 10; i < 260; i++ {
			sum += j.localVariance(0, i)
		}
		assert.InDelta(t, 0.4*math.Sqrt(20/7.75), math.Sqrt(sum/250), 0.15, name)
		assert.True(t, math.IsInf(j.localVariance(0, 290), 1), "three in a row")
	}
}

// differenceVariance agrees with the definition for places with a correlation of 0.5^n at a distance of n frames.
func TestDifferenceVariance(t *testing.T) {
	for n, want := range differenceVariance {
		var sum float64
		wide := 4 + 2*n
		weight := func(i int) float64 {
			places := make([]geometry.Point, wide)
			places[i].X = 1
			return difference(places).X
		}
		for i := range wide {
			for k := range wide {
				sum += weight(i) * weight(k) * math.Pow(0.5, math.Abs(float64(i-k)))
			}
		}
		assert.InDelta(t, sum, want, 0.05)
	}
}

// The stated covariance is not less than the errors against the truth that the films are painted from, though differences do not show an error
// that is the same from frame to frame.
func TestCovarianceHoldsTheErrors(t *testing.T) {
	balls := twoBalls()
	var sum, n float64
	for i, fr := range followed(t, filmOf(50, wall, balls...), seedsAt(25, balls...)) {
		for k, m := range fr.Marks {
			d := m.At.Sub(balls[k].at(i))
			sum += (d.X*d.X/m.Cov[0][0] + d.Y*d.Y/m.Cov[1][1]) / 2
			n++
		}
	}
	assert.Less(t, sum/n, 1.25)
}

// A sticker that is seen in fewer than four frames beside the seed's may have been a jump: no mark of it is handed out, and the error says why.
func TestTooFewFramesBesideTheSeed(t *testing.T) {
	for frames, want := range map[int]int{3: 0, 4: 0, 5: 5} {
		one := ball{colour: magenta, at: along(30, 50, 3, 0)}
		short := ball{colour: green, at: along(40, 110, 2.6, -0.3), hidden: func(i int) bool { return i < 12 || i >= 12+frames }}
		seen := [2]int{}
		err := Follow(context.Background(), filmOf(40, wall, one, short), seedsAt(13, one, short), Options{}, func(f Frame) error {
			for k, m := range f.Marks {
				if m.Seen == Seen {
					seen[k]++
				}
			}
			return nil
		})
		assert.Equal(t, [2]int{40, want}, seen)
		if want == 0 {
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, NoSticker, e.Problem)
			assert.Equal(t, `"s1" in frame 13: no 5 frames in a row show it surely`, e.Error())
			assert.NotEmpty(t, e.Hint())
		}
	}
}

// A sticker that is missed in two frames after the seed's, and before it, is seen once it is back for four frames, the last at the end of those beside the seed's.
func TestTwoFramesMissedBesideTheSeed(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	missed := ball{colour: green, at: along(40, 110, 2.6, -0.3), hidden: func(i int) bool { return i < 13 || i == 14 || i == 15 }}
	seen := 0
	require.NoError(t, Follow(context.Background(), filmOf(40, wall, one, missed), seedsAt(13, one, missed), Options{}, func(f Frame) error {
		if f.Marks[1].Seen == Seen {
			assert.GreaterOrEqual(t, f.Index, 16)
			seen++
		}
		return nil
	}))
	assert.Equal(t, 24, seen)
}

// The run of frames next to the seed's counts both directions together.
func TestRunOfTheSeed(t *testing.T) {
	for _, c := range []struct {
		back, on int
		want     State
	}{{3, 0, Lost}, {4, 0, Seen}, {2, 2, Seen}, {1, 2, Lost}} {
		first := seenAs(300, 300, 8, tag)
		j := &job{seeds: []Seed{{Frame: 20}}, frameTime: 1.0 / 60, refused: make([]*Error, 1)}
		for direction, n := range []int{c.back, c.on} {
			tr := newTrack(&first, 20, nil, bigPicture)
			tr.backwards = direction == back
			step := 2*direction - 1
			for k := 1; k <= 10; k++ {
				var cs []candidate
				if k <= n {
					cs = []candidate{first}
				}
				tr.step(20+k*step, cs, 1)
			}
			assert.Equal(t, n, tr.run)
			j.tracks[direction] = append(j.tracks[direction], tr)
		}
		assert.Equal(t, c.want, j.markFrom(0, &picture{i: 20 - c.back}).Seen, "%+v", c)
		assert.NotEqual(t, Seen, j.markFrom(0, &picture{i: 20 + c.on + 1}).Seen)
	}
}

// A mark in a damaged picture is never seen.
func TestDamagedIsNotSeen(t *testing.T) {
	balls := twoBalls()
	f := &keyedFilm{film: filmOf(40, wall, balls...), every: 10, damaged: map[int]bool{12: true, 13: true, 30: true}}
	require.NoError(t, Follow(context.Background(), f, seedsAt(5, balls...), Options{}, func(fr Frame) error {
		for _, m := range fr.Marks {
			assert.Equal(t, !f.damaged[fr.Index], m.Seen == Seen, "frame %d", fr.Index)
		}
		return nil
	}))
}

// Two marks on one thing are both lost.
func TestTwoMarksOnOneThing(t *testing.T) {
	j := &job{}
	at := func(x float64) Mark { return Mark{Seen: Seen, At: ptOf(x, 0), Radius: 10} }
	marks := []Mark{at(0), at(5), at(100)}
	j.dropDoubles(marks)
	assert.Equal(t, []State{Lost, Lost, Seen}, []State{marks[0].Seen, marks[1].Seen, marks[2].Seen})
}

// Frames are handed out while the clip is being decoded, not after its end.
func TestHandedOutWhileDecoding(t *testing.T) {
	balls := twoBalls()
	f := &keyedFilm{film: filmOf(60, wall, balls...), every: 10}
	at := map[int]int64{}
	require.NoError(t, Follow(context.Background(), f, seedsAt(10, balls...), Options{}, func(fr Frame) error {
		at[fr.Index] = f.decoded.Load()
		return nil
	}))
	assert.Less(t, at[0], int64(40))
	assert.Less(t, at[30], int64(60))
}

// The light nearly doubles and goes back while a sticker is followed, and its ink follows.
func TestLightChanges(t *testing.T) {
	b := ball{colour: 0x2050a0, at: along(30, 80, 2, 0)}
	f := filmOf(80, wall, b)
	for i, img := range f {
		gain := 1 + 0.9*math.Sin(float64(i)/80*math.Pi)
		for k := range img.Pix {
			if k%4 != 3 {
				img.Pix[k] = uint8(math.Min(255, math.Round(coded(decoded(float64(img.Pix[k]))*gain))))
			}
		}
	}
	for i, fr := range followed(t, f, seedsAt(2, b)) {
		assert.Equal(t, Seen, fr.Marks[0].Seen, "frame %d", i)
	}
}

// With two things of the named colour, the error gives their number, and neither is taken.
func TestNamedColourOfTwo(t *testing.T) {
	a, b := ball{colour: magenta, at: along(30, 40, 2, 0)}, ball{colour: magenta, at: along(30, 110, 2, 0)}
	c := Colour{0xd0, 0x1e, 0xf0}
	err := Follow(context.Background(), filmOf(20, wall, a, b), []Seed{{Name: "hip", Colour: &c}}, Options{}, func(Frame) error { return nil })
	require.Error(t, err)
	assert.Contains(t, err.Error(), `up to 2 things have the colour of "hip"`)
	none := Colour{0x10, 0xe0, 0xe0}
	err = Follow(context.Background(), filmOf(20, wall, a, b), []Seed{{Name: "hip", Colour: &none}}, Options{}, func(Frame) error { return nil })
	require.Error(t, err)
	assert.Contains(t, err.Error(), "no frame shows one sticker")
}

// A bright colour does not name a dark thing such as a leotard, though the colour in deep shade would be as dark.
func TestDarkIsNotTheColour(t *testing.T) {
	c := Colour{0xd0, 0x1e, 0xf0}
	err := Follow(context.Background(), filmOf(20, wall, ball{colour: 0x36343e, at: along(30, 40, 2, 0)}), []Seed{{Name: "hip", Colour: &c}}, Options{}, func(Frame) error { return nil })
	require.Error(t, err)
	assert.Contains(t, err.Error(), "no frame shows one sticker")
}

// A shot that ends before the seeds' frames is not handed out, and the one with the seeds is handed out to its end.
func TestShotBeforeSeeds(t *testing.T) {
	b := ball{colour: magenta, at: along(30, 50, 3, 0)}
	other := filmOf(15, wallDark, b)
	f := append(append(film{}, other...), filmOf(30, wall, b)...)
	var got []int
	p := b.at(10)
	err := Follow(context.Background(), f, []Seed{{Name: "hip", Frame: 25, At: p}}, Options{}, func(fr Frame) error { got = append(got, fr.Index); return nil })
	_ = err
	require.NotEmpty(t, got)
	assert.Equal(t, 15, got[0])
	assert.Equal(t, 44, got[len(got)-1])
}

// A mark that jumps for one frame is lost: its variance from its neighbours is larger than the sticker.
func TestJumpIsLost(t *testing.T) {
	first := seenAs(100, 100, 6, tag)
	tr := newTrack(&first, 0, nil, bigPicture)
	for i := 1; i <= 20; i++ {
		c := seenAs(100+3*float64(i), 100, 6, tag)
		if i == 10 {
			c.at.Y += 60
		}
		tr.sights = append(tr.sights, sight{i: i, seen: true, what: c})
	}
	tr.run = 20
	j := &job{seeds: make([]Seed, 1), frameTime: 1.0 / 60, refused: make([]*Error, 1)}
	j.tracks = [2][]*track{{tr}, {tr}}
	for i := range 21 {
		if m := j.markFrom(0, &picture{i: i}); i == 10 {
			assert.Equal(t, Lost, m.Seen)
		} else if i < 4 || i > 16 {
			assert.Equal(t, Seen, m.Seen, "frame %d", i)
		}
	}
}

// The last place before a gap is in only one difference of each order. If it jumps by five radii, onto what hides the sticker, it is
// lost; otherwise it is seen. With 30 frames a second a limb that turns may be five radii farther in the next frame, but not ten.
func TestJumpBeforeAGapIsLost(t *testing.T) {
	for _, c := range []struct {
		jump, rate float64 // px, frames a second
		want       State
	}{{0, 60, Seen}, {30, 60, Lost}, {30, 30, Seen}, {60, 30, Lost}} {
		tr := &track{run: 12}
		for i := range 30 {
			what := seenAs(100+3*float64(i), 100, 6, tag)
			if i == 12 {
				what.at.Y += c.jump
			}
			tr.sights = append(tr.sights, sight{i: i, seen: i <= 12, what: what})
		}
		j := &job{seeds: make([]Seed, 1), frameTime: 1 / c.rate, refused: make([]*Error, 1), tracks: [2][]*track{{tr}, {tr}}}
		assert.Equal(t, c.want, j.markFrom(0, &picture{i: 12}).Seen, "%g px, %g frames a second", c.jump, c.rate)
		assert.Equal(t, Seen, j.markFrom(0, &picture{i: 3}).Seen)
	}
}

// Next to the seed's frame a standing thing is taken for the sticker, in three frames, and comes back after a gap: it is not the sticker. If the sticker itself is seen there
// and comes back, it is seen.
func TestShortRunIsNotWhatComesBack(t *testing.T) {
	sticker := func(i int) candidate { return seenAs(300+12*float64(i-20), 300, 8, tag) }
	thing := func(int) candidate { return seenAs(330, 320, 8, tag) }
	for name, c := range map[string]struct {
		at   func(i int) candidate
		gone int
		want State
	}{"thing": {thing, 7, Lost}, "sticker": {sticker, 1, Seen}} {
		first := sticker(20)
		j := smallJob(first)
		j.seeds[0].Frame, j.bounds = 20, image.Rect(0, 0, 1920, 1080)
		others := []candidate{seenAs(900, 500, 8, tag), seenAs(1200, 800, 8, tag), seenAs(1500, 100, 8, tag)}
		for i := 17; i < 50; i++ {
			cs := slices.Clone(others)
			if n := i - 20; n == 0 {
				cs = append(cs, first)
			} else if n > 0 && n < 4 || n >= 4+c.gone {
				cs = append(cs, c.at(i))
			}
			j.addPicture(picture{i: i, candidates: [][]candidate{cs}})
		}
		run := j.tracks[0][0].run + j.tracks[1][0].run
		assert.True(t, run > 0 && run < confirmed, "%s: %d", name, run)
		assert.True(t, j.sight(0, 40).seen, name)
		assert.Equal(t, c.want, j.markFrom(0, &picture{i: 40}).Seen, name)
	}
}

// Followed back, a sticker goes behind something just when another of its look comes out there, which was pointed at too and has been hidden since. What goes back
// from there may be either of the two.
func TestJumpWhereAnotherIsHidden(t *testing.T) {
	one := ball{colour: magenta, at: along(20, 50, 4, 0), hidden: func(i int) bool { return i <= 8 }}
	out, far := along(100, 50, -4, 0), along(60, 120, 3, 0)
	other := ball{colour: magenta, hidden: func(i int) bool { return i > 8 && i < 20 }, at: func(i int) geometry.Point {
		if i <= 8 {
			return out(i)
		}
		return far(i)
	}}
	for i, f := range followed(t, filmOf(40, wall, one, other), seedsAt(20, one, other)) {
		assert.Equal(t, i > 8, f.Marks[0].Seen == Seen, "frame %d", i)
	}
}

// A sticker is pointed at where it crosses a twin, in fast motion at 30 frames a second. Either of the two may have gone to either place in the next frame, since the
// twin's first step is known no better than the sticker's.
func TestPointedAtWhereTheyCross(t *testing.T) {
	one, twin := seenAs(191, 238, 14, tag), seenAs(164, 253, 14, tag)
	j := smallJob(one)
	j.frameTime, j.bounds, j.twinRates[0].pictures = 1.0/30, image.Rect(0, 0, 640, 480), 100
	j.show(one, twin)
	j.show(seenAs(206, 231, 14, tag), seenAs(154, 260, 14, tag))
	assert.False(t, j.sight(0, 1).seen)
}
