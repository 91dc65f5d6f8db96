package scene

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// exact is the tolerance for values that differ by rounding only.
const exact = 1e-9

// pictureSplit is the angle at the hip between the ankles, measured below the hip, in
// the picture, degrees.
func pictureSplit(t *testing.T, project func(Vec) (float64, float64), j Joints) float64 {
	t.Helper()
	at := func(name string) (float64, float64) {
		p, ok := j.At(name)
		require.True(t, ok)
		return project(p)
	}
	hx, hy := at("hip")
	fx, fy := at("front-ankle")
	bx, by := at("back-ankle")
	front, back := math.Atan2(fx-hx, fy-hy), math.Atan2(bx-hx, by-hy) // from straight down
	a := front - back
	if a < 0 {
		a += 2 * math.Pi
	}
	return a / degree
}

// noHips is a body whose two hips are in one place, so that they have the same depth.
func noHips() Body {
	b := NewBody(1.52)
	b.HipWidth = 0
	return b
}

// A symmetric split whose legs are b below level shows tan b' = tan b / cos yaw,
// and tan b' = tan b cos pitch: scaled orthography of a level leg (derivation:
// yaw shortens X by cos yaw and leaves Y, pitch shortens Y by cos pitch and
// leaves X). The printed values are these, rounded to a tenth of a degree.
func TestScaledYawPitch(t *testing.T) {
	const printed = 0.05 + 1e-6 // half of the last digit of the table
	table := map[float64][6]float64{
		120: {119.2, 116.9, 112.6, 120.8, 123.0, 126.9},
		135: {134.4, 132.4, 128.9, 135.6, 137.5, 140.5},
		150: {149.6, 148.2, 145.6, 150.4, 151.7, 153.9},
		160: {159.7, 158.7, 157.0, 160.3, 161.2, 162.6},
		170: {169.8, 169.4, 168.5, 170.2, 170.6, 171.3},
		180: {180, 180, 180, 180, 180, 180},
	}
	for split, want := range table {
		for k, turn := range []float64{10, 20, 30, 10, 20, 30} {
			t.Run(fmt.Sprintf("%g/%d", split, k), func(t *testing.T) {
				p := Pose{}.Split(split*degree, 0, Right)
				j := noHips().Joints(p)
				c := LookAt(1920, 1080, 1500, Vec{}, 5)
				below := (180 - split) / 2 * degree
				closed := math.Atan(math.Tan(below) / math.Cos(turn*degree))
				if k < 3 {
					c.Yaw = turn * degree
				} else {
					c.Pitch = turn * degree
					closed = math.Atan(math.Tan(below) * math.Cos(turn*degree))
				}
				got := pictureSplit(t, c.Scaled, j)
				assert.InDelta(t, 180-2*closed/degree, got, exact)
				assert.InDelta(t, want[k], got, printed)
			})
		}
	}
}

// Past 180 degrees the sign is reversed: yaw makes an over-split look larger.
func TestScaledPastLevel(t *testing.T) {
	p := Pose{}.Split(190*degree, 0, Right)
	c := LookAt(1920, 1080, 1500, Vec{}, 5)
	c.Yaw = 20 * degree
	want := 180 + 2*math.Atan(math.Tan(5*degree)/math.Cos(20*degree))/degree
	assert.InDelta(t, want, pictureSplit(t, c.Scaled, noHips().Joints(p)), exact)
}

// From far away a pinhole camera agrees with scaled orthographic projection.
func TestPinholeFromFarAway(t *testing.T) {
	p := Pose{}.Split(150*degree, 4*degree, Right)
	j := NewBody(1.52).Joints(p)
	c := LookAt(1920, 1080, 1500, Vec{X: 0.2, Y: 0.1}, 1e5)
	c.Focal = 300 * c.Distance
	c.Yaw, c.Pitch, c.Roll = 17*degree, -6*degree, 3*degree
	const reach = 0.01 // px: 300 px/m * 1 m * (1 m / 1e5 m) of perspective is 0.003
	for _, n := range sidedNames() {
		v, _ := j.At(n)
		x, y, ok := c.Project(v)
		require.True(t, ok)
		sx, sy := c.Scaled(v)
		assert.InDelta(t, sx, x, reach, n)
		assert.InDelta(t, sy, y, reach, n)
	}
}

