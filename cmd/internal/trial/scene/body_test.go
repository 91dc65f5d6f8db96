package scene

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The angles of the landmarks are those of the pose: below and past straight, facing
// either way, standing and upside down.
func TestAnglesAreThoseOfThePose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		deg := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		split, tilt := deg("split", 60, 215), deg("tilt", -25, 25)
		arm, elbow := deg("arm", 5, 215), deg("elbow", 0, 120)
		bendKnee, point := deg("knee", -12, 120), deg("point", 60, 195)
		lean := deg("lean", -20, 20)
		p := Pose{Lean: lean * degree, Arch: deg("arch", 0, 30) * degree, Tilt: deg("whole", 0, 360) * degree}
		if rapid.Bool().Draw(t, "left") {
			p.Turn = math.Pi
		}
		lead := Side(rapid.IntRange(0, 1).Draw(t, "lead"))
		p = p.Split(split*degree, tilt*degree, lead)
		for s := range 2 {
			p.Arms[s] = Arm{Flexion: arm * degree, Elbow: elbow * degree}
			p.Legs[s].Foot = (point - 90) * degree
		}
		b := NewBody(deg("stature", 1.2, 1.9))
		j := b.Joints(p)
		a := j.Angles()
		const tiny = 1e-6 // degrees: the root of rounding where an angle is near straight
		require.InDelta(t, split, a["hip-split"], tiny)
		require.InDelta(t, split, a["hip-split:thigh"], tiny)
		require.InDelta(t, arm, a["shoulder-flexion"], tiny)
		require.InDelta(t, arm, a["left-shoulder-flexion:elbow"], tiny)
		require.InDelta(t, 360-arm, a["shoulder-extension"], tiny)
		require.InDelta(t, elbow, a["elbow-bend"], tiny)
		require.InDelta(t, point, a["foot-point"], tiny)
		front := split/2 + tilt
		require.InDelta(t, 180-front+lean*-1, a[lead.String()+"-pike"+":whole"], tiny)
		require.Equal(t, lead, j.Front)

		// with a knee bent the whole leg is no longer the thigh
		p.Legs[Right].Knee = bendKnee * degree
		require.InDelta(t, bendKnee, b.Joints(p).Angles()["right-knee-bend"], tiny)
		require.InDelta(t, split, b.Joints(p).Angles()["hip-split:thigh"], tiny)
	})
}

// A leg that opens out of the plane of motion keeps its angle in that plane, and is
// foreshortened by the cosine.
func TestOpening(t *testing.T) {
	b := NewBody(1.52)
	p := Pose{}.Split(150*degree, 0, Right)
	p.Legs[Right].Opening = 20 * degree
	j := b.Joints(p)
	assert.InDelta(t, 150, j.Angles()["hip-split"], exact)
	h, _ := j.At("right-hip")
	a, _ := j.At("right-ankle")
	assert.InDelta(t, (b.Thigh+b.Shank)*math.Cos(20*degree), math.Hypot(a.X-h.X, a.Y-h.Y), exact)
	assert.InDelta(t, (b.Thigh+b.Shank)*math.Sin(20*degree), a.Z-h.Z, exact)
}

func TestSeparationAndFrontView(t *testing.T) {
	b := NewBody(1.52)
	p := Pose{Turn: math.Pi / 2}
	p.Legs[Left].Opening, p.Legs[Right].Opening = 30*degree, 40*degree
	a := b.Joints(p).Angles()
	assert.InDelta(t, 70, a["leg-separation"], exact)
	p.Legs[Left].Opening, p.Legs[Right].Opening = -10*degree, -5*degree
	assert.InDelta(t, -15, b.Joints(p).Angles()["leg-separation"], exact)
	p.Tilt = math.Pi // upside down, legs crossed still
	assert.InDelta(t, -15, b.Joints(p).Angles()["leg-separation"], exact)
	// facing the camera, the left hip is on the picture's right
	l, _ := b.Joints(Pose{Turn: math.Pi / 2}).At("left-hip")
	assert.InDelta(t, b.HipWidth/2, l.X, exact)
}

func TestHandsAndLeansAgainstGravity(t *testing.T) {
	b := NewBody(1.52)
	var p Pose
	for s := range 2 {
		p.Arms[s].Flexion = math.Pi
	}
	p.Tilt = math.Pi - 7*degree
	a := b.Joints(p).Angles()
	assert.InDelta(t, 7, a["off-vertical:hip"], exact)
	assert.InDelta(t, 7, a["off-vertical"], exact, "arms, trunk and legs in one line")
	p = Pose{}
	p.Legs[Right].Flexion = 100 * degree
	a = b.Joints(p).Angles()
	assert.InDelta(t, 10, a["front-leg-rise"], exact)
	assert.InDelta(t, -90, a["back-leg-rise"], exact)
}

func TestStanding(t *testing.T) {
	b := NewBody(1.6)
	j := b.Joints(Pose{Hips: Vec{Y: 0.53 * 1.6}})
	at := func(n string) Vec { v, ok := j.At(n); require.True(t, ok, n); return v }
	// Drillis and Contini's heights over the floor, in statures (from memory):
	// shoulder 0.818, knee 0.285, ankle 0.039
	assert.InDelta(t, 0.818*1.6, at("shoulder").Y, 0.001*1.6)
	assert.InDelta(t, 0.285*1.6, at("knee").Y, 0.001*1.6)
	assert.InDelta(t, 0.039*1.6, at("ankle").Y, 0.001*1.6)
	assert.Equal(t, Right, j.Near(), "facing right shows the right side")
	assert.Equal(t, "right", j.FacingName())
	assert.Positive(t, at("toe").X-at("ankle").X)
	_, ok := j.At("middle-hip")
	assert.False(t, ok)
	_, ok = j.At("nose")
	assert.False(t, ok)
}

