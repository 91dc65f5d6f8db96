package pose

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// handstandAt draws a body on its hands whose arms and trunk enclose an angle, degrees, and returns it with its joints: wrist,
// shoulder and hip.
func handstandAt(deg float64) (p drawn, w, s, h geometry.Point) {
	turned := func(from geometry.Point, deg, long float64) geometry.Point {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return from.Add(geometry.Vec{X: long * sin, Y: -long * cos})
	}
	w = geometry.Point{X: 400, Y: 840}
	s = turned(w, (180-deg)/2, 280)
	h = turned(s, (deg-180)/2, 240)
	p = blankPicture(800, 960, wall)
	p.limb(s, h, 40, skin)
	p.limb(w, s, 20, skin)
	p.limb(h, turned(h, 0, 100), 32, skin)
	return p, w, s, h
}

// The motion of a limb between two pictures is found to a tenth of a degree and a sixth of a reduced pixel across it, with ends that are
// off by a tenth of its length. A picture in which it is not gives none.
func TestMotionOfALimb(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 3))
	a, w, s, _ := handstandAt(170)
	for deg := 164.0; deg <= 176; deg += 3 {
		b, w2, s2, _ := handstandAt(deg)
		off := func() geometry.Vec { return geometry.Vec{X: 28 * (2*r.Float64() - 1), Y: 28 * (2*r.Float64() - 1)} }
		l := limbBetween([]*Moment{{picture: shrink(b, b.Bounds(), 2)}, {picture: shrink(a, a.Bounds(), 2)}}, s.Add(off()), w.Add(off()))
		require.NotNil(t, l, "%v degrees", deg)
		angle := func(v geometry.Vec) float64 { return math.Atan2(v.Y, v.X) }
		want := angle(s2.Sub(w2)) - angle(s.Sub(w))
		assert.InDelta(t, want*180/math.Pi, l.motions[0].turn*180/math.Pi, 0.1, "%v degrees", deg)
		u := s2.Sub(w2).Scale(1 / s2.Sub(w2).Norm())
		miss := l.middles[0].Add(l.motions[0].turned(s.Sub(l.middles[1]))).Sub(s2)
		assert.InDelta(t, 0, u.X*miss.Y-u.Y*miss.X, 0.35, "%v degrees", deg)
	}
	empty := &Moment{picture: shrink(blankPicture(800, 960, wall), a.Bounds(), 2)}
	drawn := &Moment{picture: shrink(a, a.Bounds(), 2)}
	assert.Nil(t, limbBetween([]*Moment{empty, drawn}, s, w).motions[0])
	assert.Nil(t, limbBetween([]*Moment{drawn, empty}, s, w).motions[0])
}

// The network's angle of a handstand is off by an error that falls by half a degree a frame, which by itself moves the widest
// moment by four frames. The pixels have it to a quarter of a frame.
func TestTheMomentIsThatOfThePixels(t *testing.T) {
	const top, bend = 8.3, 0.065 // frames, degrees a frame^2
	f := &Found{}
	for i := range 2*fineFrames + 1 {
		u := float64(i) - top
		p, _, _, _ := handstandAt(176 - bend*u*u)
		_, w, s, h := handstandAt(176 - bend*u*u + 5 - 0.5*float64(i))
		b := bodyInProfile(h, 180, 180)
		for side := range 2 {
			b.Points[shoulder+side].At, b.Points[elbow+side].At, b.Points[wrist+side].At = s, midpoint(s, w), w
		}
		f.Moments = append(f.Moments, Moment{Frame: i, Time: time.Duration(i) * time.Second / 60, Body: b, fine: true, support: 1, picture: shrink(p, p.Bounds(), 2)})
	}
	angle := func(b *Body) float64 {
		a, c := b.middle(elbow).Sub(b.middle(shoulder)), b.middle(hip).Sub(b.middle(shoulder))
		return math.Acos((a.X*c.X+a.Y*c.Y)/a.Norm()/c.Norm()) * 180 / math.Pi
	}
	p, _ := f.fitPeak(angle, 0, 2*fineFrames)
	require.NotNil(t, p)
	assert.InDelta(t, top, p.Time.Seconds()*60, 0.25, "frames")
	assert.InDelta(t, 2*bend*3600, p.Fall, 60, "degrees a second^2")
	assert.Less(t, p.SD*60, 0.2, "frames")
	assert.True(t, p.Followed)
}
