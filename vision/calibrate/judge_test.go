package calibrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// usual returns a camera and poses of the board that determine a lens well.
func usual() (*held, *rand.Rand) {
	return &held{lens: lens{fx: 1400, fy: 1400, cx: 965, cy: 535, k1: 0.08, k2: -0.1}, sigma: 0.1, lean: 0.45}, rand.New(rand.NewPCG(6, 6))
}

func refused(t *testing.T, err error, parts ...string) {
	t.Helper()
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.NotEmpty(t, e.Hint())
	for _, p := range parts {
		assert.Contains(t, e.Error()+"\n"+e.Hint(), p)
	}
	assert.NotContains(t, e.Error(), "\n")
	assert.False(t, strings.HasSuffix(e.Error(), "."))
}

func TestNoLensWithoutPictures(t *testing.T) {
	_, err := Estimate(nil, nine)
	refused(t, err, "no pictures")
	h, rng := usual()
	_, err = Estimate(h.pictures(rng, 1), nine)
	refused(t, err, "1 picture is not enough")
	ps := h.pictures(rng, 9)
	for i := range ps[:7] {
		ps[i].Corners = nil
	}
	_, err = Estimate(ps, nine)
	refused(t, err, "found in 2 of 9", `"a.jpg"`, `"d.jpg"`, "3 more", "10 by 7 squares")
	_, err = Estimate(ps, Board{Columns: 2, Rows: 6})
	refused(t, err, "2x6")
}

func TestPicturesOfSeveralSizes(t *testing.T) {
	h, rng := usual()
	ps := h.pictures(rng, 5)
	ps[3].Width, ps[3].Height = 1280, 720
	_, err := Estimate(ps, nine)
	refused(t, err, `"d.jpg"`, "1280 x 720", "1920 x 1080", "one setting")
	ps[3].Width, ps[3].Height = 1080, 1920
	_, err = Estimate(ps, nine)
	refused(t, err, `"d.jpg"`, "same way up")
}

// A board that stays parallel to the sensor does not determine the focal length: a
// shorter distance and a longer focal length look the same.
func TestParallelBoardsAreRefused(t *testing.T) {
	h, rng := usual()
	h.lean, h.lens[k1], h.lens[k2] = 0.002, 0, 0
	_, err := Estimate(h.pictures(rng, 10), nine)
	refused(t, err, "do not tell the focal length", "leaning")
}

func advised(r *Result, part string) bool {
	return strings.Contains(strings.Join(r.Advice, "\n"), part)
}

func TestAdviceOnTilts(t *testing.T) {
	h, rng := usual()
	good, err := Estimate(h.pictures(rng, 12), nine)
	require.NoError(t, err)
	assert.False(t, advised(good, "lean"), good.Advice)

	h.lean = 0.12
	r, err := Estimate(h.pictures(rng, 12), nine)
	require.NoError(t, err)
	assert.True(t, advised(r, "leans by more than 20 degrees in 0 of 12"), r.Advice)
	assert.Greater(t, r.Parameters[fx].Standard, 2*good.Parameters[fx].Standard)

	// about one axis only
	var ps []Picture
	for i := range 10 {
		q := pose{r: rotation(vec{0.3 + 0.04*float64(i), 0, 0}), t: vec{0, 0, 16}}
		px, ok := h.seen(&q, nil, rng)
		require.True(t, ok)
		ps = append(ps, Picture{Name: fmt.Sprint(i), Width: wide, Height: high, Corners: px, EdgePx: 1.5})
	}
	r, err = Estimate(ps, nine)
	require.NoError(t, err)
	assert.True(t, advised(r, "one way only"), r.Advice)
	assert.True(t, advised(r, "top left"), r.Advice)
}

func TestAdviceOnFewPictures(t *testing.T) {
	h, rng := usual()
	r, err := Estimate(h.pictures(rng, 4), nine)
	require.NoError(t, err)
	assert.True(t, advised(r, "4 pictures are few"), r.Advice)
}