// HipFlesh sets the skin over the hip outwards and does not change the thigh's depth from front to back.
func TestHipFlesh(t *testing.T) {
	b := NewBody(1.6)
	p := Pose{Hips: Vec{Y: 0.53 * 1.6}}
	over := func(p Pose) float64 {
		_, truth := Still(b, p, LookAt(64, 48, 50, Vec{Y: 1}, 6), nil, "hip-split")
		m, ok := truth.Mark("hip")
		require.True(t, ok)
		return m.Skin[2] - m.World[2]
	}
	faced := p
	faced.Turn = math.Pi / 2
	deep := over(faced)
	assert.InDelta(t, thighAtHip*1.6, over(p), 0.001)
	b.HipFlesh = 0.0405 * 1.6 // 0.191 of stature across: 0.110 between the joints' axes and twice this
	assert.InDelta(t, 0.191*1.6, b.HipWidth+2*over(p), 0.001)
	assert.InDelta(t, deep, over(faced), 0.001)
	b.Girth = 1.1
	assert.InDelta(t, 1.1*b.HipFlesh, over(p), 0.001)
}

func drawVec(t *rapid.T, name string, reach float64) Vec {
	f := rapid.Float64Range(-reach, reach)
	return Vec{f.Draw(t, name+"x"), f.Draw(t, name+"y"), f.Draw(t, name+"z")}
}

// inside reports whether a point is in the hull of two balls, by a slow independent
// method: a test of each of many balls between them.
func inside(o *solid, p Vec) bool {
	q := o.toLocal.mul(p.Sub(o.a))
	const balls = 4000
	for i := range balls + 1 {
		s := float64(i) / balls
		r := o.ra + (o.rb-o.ra)*s
		if q.X*q.X+sq(q.Y-s*o.h)+q.Z*q.Z <= r*r {
			return true
		}
	}
	return false
}

// A ray's hit is on the surface and the first on the ray, and the normal is the
// surface's.
func TestSolidHit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := newSolid(drawVec(t, "a", 0.5), drawVec(t, "b", 0.5),
			rapid.Float64Range(0.05, 0.3).Draw(t, "ra"), rapid.Float64Range(0.05, 0.3).Draw(t, "rb"),
			rapid.Float64Range(0.6, 1.8).Draw(t, "wide"), drawVec(t, "along", 1), partTrunk, material{})
		from := drawVec(t, "from", 1).Add(Vec{Z: 4})
		dir := drawVec(t, "to", 0.6).Sub(from).Unit()
		at, normal, ok := o.hit(from, dir)

		const step, skin = 0.02, 2e-3 // m: the balls of the slow way leave dents of 1e-4
		end := 8.0
		if ok {
			end = at - skin
		}
		for s := 0.5; s < end; s += step {
			if inside(&o, from.Add(dir.Mul(s))) {
				grazing := ok && at-s < step
				require.True(t, grazing, "in the solid at %g before its hit at %g", s, at)
			}
		}
		if !ok {
			return
		}
		p := from.Add(dir.Mul(at))
		n := o.worldNormal(normal)
		require.LessOrEqual(t, n.Dot(dir), 1e-9)
		require.InDelta(t, 1, n.Norm(), 1e-9)
		require.False(t, inside(&o, p.Add(n.Mul(skin))))
		require.True(t, inside(&o, p.Sub(n.Mul(skin))))
		d, local := o.distance(p)
		require.InDelta(t, 0, d, 1e-9)
		require.InDelta(t, 1, local.Dot(normal), 1e-6)
	})
}

func TestEllipsoid(t *testing.T) {
	o := ellipsoid(Vec{X: 1}, Vec{X: 1}, Vec{Y: 1}, Vec{Z: 1}, 0.1, 0.2, 0.3, partHead, material{})
	at, n, ok := o.hit(Vec{X: 1, Z: 2}, Vec{Z: -1})
	require.True(t, ok)
	require.InDelta(t, 1.7, at, exact)
	require.InDelta(t, 1, o.worldNormal(n).Z, exact)
	at, _, ok = o.hit(Vec{X: 1, Y: 3}, Vec{Y: -1})
	require.True(t, ok)
	require.InDelta(t, 2.8, at, exact)
	_, _, ok = o.hit(Vec{X: 1.11, Y: 3}, Vec{Y: -1})
	require.False(t, ok)
}

func TestDisc(t *testing.T) {
	d := disc{at: Vec{}, normal: Vec{Z: 1}, r: 0.02}
	at, ok := d.hit(Vec{X: 0.0199, Z: 1}, Vec{Z: -1})
	require.True(t, ok)
	require.InDelta(t, 1, at, exact)
	_, ok = d.hit(Vec{X: 0.0201, Z: 1}, Vec{Z: -1})
	require.False(t, ok)
	_, ok = d.hit(Vec{Z: -1}, Vec{Z: 1})
	require.False(t, ok, "from behind")
	require.True(t, math.Abs(srgbCurve(linear(200)/1)-200.0/255) < exact)
}
