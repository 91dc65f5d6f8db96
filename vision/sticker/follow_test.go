package sticker

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// film is a clip held in memory, 60 pictures a second.
type film []*image.RGBA

func (f film) Frames() int                  { return len(f) }
func (f film) Time(i int) time.Duration     { return time.Duration(i) * time.Second / 60 }
func (f film) TrueTime(i int) time.Duration { return f.Time(i) }
func (f film) CleanStart(i int) int         { return i }
func (f film) Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error {
	for i := from; i <= to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := fn(i, Still(f[i]), false); err != nil {
			return err
		}
	}
	return nil
}

const filmW, filmH = 240, 160

// ball is a sticker of the films: its colour, its place in picture i, and whether it is hidden there.
type ball struct {
	colour uint32
	at     func(i int) geometry.Point
	hidden func(i int) bool
}

// filmOf paints n pictures of balls of 9 px radius before a wall, by the share of
// each pixel under the disc, counted on a grid.
func filmOf(n int, wall color.RGBA, balls ...ball) film {
	rnd := rand.New(rand.NewPCG(5, 6))
	var out film
	for i := range n {
		img := image.NewRGBA(image.Rect(0, 0, filmW, filmH))
		draw.Draw(img, img.Rect, image.NewUniform(wall), image.Point{}, draw.Src)
		for _, b := range balls {
			if b.hidden != nil && b.hidden(i) {
				continue
			}
			paintDisc(img, b.at(i), 9, b.colour)
		}
		for k := range img.Pix {
			if k%4 != 3 {
				img.Pix[k] = uint8(math.Max(0, math.Min(255, float64(img.Pix[k])+1.5*rnd.NormFloat64())))
			}
		}
		out = append(out, img)
	}
	return out
}

func paintDisc(img *image.RGBA, at geometry.Point, radius float64, colour uint32) {
	ink := rgb(colour)
	for y := int(at.Y - radius - 2); y <= int(at.Y+radius+2); y++ {
		for x := int(at.X - radius - 2); x <= int(at.X+radius+2); x++ {
			if !(image.Point{X: x, Y: y}).In(img.Rect) {
				continue
			}
			under := 0.0
			for a := range 6 {
				for b := range 6 {
					if math.Hypot(float64(x)+(float64(a)-2.5)/6-at.X, float64(y)+(float64(b)-2.5)/6-at.Y) <= radius {
						under += 1.0 / 36
					}
				}
			}
			k := img.PixOffset(x, y)
			for n := range 3 {
				img.Pix[k+n] = uint8(math.Round(coded(under*ink[n] + (1-under)*decoded(float64(img.Pix[k+n])))))
			}
		}
	}
}

var (
	wall     = color.RGBA{205, 203, 196, 255}
	wallDark = color.RGBA{40, 30, 90, 255}
	magenta  = uint32(0xd01ef0)
	green    = uint32(0x28dc28)
)

func along(x0, y0, vx, vy float64) func(i int) geometry.Point {
	return func(i int) geometry.Point {
		return geometry.Point{X: x0 + vx*float64(i), Y: y0 + vy*float64(i) + 8*math.Sin(float64(i)/9)}
	}
}

func seedsAt(frame int, balls ...ball) []Seed {
	var out []Seed
	for i, b := range balls {
		p := b.at(frame)
		out = append(out, Seed{Name: fmt.Sprint("s", i), At: geometry.Point{X: math.Round(p.X + 2), Y: math.Round(p.Y - 2)}, Frame: frame})
	}
	return out
}

func followed(t *testing.T, f film, seeds []Seed) []Frame {
	var out []Frame
	require.NoError(t, Follow(context.Background(), f, seeds, Options{}, func(fr Frame) error { out = append(out, fr); return nil }))
	require.Len(t, out, len(f))
	return out
}

// Two stickers are followed in both directions from the middle: seen in every picture, within a tenth
// of a pixel.
func TestFollowsBothWays(t *testing.T) {
	balls := []ball{{colour: magenta, at: along(30, 50, 3, 0.2)}, {colour: green, at: along(40, 110, 2.6, -0.3)}}
	film := filmOf(50, wall, balls...)
	for i, fr := range followed(t, film, seedsAt(25, balls...)) {
		require.Equal(t, i, fr.Index)
		for k, m := range fr.Marks {
			require.Equal(t, Seen, m.Seen, "picture %d sticker %d", i, k)
			require.Less(t, m.At.Sub(balls[k].at(i)).Norm(), 0.1, "picture %d sticker %d", i, k)
		}
	}
}

