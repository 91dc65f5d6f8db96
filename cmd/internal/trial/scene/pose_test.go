package scene

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The angle read off the landmarks is the one the pose was asked for: below and
// past straight, on both facings, standing and upside down.
func TestAnglesAreThoseAskedFor(t *testing.T) {
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

// A leg that opens out of the plane of motion keeps its angle in that plane, and
// shows shorter by the cosine.
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

// The skin over the hip is as far out as the body says, and the thigh is as deep from front to back as it was.
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