// A board that stays in the middle of the picture does not determine the lens at the
// edges: the missing parts are named, k3 is not determined, and the uncertainty of the
// distortion there is several pixels and covers the true error.
func TestBoardInTheMiddle(t *testing.T) {
	h, rng := usual()
	var ps []Picture
	for i := range 10 {
		q := pose{r: rotation(vec{0.4 * rng.NormFloat64(), 0.4 * rng.NormFloat64(), 0}), t: vec{0.5, -0.3, 22}}
		px, ok := h.seen(&q, nil, rng)
		require.True(t, ok)
		ps = append(ps, Picture{Name: fmt.Sprint(i), Width: wide, Height: high, Corners: px, EdgePx: 1.5})
	}
	r, err := Estimate(ps, nine)
	require.NoError(t, err)
	assert.Len(t, r.Coverage.Missing, 8)
	assert.True(t, advised(r, "top left, "), r.Advice)
	assert.False(t, r.Parameters[k3].Told)
	corner := geometry.Point{X: 40, Y: 40}
	sd := r.BendStandard(corner)
	assert.Greater(t, sd, 5.0)
	truth := cameraLens(h.lens)
	want, err := truth.Undistort(corner)
	require.NoError(t, err)
	got, err := r.Lens.Undistort(corner)
	require.NoError(t, err)
	assert.Less(t, got.Sub(want).Norm(), 3*sd)
}

// A picture with large corner errors is left out and named, and the lens is that of the
// other pictures.
func TestOutlierIsLeftOut(t *testing.T) {
	h, rng := usual()
	ps := h.pictures(rng, 10)
	without := append(append([]Picture{}, ps[:4]...), ps[5:]...)
	spoilt := append([]geometry.Point{}, ps[4].Corners...)
	for i := range spoilt {
		spoilt[i] = spoilt[i].Add(geometry.Vec{X: 1.5 * rng.NormFloat64(), Y: 1.5 * rng.NormFloat64()})
	}
	ps[4].Corners = spoilt
	r, err := Estimate(ps, nine)
	require.NoError(t, err)
	for i, v := range r.Pictures {
		assert.Equal(t, i != 4, v.Used, v.Name)
	}
	assert.Contains(t, r.Pictures[4].Retake, "corners lie")
	assert.Greater(t, r.Pictures[4].ResidualPx, 1.0)
	same, err := Estimate(without, nine)
	require.NoError(t, err)
	assert.Equal(t, same.Lens, r.Lens)
}

func TestWhatToRetake(t *testing.T) {
	h, rng := usual()
	ps := h.pictures(rng, 10)
	ps[2].EdgePx = 9
	ps[5].Corners = nil
	r, err := Estimate(ps, nine)
	require.NoError(t, err)
	assert.Contains(t, r.Pictures[2].Retake, "blurred: its edges are 9.0 px wide")
	assert.Contains(t, r.Pictures[5].Retake, "not found")
	assert.True(t, math.IsNaN(r.Pictures[5].ResidualPx) && !r.Pictures[5].Used)
	assert.Empty(t, r.Pictures[0].Retake)
}

// The advice says that the board is not flat if it is bowed more than the limit, and only
// then.
func TestBowedBoard(t *testing.T) {
	h, rng := usual()
	for _, c := range []struct {
		bow  float64
		said bool
	}{{0.005, false}, {0.06, true}} {
		h.shape = []float64{c.bow}
		r, err := Estimate(h.pictures(rng, 12), nine)
		require.NoError(t, err)
		assert.Equal(t, c.said, advised(r, "not flat"), r.Advice)
		assert.InDelta(t, c.bow, r.Sheet.Bow, 4*r.Sheet.BowStandard)
	}
}

func TestPartsOfThePicture(t *testing.T) {
	for want, p := range map[string]geometry.Point{
		"top left": {X: 0.1, Y: 0.1}, "top": {X: 0.5, Y: 0.1}, "right": {X: 0.9, Y: 0.5}, "bottom right": {X: 1, Y: 1}, "": {X: 0.5, Y: 0.6},
	} {
		assert.Equal(t, want, partOf(p))
	}
}

// The same pictures give the same lens to the last bit.
func TestEstimateIsReproducible(t *testing.T) {
	h, rng := usual()
	ps := h.pictures(rng, 8)
	a, err := Estimate(ps, nine)
	require.NoError(t, err)
	b, err := Estimate(ps, nine)
	require.NoError(t, err)
	assert.Equal(t, a, b)
}

// A picture given twice counts once.
func TestSamePictureTwice(t *testing.T) {
	h, rng := usual()
	ps := h.pictures(rng, 8)
	once, err := Estimate(ps, nine)
	require.NoError(t, err)
	copied := ps[3]
	copied.Name = "copy.jpg"
	twice, err := Estimate(append(ps, copied), nine)
	require.NoError(t, err)
	assert.Equal(t, once.Lens, twice.Lens)
	assert.Contains(t, twice.Pictures[8].Retake, `the same picture as "d.jpg"`)
	_, err = Estimate([]Picture{ps[0], ps[1], ps[0], ps[1]}, nine)
	refused(t, err, "2 pictures are not enough")
}
