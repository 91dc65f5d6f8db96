package geometry_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
)

// angleTolerance bounds what rounding of coordinates does to an angle: points lie
// up to 2e4 from the origin, so each coordinate is off by up to 2e4 * 1.1e-16 =
// 2e-12; on the shortest line of 0.02 that turns it by 1.6e-10 rad at most, and
// two lines add up.
const angleTolerance = 1e-9

// sideBody is a body seen from the side, posed by its joints, in degrees. It is
// built from directions on the complex plane and uses nothing of the package.
//
// Stood upright and facing right, the trunk points to 90, a hanging arm and leg to
// -90; raising a limb forwards turns it counter-clockwise.
type sideBody struct {
	shoulder  float64 // flexion of the arm: 0 hanging, 180 overhead
	elbow     float64 // bend, forwards
	hipFront  float64 // flexion of the front leg
	hipBack   float64 // extension of the back leg
	kneeFront float64 // bend of the front knee, which takes the shank backwards
	foot      float64 // front foot: 90 flat, 180 in line with the shin
}

func along(deg, length float64) complex128 { return cmplx.Rect(length, deg*math.Pi/180) }

func (b sideBody) marks() map[string]complex128 {
	m := map[string]complex128{"hip": 0}
	m["shoulder"] = along(90, 0.55)
	m["elbow"] = m["shoulder"] + along(-90+b.shoulder, 0.32)
	m["wrist"] = m["elbow"] + along(-90+b.shoulder+b.elbow, 0.27)
	m["front-knee"] = along(-90+b.hipFront, 0.45)
	m["front-ankle"] = m["front-knee"] + along(-90+b.hipFront-b.kneeFront, 0.42)
	m["front-toe"] = m["front-ankle"] + along(90+b.hipFront-b.kneeFront-b.foot, 0.2)
	m["back-knee"] = along(-90-b.hipBack, 0.45)
	m["back-ankle"] = m["back-knee"] + along(-90-b.hipBack, 0.42)
	return m
}

// frontBody is a body seen from the front, upright: the athlete's right is on the
// picture's left.
type frontBody struct {
	right, left float64 // how far each leg opens from straight down
	width       float64 // between the hips; the shoulders are twice as wide apart
}

func (b frontBody) marks() map[string]complex128 {
	m := map[string]complex128{
		"hip":       0,
		"right-hip": complex(-b.width/2, 0), "left-hip": complex(b.width/2, 0),
		"right-shoulder": complex(-b.width, 0.55), "left-shoulder": complex(b.width, 0.55),
	}
	m["right-ankle"] = m["right-hip"] + along(-90-b.right, 0.87)
	m["left-ankle"] = m["left-hip"] + along(-90+b.left, 0.87)
	return m
}

// view is the map from the body to the plane: mirrored, then turned, scaled and moved.
type view struct {
	mirrored bool
	turn     float64 // degrees
	scale    float64
	move     complex128
}

func (v view) place(z complex128) complex128 {
	if v.mirrored {
		z = -cmplx.Conj(z)
	}
	return z*along(v.turn, v.scale) + v.move
}

func (v view) marks(body map[string]complex128) map[string]geometry.Point {
	at := map[string]geometry.Point{}
	for name, z := range body {
		z = v.place(z)
		at[name] = geometry.Point{X: real(z), Y: imag(z)}
	}
	return at
}

// facing returns the facing of a sideBody in the picture plane: the nearest of the four
// directions, at most 45 degrees off.
func (v view) facing() geometry.Facing {
	chest := v.place(1) - v.place(0)
	switch {
	case math.Abs(real(chest)) >= math.Abs(imag(chest)) && real(chest) > 0:
		return geometry.FacingRight
	case math.Abs(real(chest)) >= math.Abs(imag(chest)):
		return geometry.FacingLeft
	case imag(chest) > 0:
		return geometry.FacingUp
	}
	return geometry.FacingDown
}

// toCamera is the facing of a frontBody.
func (v view) toCamera() geometry.Facing {
	if v.mirrored {
		return geometry.FacingAway
	}
	return geometry.FacingCamera
}

// read binds the measure and returns the angle at the marks themselves.
func read(t require.TestingT, measure string, at map[string]geometry.Point, opt geometry.Options) (geometry.Angle, geometry.Bound) {
	m, ok := geometry.Lookup(measure)
	require.True(t, ok, measure)
	b, err := m.Bind(at, opt)
	require.NoError(t, err, measure)
	return b.Angle(points(&b, at)), b
}

func points(b *geometry.Bound, at map[string]geometry.Point) []geometry.Point {
	var pts []geometry.Point
	for _, name := range b.Landmarks() {
		pts = append(pts, at[name])
	}
	return pts
}