// A square camera: 1 m to the right at 5 m shows f/5 px to the right, 1 m up
// shows f/5 px up, and the middle of the picture is ((w-1)/2, (h-1)/2).
func TestPinholeByHand(t *testing.T) {
	c := LookAt(1920, 1080, 1500, Vec{}, 5)
	assert.Equal(t, Vec{Z: 5}, c.Position())
	x, y, ok := c.Project(Vec{X: 1, Y: 1})
	require.True(t, ok)
	assert.InDelta(t, 959.5+300, x, exact)
	assert.InDelta(t, 539.5-300, y, exact)
	x, _, _ = c.Project(Vec{X: 1, Z: 1}) // 4 m away
	assert.InDelta(t, 959.5+375, x, exact)
	_, _, ok = c.Project(Vec{Z: 6})
	assert.False(t, ok, "behind the camera")

	c.Yaw = 30 * degree // R v for v = X is (cos, 0, -sin): the far right goes away
	r := c.Rotation()
	assert.InDelta(t, math.Cos(30*degree), r[0].X, exact)
	assert.InDelta(t, -math.Sin(30*degree), r[2].X, exact)
}

func TestRayIsTheInverseOfProject(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(-1, 1)
		c := LookAt(1920, 1080, 1500, Vec{f.Draw(t, "x"), f.Draw(t, "y"), 0}, 4)
		c.Yaw, c.Pitch, c.Roll = f.Draw(t, "yaw"), f.Draw(t, "pitch"), f.Draw(t, "roll")
		if rapid.Bool().Draw(t, "lens") {
			c.Lens = Lens{0.1 * f.Draw(t, "k1"), 0.05 * f.Draw(t, "k2"), 0.003 * f.Draw(t, "p1"), 0.003 * f.Draw(t, "p2"), 0.02 * f.Draw(t, "k3")}
		}
		v := c.view()
		px, py := 959.5+900*f.Draw(t, "px"), 539.5+500*f.Draw(t, "py")
		p := v.from.Add(v.ray(px, py).Mul(3.7))
		x, y, ok := c.Project(p)
		require.True(t, ok)
		const tiny = 1e-7 // px: Newton's last step, times the focal length
		require.InDelta(t, px, x, tiny)
		require.InDelta(t, py, y, tiny)
	})
}

// A circle of radius r at distance Z, tilted by a, has the middle of its
// picture off the picture of its middle by
//
//	f r^2 sin a cos a / (Z^2 - r^2 sin^2 a)
//
// (perspective eccentricity; here from the two ends of the tilted diameter:
// f r cos a / (Z - r sin a) and -f r cos a / (Z + r sin a), halved sum).
func TestEccentricity(t *testing.T) {
	for _, v := range []struct{ r, z, a, f float64 }{
		{0.010, 4, 45, 1500}, {0.3, 2, 30, 1500}, {0.2, 1.5, 60, 900},
	} {
		c := LookAt(1920, 1080, v.f, Vec{}, v.z)
		n := Vec{X: math.Sin(v.a * degree), Z: math.Cos(v.a * degree)}
		u := across(n, Vec{X: 1})
		w := n.Cross(u)
		lo, hi := math.Inf(1), math.Inf(-1)
		for k := range 3600 {
			s, co := math.Sincos(float64(k) * math.Pi / 1800)
			x, _, ok := c.Project(u.Mul(v.r * co).Add(w.Mul(v.r * s)))
			require.True(t, ok)
			lo, hi = min(lo, x), max(hi, x)
		}
		mx, _, _ := c.Project(Vec{})
		s, co := math.Sincos(v.a * degree)
		want := v.f * v.r * v.r * s * co / (v.z*v.z - v.r*v.r*s*s)
		assert.InDelta(t, want, math.Abs((lo+hi)/2-mx), 1e-9*v.f)
	}
	// the printed figure: 0.005 px for 10 mm at 4 m, 1500 px, 45 degrees
	s, co := math.Sincos(45 * degree)
	assert.InDelta(t, 0.005, 1500*1e-4*s*co/(16-1e-4*s*s), 0.0005)
}