// Two stickers of one colour that pass each other closely are not swapped.
func TestTwoOfOneColourAreNotSwapped(t *testing.T) {
	balls := []ball{
		{colour: magenta, at: func(i int) geometry.Point { return geometry.Point{X: 30 + 3.6*float64(i), Y: 70} }},
		{colour: magenta, at: func(i int) geometry.Point { return geometry.Point{X: 210 - 3.6*float64(i), Y: 92} }},
	}
	seen := 0
	for i, fr := range followed(t, filmOf(50, wall, balls...), seedsAt(5, balls...)) {
		for k, m := range fr.Marks {
			if m.Seen == Seen {
				seen++
				require.Less(t, m.At.Sub(balls[k].at(i)).Norm(), 1.0, "picture %d sticker %d", i, k)
			}
		}
	}
	assert.GreaterOrEqual(t, seen, 90, "of 100: they are lost in a few pictures at most, where they pass")
}

// A hidden sticker is predicted for a tenth of a second with a covariance that
// grows, then lost, then found again.
func TestHiddenIsLostAndFoundAgain(t *testing.T) {
	gone := func(i int) bool { return i >= 20 && i < 29 }
	balls := []ball{{colour: magenta, at: along(30, 50, 3, 0), hidden: gone}, {colour: green, at: along(40, 110, 2.6, -0.3)}}
	var spread float64
	states := map[State]int{}
	for i, fr := range followed(t, filmOf(60, wall, balls...), seedsAt(5, balls...)) {
		m := fr.Marks[0]
		if !gone(i) {
			if i < 20 || i > 31 {
				require.Equal(t, Seen, m.Seen, "picture %d", i)
			}
			continue
		}
		states[m.Seen]++
		require.NotEqual(t, Seen, m.Seen, "picture %d: nothing is there", i)
		if m.Seen == Predicted && i < 26 { // from the side of the seed
			require.Greater(t, m.Cov[0][0], spread)
			spread = m.Cov[0][0]
		}
		if m.Seen == Lost {
			assert.True(t, math.IsNaN(m.At.X))
		}
	}
	assert.Positive(t, states[Predicted])
	assert.Positive(t, states[Lost])
}

// A seed on a thing that only one frame shows is refused before a frame is handed out, in the first, a middle and the last frame of the
// clip. If the other seed is followed alone, the error comes at the end. A sticker that is covered right after its seed's frame is
// followed from the frames before.
func TestRefusesWhatOneFrameShows(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	only := func(frames ...int) ball {
		return ball{colour: green, at: along(40, 110, 2.6, -0.3), hidden: func(i int) bool { return !slices.Contains(frames, i) }}
	}
	for _, frame := range []int{0, 12, 39} {
		flash := only(frame)
		for name, seeds := range map[string][]Seed{"alone": seedsAt(frame, one, flash)[1:], "needed": seedsAt(frame, one, flash), "of two": seedsAt(frame, one, flash)} {
			var marks [][]Mark
			for k := range seeds {
				seeds[k].Alone = name == "of two"
			}
			err := Follow(context.Background(), filmOf(40, wall, one, flash), seeds, Options{}, func(f Frame) error { marks = append(marks, f.Marks); return nil })
			var e *Error
			require.True(t, errors.As(err, &e), "frame %d: %v", frame, err)
			assert.Equal(t, NoSticker, e.Problem)
			assert.Equal(t, "s1", e.Seed)
			assert.Equal(t, frame, e.Frame)
			assert.Contains(t, e.Error(), "18 px wide")
			assert.NotEmpty(t, e.Hint())
			if name != "of two" {
				assert.Empty(t, marks)
				continue
			}
			require.Len(t, marks, 40)
			for i, m := range marks {
				assert.Equal(t, []State{Seen, Lost}, []State{m[0].Seen, m[1].Seen}, "frame %d", i)
			}
		}
	}
	covered := only()
	covered.hidden = func(i int) bool { return i == 13 || i == 14 }
	for i, f := range followed(t, filmOf(40, wall, one, covered), seedsAt(12, one, covered)) {
		assert.Equal(t, Seen, f.Marks[0].Seen, i)
	}
}

