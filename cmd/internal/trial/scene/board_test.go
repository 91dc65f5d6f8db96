package scene

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// crossing finds where two straight edges of the board cross near a place, given
// roughly which way each runs. Light summed across an edge says exactly where the
// edge is, whatever the pixel's shape (as long as light is linear): a line is laid
// through such places on both sides of the crossing, and the two lines are cut.
func crossing(p *image.RGBA, x, y float64, ways [2][2]float64) (float64, float64) {
	at := func(x, y int) float64 { return linear(float64(p.RGBAAt(x, y).G)) }
	var lines [2][3]float64 // a x + b y = c
	for i, w := range ways {
		steep := math.Abs(w[1]) > math.Abs(w[0])
		u0, v0, slope := x, y, w[1]/w[0]
		if steep {
			u0, v0, slope = y, x, w[0]/w[1]
		}
		get := func(u, v int) float64 {
			if steep {
				return at(v, u)
			}
			return at(u, v)
		}
		var n, su, sv, suu, suv float64
		for d := -11; d <= 11; d++ {
			if d > -6 && d < 6 { // the other edge is too near
				continue
			}
			u := int(math.Round(u0)) + d
			mid := int(math.Round(v0 + slope*(float64(u)-u0)))
			const half = 3
			first, last := get(u, mid-half), get(u, mid+half)
			edge := float64(mid-half) - 0.5
			for v := mid - half; v <= mid+half; v++ {
				edge += (get(u, v) - last) / (first - last)
			}
			fu := float64(u)
			n, su, sv, suu, suv = n+1, su+fu, sv+edge, suu+fu*fu, suv+fu*edge
		}
		k := (n*suv - su*sv) / (n*suu - su*su)
		c := (sv - k*su) / n // v = k u + c
		lines[i] = [3]float64{k, -1, -c}
		if steep {
			lines[i] = [3]float64{-1, k, -c}
		}
	}
	a, b := lines[0], lines[1]
	det := a[0]*b[1] - a[1]*b[0]
	return (a[2]*b[1] - a[1]*b[2]) / det, (a[0]*b[2] - a[2]*b[0]) / det
}

// A drawn corner is where it is said to be: through a bending lens, at every tilt,
// and with rows read one after the other.
func TestCornersAreWhereTheyAreSaidToBe(t *testing.T) {
	for name, spoil := range map[string]func(*Scene){
		"still": func(*Scene) {},
		"rolling": func(s *Scene) {
			s.Readout = 0.03
			turned := s.Boards[0].Path
			s.Boards[0].Path = func(t float64) BoardPose {
				p := turned(t)
				p.At = p.At.Add(Vec{X: 0.3, Y: -0.2}.Mul(t - math.Round(t)))
				return p
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Named("board")
			require.NoError(t, err)
			s.Noise = Noise{}
			shrunk(s, 2)
			spoil(s)
			n, worst := 0, 0.0
			var square float64
			for _, i := range []int{0, 3, 8, 13} {
				p, truth := s.Frame(i)
				b := truth.Boards[0]
				require.Len(t, b.Corners, 54)
				for row := 1; row < 5; row++ {
					for col := 1; col < 8; col++ {
						k := row*9 + col
						require.True(t, b.Visible[k], "picture %d corner %d", i, k)
						c, l, r, u, d := b.Corners[k], b.Corners[k-1], b.Corners[k+1], b.Corners[k-9], b.Corners[k+9]
						x, y := crossing(p.(*image.RGBA), c[0]+0.6, c[1]-0.4, [2][2]float64{{r[0] - l[0], r[1] - l[1]}, {d[0] - u[0], d[1] - u[1]}})
						off := math.Hypot(x-c[0], y-c[1])
						worst, square, n = max(worst, off), square+off*off, n+1
					}
				}
			}
			// An edge's place in one column of pixels is off by less than the step of 49 rays,
			// and twelve columns lie on a line; a lens bends an edge of 20 px by under 0.02 px.
			assert.Less(t, math.Sqrt(square/float64(n)), 0.015, "px, root mean square")
			assert.Less(t, worst, 0.05, "px")
			t.Logf("corners: root mean square %.4f px, worst %.4f px", math.Sqrt(square/float64(n)), worst)
		})
	}
}

// The sheet's corners are square apart, row by row from the top left.
func TestBoardInSpace(t *testing.T) {
	b := Board{Columns: 9, Rows: 6, Square: 0.024}
	s := b.sheet(0)
	assert.InDelta(t, -0.096, s.corner(0, 0).X, exact)
	assert.InDelta(t, 0.060, s.corner(0, 0).Y, exact)
	assert.InDelta(t, 0.024, s.corner(1, 0).Sub(s.corner(0, 0)).X, exact)
	assert.InDelta(t, -0.024, s.corner(0, 1).Sub(s.corner(0, 0)).Y, exact)
	middle := Vec{X: -0.108, Y: 0.072}
	assert.True(t, s.inked(middle), "the first square, top left")
	assert.False(t, s.inked(middle.Add(Vec{X: 0.024})))
	assert.False(t, s.inked(Vec{X: -0.125, Y: 0.085}), "the rim")
	assert.True(t, s.inked(middle.Add(Vec{X: 9 * 0.024, Y: -6 * 0.024}).Add(Vec{X: -0.024})))
}

// The scene's boards stay in the picture, whole, at many tilts.
func TestBoardSceneCoversThePicture(t *testing.T) {
	for seed := range uint64(6) {
		s, err := Variant("board", seed)
		require.NoError(t, err)
		lo, hi := [2]float64{1e9, 1e9}, [2]float64{}
		for i := range s.Frames {
			b := s.Truth(i).Boards[0]
			for k, c := range b.Corners {
				require.True(t, b.Visible[k], "seed %d picture %d", seed, i)
				lo = [2]float64{min(lo[0], c[0]), min(lo[1], c[1])}
				hi = [2]float64{max(hi[0], c[0]), max(hi[1], c[1])}
			}
		}
		assert.Greater(t, hi[0]-lo[0], 0.7*1920)
		assert.Greater(t, hi[1]-lo[1], 0.7*1080)
	}
}