func drawView(t *rapid.T) view {
	return view{
		mirrored: rapid.Bool().Draw(t, "mirrored"),
		turn:     rapid.Float64Range(-180, 180).Draw(t, "turn"),
		scale:    math.Pow(10, rapid.Float64Range(-1, 4).Draw(t, "log scale")),
		move:     complex(rapid.Float64Range(-1e4, 1e4).Draw(t, "x"), rapid.Float64Range(-1e4, 1e4).Draw(t, "y")),
	}
}

func only(at map[string]geometry.Point, names ...string) map[string]geometry.Point {
	some := map[string]geometry.Point{}
	for _, n := range names {
		some[n] = at[n]
	}
	return some
}

// The angles read equal those of the pose, for either facing and any rotation, mirroring,
// scale and position.
func TestPoseReadsTheSameFromAnyView(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body := sideBody{
			shoulder:  rapid.Float64Range(0.1, 359.9).Draw(t, "shoulder"),
			elbow:     rapid.Float64Range(-179, 179).Draw(t, "elbow"),
			hipFront:  rapid.Float64Range(0, 159).Draw(t, "front hip"),
			hipBack:   rapid.Float64Range(0.1, 159).Draw(t, "back hip"),
			kneeFront: rapid.Float64Range(-20, 160).Draw(t, "front knee"),
			foot:      rapid.Float64Range(40, 220).Draw(t, "foot"),
		}
		v := drawView(t)
		at := v.marks(body.marks())
		opt := geometry.Options{Side: geometry.Front, Facing: v.facing()}
		thigh := opt
		thigh.Leg = geometry.Thigh
		for _, c := range []struct {
			measure string
			opt     geometry.Options
			want    float64 // degrees, from the pose
		}{
			{"hip-split", thigh, body.hipFront + body.hipBack},
			{"hip-split", geometry.Options{Leg: geometry.Thigh}, body.hipFront + body.hipBack},
			{"shoulder-flexion", opt, body.shoulder},
			{"shoulder-extension", opt, 360 - body.shoulder},
			{"pike", thigh, 180 - body.hipFront},
			{"hip-flexion", thigh, body.hipFront},
			{"hip-extension", geometry.Options{Side: geometry.Back, Facing: v.facing()}, body.hipBack},
			{"knee-bend", opt, body.kneeFront},
			{"elbow-bend", opt, math.Abs(body.elbow)},
			{"foot-point", opt, body.foot},
		} {
			got, b := read(t, c.measure, at, c.opt)
			require.InDelta(t, c.want, got.Degrees(), geometry.Angle(angleTolerance).Degrees(), "%s %+v", c.measure, b)
			require.Empty(t, b.Assumptions(), c.measure)
		}
	})
}

// The separation read equals that of the pose, from the front and from behind, upright and
// inverted, past 180 and crossed, with each set of marks that tells left from right.
func TestLegsReadTheSameFromAnyView(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body := frontBody{
			right: rapid.Float64Range(-20, 110).Draw(t, "right"),
			left:  rapid.Float64Range(-20, 110).Draw(t, "left"),
			width: rapid.Float64Range(0.1, 0.4).Draw(t, "width"),
		}
		v := drawView(t)
		at := v.marks(body.marks())
		want, tolerance := body.right+body.left, geometry.Angle(angleTolerance).Degrees()
		ankles := []string{"right-ankle", "left-ankle"}
		shoulders := []string{"right-shoulder", "left-shoulder"}
		hips := []string{"right-hip", "left-hip"}

		got, b := read(t, "leg-separation", only(at, append(append(ankles, hips...), shoulders...)...), geometry.Options{})
		require.InDelta(t, want, got.Degrees(), tolerance, "two hips and the trunk")
		require.Empty(t, b.Assumptions())

		got, _ = read(t, "leg-separation", only(at, append(ankles, hips...)...), geometry.Options{Facing: v.toCamera()})
		require.InDelta(t, want, got.Degrees(), tolerance, "two hips and facing")

		if math.Abs(want) < 159 { // where the legs themselves show which way is down, and the hips lie across it
			if tilt := math.Abs(body.right-body.left) / 2; tilt < 69 {
				got, b = read(t, "leg-separation", only(at, append(ankles, hips...)...), geometry.Options{})
				require.InDelta(t, want, got.Degrees(), tolerance, "two hips alone")
				require.Empty(t, b.Assumptions())
			}
		}

		fromOne := frontBody{right: body.right, left: body.left}.marks()
		fromOne["right-shoulder"], fromOne["left-shoulder"] = complex(-0.2, 0.55), complex(0.2, 0.55)
		at = v.marks(fromOne)
		got, _ = read(t, "leg-separation", only(at, append(ankles, "hip")...), geometry.Options{Facing: v.toCamera()})
		require.InDelta(t, want, got.Degrees(), tolerance, "one hip and facing")

		got, _ = read(t, "leg-separation", only(at, append(append(ankles, shoulders...), "hip")...), geometry.Options{})
		require.InDelta(t, want, got.Degrees(), tolerance, "one hip and two shoulders")
	})
}