// A sticker that moves before eighteen things of its colour and size at rest is not taken for one of them.
func TestAmongMany(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0.2)}
	all := []ball{one}
	for i := range 18 {
		at := geometry.Point{X: 20 + 38*float64(i%6), Y: 90 + 28*float64(i/6)}
		all = append(all, ball{colour: magenta, at: func(int) geometry.Point { return at }})
	}
	seen := 0
	for i, f := range followed(t, filmOf(40, wall, all...), seedsAt(5, one)) {
		if m := f.Marks[0]; m.Seen == Seen {
			seen++
			assert.Less(t, m.At.Sub(one.at(i)).Norm(), 3.0, "frame %d", i)
		}
	}
	assert.Greater(t, seen, 35)
}

// If a refused seed is alone or optional, the others are followed, whether it has a place or a colour; if it is needed, the error comes
// at once.
func TestARefusedSeedLeavesTheOthers(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	two := ball{colour: green, at: along(40, 110, 2.6, -0.3)}
	clip := filmOf(40, wall, one, two)
	bare := Seed{Name: "bare", At: ptOf(200, 30), Frame: 5}
	named := Seed{Name: "bare", Colour: &Colour{0x20, 0x20, 0xf0}}
	for i, s := range []Seed{bare, named} {
		for _, kind := range []string{"alone", "optional", "needed"} {
			s.Alone, s.Optional = kind == "alone", kind == "optional"
			seeds := seedsAt(5, one, two)
			seeds = []Seed{seeds[0], s, seeds[1]}
			frames := 0
			err := Follow(context.Background(), clip, seeds, Options{}, func(f Frame) error {
				frames++
				require.Equal(t, []State{Seen, Lost, Seen}, []State{f.Marks[0].Seen, f.Marks[1].Seen, f.Marks[2].Seen}, "%s, frame %d", kind, f.Index)
				return nil
			})
			if kind == "needed" {
				assert.Zero(t, frames)
			} else {
				assert.Equal(t, 40, frames)
			}
			if kind == "optional" {
				assert.NoError(t, err)
				continue
			}
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "bare", e.Seed)
			assert.Equal(t, []Problem{NoSticker, NeverFound}[i], e.Problem)
		}
	}
}

// The error for a seed with a colour does not speak of a place that was pointed at.
func TestColourIsNotPointedAt(t *testing.T) {
	c := Colour{0xd0, 0x1e, 0xf0}
	j := &job{seeds: []Seed{{Name: "hip", Colour: &c, At: ptOf(100, 100), Frame: 7}}, stickers: make([]found, 1), refused: make([]*Error, 1)}
	err := j.findSeed(&pointer{}, Still(filmOf(1, wall)[0]), 0)
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, `"hip": what looks most like #d01ef0, in frame 7, is no sticker that can be followed`, e.Error())
	assert.Equal(t, "point at the sticker in one frame instead of giving its colour", e.Hint())
}

// Errors of seeds and clips have their kind and a hint.
func TestProblems(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	two := ball{colour: green, at: along(40, 110, 2.6, -0.3)}
	good := filmOf(40, wall, one, two)
	cut := append(append(film{}, good...), filmOf(20, color.RGBA{60, 30, 20, 255})...)
	still := ball{colour: magenta, at: func(int) geometry.Point { return geometry.Point{X: 100, Y: 80} }}
	vanishes := ball{colour: magenta, at: along(30, 50, 2, 0), hidden: func(i int) bool { return i > 20 }}
	for _, c := range []struct {
		name  string
		film  film
		seeds []Seed
		want  Problem
	}{
		{"no seeds", good, nil, BadSeed},
		{"on the wall", good, []Seed{{Name: "hip", At: geometry.Point{X: 200, Y: 20}, Frame: 3}}, NoSticker},
		{"outside", good, []Seed{{Name: "hip", At: geometry.Point{X: 2000, Y: 20}, Frame: 3}}, BadSeed},
		{"past the end", good, []Seed{{Name: "hip", At: geometry.Point{X: 20, Y: 20}, Frame: 300}}, BadSeed},
		{"two on one", good, append(seedsAt(5, one), Seed{Name: "hip", At: one.at(5), Frame: 5}), TwoOnOne},
		{"a cut", cut, seedsAt(5, one, two), Cut},
		{"nothing moves", filmOf(40, wall, still), seedsAt(5, still), Motionless},
		{"gone for good", filmOf(90, wall, vanishes, two), seedsAt(5, vanishes, two), NeverFound},
		{"a still", good[:1], seedsAt(0, one), OneFrame},
	} {
		n := 0
		err := Follow(context.Background(), c.film, c.seeds, Options{}, func(Frame) error { n++; return nil })
		var e *Error
		require.True(t, errors.As(err, &e), "%s: %v", c.name, err)
		assert.Equal(t, c.want, e.Problem, "%s: %v", c.name, err)
		assert.NotEmpty(t, e.Hint(), c.name)
		if c.want == Cut {
			assert.Equal(t, len(good), n, "all before the cut is kept")
		}
	}
}

