package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
	"ecart/geometry/camera"
)

// agreed is the largest difference from OpenCV: both use double precision, and
// coordinates reach some thousands.
const agreed = 1e-6 // px

// camera.Lens, this package's projection and OpenCV's projectPoints and undistortPoints
// are the same map. Points beyond the fold of a lens are left out: there OpenCV's
// iteration converges elsewhere or not at all.
func TestLensAgainstOpenCV(t *testing.T) {
	checked, all := 0, 0
	for _, known := range fromOpenCV(t).Projections {
		l := known.Lens
		c := cameraLens(l)
		for i, p := range known.Points {
			all++
			bent := geometry.Point{X: known.Bent[i][0], Y: known.Bent[i][1]}
			plain := geometry.Point{X: l[fx]*p[0]/p[2] + l[cx], Y: l[fy]*p[1]/p[2] + l[cy]}
			near(t, bent, c.Distort(plain))
			near(t, bent, l.project(&pose{r: rotation(vec{})}, p, nil))
			back, err := c.Undistort(bent)
			if err != nil || back.Sub(plain).Norm() > 1 {
				continue // beyond a fold
			}
			near(t, plain, back)
			near(t, geometry.Point{X: known.Straight[i][0], Y: known.Straight[i][1]}, back)
			checked++
		}
	}
	assert.Greater(t, checked, all*9/10, "most points of such lenses are not beyond a fold")
}

func near(t *testing.T, want, got geometry.Point) {
	t.Helper()
	require.InDelta(t, want.X, got.X, agreed)
	require.InDelta(t, want.Y, got.Y, agreed)
}

func cameraLens(l lens) *camera.Lens {
	return &camera.Lens{Width: wide, Height: high, Fx: l[fx], Fy: l[fy], Cx: l[cx], Cy: l[cy], Dist: [5]float64{l[k1], l[k2], l[p1], l[p2], l[k3]}}
}

// Analytic derivatives against central differences with a step of h: the
// rounding of pixels (1e-13 of thousands) over h and the third derivative times
// h^2 both stay under a millionth of the derivative.
func TestDerivatives(t *testing.T) {
	const h, share = 1e-5, 1e-6
	rng := rand.New(rand.NewPCG(2, 2))
	for range 200 {
		l := phoneLens(rng)
		u := held{lens: l, lean: 0.4}
		_, q := u.picture(rng)
		at := vec{3 * rng.NormFloat64(), 2 * rng.NormFloat64(), 0.1 * rng.NormFloat64()}
		var d slopes
		l.project(&q, at, &d)
		check := func(name string, x, y float64, by func(float64) geometry.Point) {
			v := by(h).Sub(by(-h)).Scale(1 / (2 * h))
			tol := share * (1 + math.Hypot(x, y)) * 10
			require.InDelta(t, v.X, x, tol, name)
			require.InDelta(t, v.Y, y, tol, name)
		}
		for i := range parameters {
			check("lens", d.lens[0][i], d.lens[1][i], func(h float64) geometry.Point { m := l; m[i] += h; return m.project(&q, at, nil) })
		}
		for i := range poseParameters {
			check("pose", d.pose[0][i], d.pose[1][i], func(h float64) geometry.Point {
				var s [poseParameters]float64
				s[i] = h
				m := q.moved(s)
				return l.project(&m, at, nil)
			})
		}
		for i := range 3 {
			check("place", d.place[0][i], d.place[1][i], func(h float64) geometry.Point { m := at; m[i] += h; return l.project(&q, m, nil) })
		}
	}
}

// The matrix of a rotation is orthogonal, keeps its axis and turns by the vector's
// length (trace = 1 + 2 cos).
func TestRotation(t *testing.T) {
	const exact = 1e-12
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.Float64Range(-2, 2)
		v := vec{g.Draw(t, "x"), g.Draw(t, "y"), g.Draw(t, "z")}
		q := pose{r: rotation(v)}
		for i := range 3 {
			for k := range 3 {
				want := 0.0
				if i == k {
					want = 1
				}
				if math.Abs(q.r[i].dot(q.r[k])-want) > exact {
					t.Fatalf("rows %d and %d of %v", i, k, q.r)
				}
			}
		}
		if along := q.turn(v).plus(v, -1); along.dot(along) > exact {
			t.Fatalf("the axis turns: %v", along)
		}
		if trace := q.r[0][0] + q.r[1][1] + q.r[2][2]; math.Abs(trace-1-2*math.Cos(math.Sqrt(v.dot(v)))) > exact {
			t.Fatalf("trace %g", trace)
		}
	})
}

// The tilt equals the angle of a rotation about an axis in the board's plane.
func TestTilt(t *testing.T) {
	for _, deg := range []float64{0, 1e-4, 10, 45, 80} {
		s, c := math.Sincos(0.7)
		a := deg * math.Pi / 180
		q := pose{r: rotation(vec{a * c, a * s, 0})}
		assert.InDelta(t, deg, q.tilt().Degrees(), 1e-9)
	}
}
