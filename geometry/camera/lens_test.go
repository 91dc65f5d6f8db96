package camera

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// phone returns a random lens with the distortion of a phone's uncorrected picture.
func phone(rng *rand.Rand) *Lens {
	return &Lens{Width: 1920, Height: 1080, Fx: 1400 + 100*rng.NormFloat64(), Fy: 1400 + 100*rng.NormFloat64(),
		Cx: 960 + 20*rng.NormFloat64(), Cy: 540 + 20*rng.NormFloat64(),
		Dist: [5]float64{0.1 * rng.NormFloat64(), 0.05 * rng.NormFloat64(), 0.001 * rng.NormFloat64(), 0.001 * rng.NormFloat64(), 0.01 * rng.NormFloat64()}}
}

func anywhere(rng *rand.Rand) geometry.Point {
	return geometry.Point{X: 1920 * rng.Float64(), Y: 1080 * rng.Float64()}
}

func TestUndistortIsTheInverse(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	n := 0
	for range 2000 {
		l := phone(rng)
		px := anywhere(rng)
		straight, err := l.Undistort(px)
		if err != nil {
			continue // beyond the lens; n bounds how often
		}
		n++
		back := l.Distort(straight)
		require.InDelta(t, px.X, back.X, 1e-9)
		require.InDelta(t, px.Y, back.Y, 1e-9)
	}
	assert.Greater(t, n, 1900, "nearly every such lens shows its whole picture")
}

func TestStrongLens(t *testing.T) {
	// a lens as strong as an old webcam's: k1 -0.28 at 533 px in 640 x 480
	l := &Lens{Width: 640, Height: 480, Fx: 533, Fy: 533, Cx: 342, Cy: 235, Dist: [5]float64{-0.28, 0.04}}
	for x := 0.0; x < 640; x += 20 {
		for y := 0.0; y < 480; y += 20 {
			s, err := l.Undistort(geometry.Point{X: x, Y: y})
			require.NoError(t, err)
			back := l.Distort(s)
			require.InDelta(t, x, back.X, 1e-9)
			require.InDelta(t, y, back.Y, 1e-9)
		}
	}
	l.Dist[0] = -2
	_, err := l.Undistort(geometry.Point{})
	assert.ErrorIs(t, err, ErrBeyondLens)
}

// Analytic derivatives against central differences; the step of 1e-4 px leaves
// 1e-8 of third derivative and 1e-9 of rounding.
func TestLensDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	const near = 1e-5
	for range 300 {
		l := phone(rng)
		px := anywhere(rng)
		d, err := l.Differentiate(px)
		if err != nil {
			continue
		}
		at := func(l *Lens, px geometry.Point) geometry.Point {
			x, y, _, err := l.straighten(px)
			require.NoError(t, err)
			return geometry.Point{X: x, Y: y}
		}
		f := [2]float64{l.Fx, l.Fy}
		for b, h := range []geometry.Vec{{X: 1e-4}, {Y: 1e-4}} {
			v := at(l, px.Add(h)).Sub(at(l, px.Add(h.Scale(-1)))).Scale(0.5e4)
			require.InDelta(t, f[0]*v.X, d.ByPixel[0][b], near)
			require.InDelta(t, f[1]*v.Y, d.ByPixel[1][b], near)
		}
		for k := range LensParameters {
			moved := func(h float64) geometry.Point {
				m := *l
				p := []*float64{&m.Fx, &m.Fy, &m.Cx, &m.Cy, &m.Dist[0], &m.Dist[1], &m.Dist[2], &m.Dist[3], &m.Dist[4]}
				*p[k] += h
				return at(&m, px)
			}
			h := 1e-3
			if k >= 4 {
				h = 1e-6
			}
			v := moved(h).Sub(moved(-h)).Scale(1 / (2 * h))
			tol := near * (1 + d.Parameters[k].Norm())
			require.InDelta(t, f[0]*v.X, d.Parameters[k].X, tol, "parameter %d", k)
			require.InDelta(t, f[1]*v.Y, d.Parameters[k].Y, tol, "parameter %d", k)
		}
	}
}

func TestLensScales(t *testing.T) {
	l := phone(rand.New(rand.NewPCG(3, 3)))
	l.Covariance = mat.NewSymDense(LensParameters, nil)
	l.Covariance.SetSym(0, 0, 4)
	l.Covariance.SetSym(0, 4, 0.1)
	half, err := l.Scale(960, 540)
	require.NoError(t, err)
	// a pixel of the half-size picture is the middle of two by two
	for _, p := range []geometry.Point{{X: 100, Y: 100}, {X: 900, Y: 500}} {
		big := geometry.Point{X: 2*p.X + 0.5, Y: 2*p.Y + 0.5}
		s, err := half.Undistort(p)
		require.NoError(t, err)
		b, err := l.Undistort(big)
		require.NoError(t, err)
		assert.InDelta(t, b.X, 2*s.X+0.5, 1e-8)
		assert.InDelta(t, b.Y, 2*s.Y+0.5, 1e-8)
	}
	assert.Equal(t, 1.0, half.Covariance.At(0, 0))
	assert.Equal(t, 0.05, half.Covariance.At(0, 4))
	_, err = l.Scale(1080, 1920)
	assert.ErrorContains(t, err, "another shape")
	_, err = l.Scale(640, 480)
	assert.Error(t, err)
	_, err = l.Scale(1280, 720)
	assert.NoError(t, err)
}

func TestLensFile(t *testing.T) {
	l := phone(rand.New(rand.NewPCG(4, 4)))
	l.Covariance = mat.NewSymDense(LensParameters, nil)
	for i := range LensParameters {
		l.Covariance.SetSym(i, i, float64(i+1))
	}
	l.Covariance.SetSym(0, 2, 0.25)
	data, err := l.File(0.2, 10)
	require.NoError(t, err)
	back, err := parseLens("phone.lens.json", data)
	require.NoError(t, err)
	assert.Equal(t, l, back)
	for _, bad := range []string{
		`{"schema": "ecart/lens/2"}`, `{"schema": "ecart/lens/1"}`,
		`{"schema": "ecart/lens/1", "width_px": 100, "height_px": 100, "fx_px": 0, "fy_px": 1, "cx_px": 50, "cy_px": 50, "distortion": [0,0,0,0,0]}`,
		`{"schema": "ecart/lens/1", "width_px": 100, "height_px": 100, "fx_px": 1, "fy_px": 1, "cx_px": 500, "cy_px": 50, "distortion": [0,0,0,0,0]}`,
		`{"schema": "ecart/lens/1", "width_px": 100, "height_px": 100, "fx_px": 1, "fy_px": 1, "cx_px": 50, "cy_px": 50, "distortion": [0,0,0,0,0], "covariance": [[1]]}`,
	} {
		_, err := parseLens("phone.lens.json", []byte(bad))
		var le *LensError
		require.ErrorAs(t, err, &le, bad)
		assert.Contains(t, le.Error(), "phone.lens.json")
		assert.NotEmpty(t, le.Hint())
	}
}

// parseLens reads a lens file with encoding/json in place of the strict decoder.
func parseLens(name string, data []byte) (*Lens, error) {
	var f LensFile
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, err
	}
	return f.Lens(name)
}