// A sticker is followed though nearly half of the picture has its colour.
func TestColourAllOver(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	painted := filmOf(40, wall, one)
	for _, img := range painted {
		draw.Draw(img, image.Rect(0, 90, filmW, filmH), image.NewUniform(color.RGBA{208, 30, 240, 255}), image.Point{}, draw.Src)
	}
	for i, fr := range followed(t, painted, seedsAt(5, one)) {
		require.Equal(t, Seen, fr.Marks[0].Seen, "picture %d", i)
		require.Less(t, fr.Marks[0].At.Sub(one.at(i)).Norm(), 0.3, "picture %d", i)
	}
}

func TestStops(t *testing.T) {
	one := ball{colour: magenta, at: along(30, 50, 3, 0)}
	ctx, stop := context.WithCancel(context.Background())
	n := 0
	err := Follow(ctx, filmOf(50, wall, one), seedsAt(5, one), Options{}, func(f Frame) error {
		if n++; n == 20 {
			stop()
		}
		return nil
	})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Less(t, n, 50)
}

// Stickers are found and followed by their colours alone.
func TestFollowsByColour(t *testing.T) {
	balls := []ball{{colour: magenta, at: along(30, 50, 3, 0.2)}, {colour: green, at: along(40, 110, 2.6, -0.3)}}
	m, g := Colour{0xd0, 0x1e, 0xf0}, Colour{0x28, 0xdc, 0x28}
	for i, fr := range followed(t, filmOf(40, wall, balls...), []Seed{{Name: "hip", Colour: &m}, {Name: "front-ankle", Colour: &g}}) {
		for k, mark := range fr.Marks {
			require.Equal(t, Seen, mark.Seen, "picture %d", i)
			require.Less(t, mark.At.Sub(balls[k].at(i)).Norm(), 0.2, "picture %d", i)
		}
	}
}

// cutShort is a film that ends after picture last if it is decoded from its start, and goes on to its end from a later one.
type cutShort struct {
	film
	last int
}

func (c cutShort) Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error {
	if from == 0 {
		to = min(to, c.last)
	}
	return c.film.Stream(ctx, from, to, fn)
}

// A seed in a picture that the clip does not give is refused.
func TestSeedInAPictureThatIsLost(t *testing.T) {
	b := ball{colour: magenta, at: along(30, 50, 3, 0)}
	at := b.at(19)
	err := Follow(context.Background(), cutShort{filmOf(20, wall, b), 14}, []Seed{{Name: "hip", Frame: 19, At: at}}, Options{}, func(Frame) error { return nil })
	assert.ErrorContains(t, err, "cannot be decoded")
}

// What is known of a sticker from following it backwards counts forwards too: a twin that comes in beside it is not taken for it, though the sticker is never found again.
func TestMotionBeforeTheSeedIsKnownAfterIt(t *testing.T) {
	own, twin := seenAs(300, 300, 8, tag), seenAs(380, 300, 8, tag)
	for _, before := range []int{0, 20} {
		j := smallJob(own)
		j.seeds[0].Frame, j.frameTime = before, 1.0/30
		for i := range before + 60 {
			if i > before {
				j.show(twin)
			} else {
				j.show(own)
			}
		}
		assert.Equal(t, before, j.tracks[back][0].run)
		assert.Equal(t, before == 0, j.sight(0, before+59).seen, "%d frames before the seed's", before)
	}
}

// A twin that was in sight before the seed's frame, and is hidden in it, is known after it: what comes out beside a sticker that is lost may be the twin.
func TestRivalsBeforeTheSeedAreKnownAfterIt(t *testing.T) {
	for _, twin := range []bool{true, false} {
		j := smallJob(seenAs(300, 300, 8, tag))
		j.seeds[0].Frame = 25
		for i := range 60 {
			var cs []candidate
			if i < 30 {
				cs = append(cs, seenAs(300, 300, 8, tag))
			}
			if twin && i < 20 {
				cs = append(cs, seenAs(320, 300+20*float64(i-19), 8, tag))
			}
			if i >= 40 {
				cs = append(cs, seenAs(305, 300+float64(i-40), 8, tag))
			}
			j.show(cs...)
		}
		assert.Equal(t, !twin, j.mark(0, &picture{i: 50}).Seen == Seen)
	}
}
