package sticker

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// pictureOf paints one picture of balls before a wall.
func pictureOf(balls ...ball) Picture { return Still(filmOf(1, wall, balls...)[0]) }

func staysAt(x, y float64) func(int) geometry.Point {
	return func(int) geometry.Point { return ptOf(x, y) }
}

// The limit of an ink stays as it is if only the sticker has its colour, and is lowered if much of the picture has it.
func TestCommonInkIsNarrow(t *testing.T) {
	one := ball{colour: magenta, at: staysAt(60, 60)}
	crowd := []ball{one}
	for k := range 12 {
		crowd = append(crowd, ball{colour: 0xc024dc, at: staysAt(float64(110+22*(k%6)), float64(40+60*(k/6)))})
	}
	limit := func(balls ...ball) float64 {
		p := pictureOf(balls...)
		j := &job{bounds: p.Bounds()}
		var q pointer
		f, err := q.find(p, ptOf(60, 60))
		require.Nil(t, err)
		j.narrowInk(&f, p)
		return math.Sqrt(f.ink.limit)
	}
	assert.InDelta(t, mostDistance, limit(one), 1e-9)
	assert.Less(t, limit(crowd...), mostDistance)
}

// Two seeds at opposite edges of one sticker are refused; seeds on two stickers apart are not.
func TestTwoSeedsOnOneSticker(t *testing.T) {
	balls := []ball{{colour: magenta, at: along(60, 60, 1, 0)}, {colour: magenta, at: along(150, 90, 1, 0)}}
	f := filmOf(20, wall, balls...)
	at := balls[0].at(5)
	both := []Seed{{Name: "a", At: ptOf(at.X-5, at.Y), Frame: 5}, {Name: "b", At: ptOf(at.X+5, at.Y), Frame: 5}}
	err := Follow(context.Background(), f, both, Options{}, func(Frame) error { return nil })
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, TwoOnOne, e.Problem)
	assert.Equal(t, `"a" and "b" are on one sticker in frame 5`, e.Error())
	assert.NotEmpty(t, e.Hint())
	followed(t, f, seedsAt(5, balls...))
}

// Still moves an image to (0, 0), and a window holds only what is inside the picture.
func TestPicturesBeginAtTheOrigin(t *testing.T) {
	img := image.NewRGBA(image.Rect(10, 20, 50, 60))
	draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{10, 20, 30, 255}), image.Point{}, draw.Src)
	img.SetRGBA(10, 20, color.RGBA{200, 100, 50, 255})
	p := Still(img)
	assert.Equal(t, image.Rect(0, 0, 40, 40), p.Bounds())
	var w window
	w.load(p, image.Rect(-5, -5, 3, 3))
	assert.Equal(t, image.Rect(0, 0, 3, 3), w.Rectangle)
	assert.Equal(t, vec{200, 100, 50}, w.code(0))
	assert.Equal(t, vec{10, 20, 30}, w.code(1))
	w.load(p, image.Rect(100, 100, 120, 120))
	assert.True(t, w.Empty())
}

// linear agrees with the sRGB formula of the tests.
func TestLightOfCodes(t *testing.T) {
	for i, v := range linear {
		assert.InDelta(t, float64(i), coded(v), 1e-9)
	}
}

// A colour is # and six hexadecimal digits, and nothing else.
func TestParseColour(t *testing.T) {
	c, err := ParseColour("#28dC1e")
	require.NoError(t, err)
	assert.Equal(t, Colour{0x28, 0xdc, 0x1e}, c)
	assert.Equal(t, "#28dc1e", c.String())
	for _, bad := range []string{"", "28dc28", "#28dc2", "#28dc288", "#28dcg8", "red", "#+8dc28"} {
		_, err := ParseColour(bad)
		var e *Error
		require.ErrorAs(t, err, &e, bad)
		assert.Equal(t, BadSeed, e.Problem)
		assert.Contains(t, e.Error(), bad)
		assert.Contains(t, e.Hint(), "#rrggbb")
	}
	assert.Equal(t, Colour{0, 255, 128}, rounded(vec{-3, 300, 127.6}))
}

// A sticker that is seen to the end or leaves the picture is no error. One that is lost within the picture for the last half second or longer is.
func TestVerdictOfAClip(t *testing.T) {
	verdict := func(last int, leaving, optional bool) error {
		j := &job{clip: make(film, 100), seeds: []Seed{{Name: "a", Optional: optional}}, given: []Seed{{Name: "a", Optional: optional}}, errors: make([]*Error, 1), owner: []int{0},
			refused: make([]*Error, 1), frameTime: 1.0 / 60, summaries: make([]summary, 1)}
		for i := range last + 1 {
			j.summaries[0].see(i, &Mark{Seen: Seen, At: ptOf(100+float64(i), 50), Radius: 8})
		}
		j.summaries[0].leaving = leaving
		return j.verdict()
	}
	problem := func(err error) Problem {
		var e *Error
		require.ErrorAs(t, err, &e)
		assert.NotEmpty(t, e.Hint())
		return e.Problem
	}
	assert.NoError(t, verdict(99, false, false))
	assert.NoError(t, verdict(99-29, false, false))
	assert.Equal(t, NeverFound, problem(verdict(99-32, false, false)))
	assert.NoError(t, verdict(99-32, true, false))
	assert.Equal(t, NoSticker, problem(verdict(-1, false, false)))
	assert.Equal(t, Motionless, problem(verdict(-1, false, true)), "nothing that may be left out moved")
	assert.Equal(t, Motionless, problem(verdict(0, true, false)))
}

// A sticker is outside where the picture cuts a part of it.
func TestOutsideThePicture(t *testing.T) {
	j := &job{bounds: image.Rect(0, 0, 200, 100)}
	for at, want := range map[geometry.Point]bool{ptOf(100, 50): false, ptOf(11, 50): true, ptOf(189, 50): true, ptOf(100, 11): true, ptOf(100, 89): true, ptOf(13, 13): false} {
		assert.Equal(t, want, j.outside(at, 8), "%v", at)
	}
}

// A paler spot in a sticker's middle, such as a highlight or a print, is not taken for the sticker: its contrast is low against
// the sticker's own (nearlyAsClear).
func TestASpotOnTheStickerIsNotTheSticker(t *testing.T) {
	img := filmOf(1, wall, ball{colour: magenta, at: staysAt(60, 60)})[0]
	for y := 57; y <= 63; y++ {
		for x := 57; x <= 63; x++ {
			if c := img.At(x, y).(color.RGBA); math.Hypot(float64(x-60), float64(y-60)) <= 3 {
				img.Set(x, y, color.RGBA{c.R, c.G + 60, c.B, 255})
			}
		}
	}
	var q pointer
	f, err := q.find(Still(img), ptOf(60, 60))
	require.Nil(t, err)
	assert.InDelta(t, 9, f.radius(), 0.5)
}
