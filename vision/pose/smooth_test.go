package pose

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
)

// Where legs open to the sides, each leg's axis by its outline runs through its own hip. Hips that the network has too high
// are moved onto the axes.
func TestEachHipLiesOnItsOwnLeg(t *testing.T) {
	wide, long := 20.0, 240.0
	left, right := geometry.Point{X: 400 + wide, Y: 300}, geometry.Point{X: 400 - wide, Y: 300}
	sin, cos := math.Sincos(20 * math.Pi / 180)
	ankles := [2]geometry.Point{left.Add(geometry.Vec{X: long * cos, Y: long * sin}), right.Add(geometry.Vec{X: -long * cos, Y: long * sin})}
	p, ground := blankPicture(900, 700, wall), blankPicture(900, 700, wall)
	for s, h := range []geometry.Point{left, right} {
		p.limb(h, ankles[s], 22, skin)
	}
	var fine []*Moment
	f := &Found{Still: true, ownHips: true, ground: shrink(ground, ground.Bounds(), 1)}
	for i := range 9 {
		b := bodyInProfile(geometry.Point{X: 400, Y: 300}, 70, -70)
		for s, h := range []geometry.Point{left, right} {
			b.Points[hip+s].At = h.Add(geometry.Vec{Y: -8})
			b.Points[ankle+s].At = ankles[s].Add(geometry.Vec{Y: 5})
			b.Points[knee+s].At = midpoint(b.Points[hip+s].At, b.Points[ankle+s].At)
		}
		f.Moments = append(f.Moments, Moment{Frame: i, Time: time.Duration(i) * time.Second / 60, Body: b, fine: true, support: 1, picture: shrink(p, p.Bounds(), 1)})
	}
	f.smoothAll(0, 8)
	for i := range f.Moments {
		fine = append(fine, &f.Moments[i])
	}
	b := fine[4].smooth
	for s, a := range ankles {
		u := b.Points[ankle+s].At.Sub(b.Points[hip+s].At)
		want := a.Sub([]geometry.Point{left, right}[s])
		off := math.Remainder(math.Atan2(u.Y, u.X)-math.Atan2(want.Y, want.X), 2*math.Pi) * 180 / math.Pi
		assert.InDelta(t, 0, off, 0.35, "side %d", s)
	}
}

// The ankle of a leg with a bent knee is moved across the shank onto the axis of its outline. The network has it a
// twentieth of the leg beside that. In the middle five of 17 looks it also has it too far along the shank, which the other looks outvote.
func TestAnAnkleLiesOnItsShank(t *testing.T) {
	h, k, a := geometry.Point{X: 450, Y: 250}, geometry.Point{X: 580, Y: 300}, geometry.Point{X: 700, Y: 400}
	p, ground := blankPicture(900, 700, wall), blankPicture(900, 700, wall)
	p.limb(h, k, 24, skin)
	p.limb(k, a, 16, skin)
	f := &Found{Still: true, ground: shrink(ground, ground.Bounds(), 2)}
	for i := range 17 {
		b := bodyInProfile(h, 80, -80)
		along := a.Sub(k).Scale(1 / a.Sub(k).Norm())
		b.Points[knee].At = k.Add(geometry.Vec{X: 4, Y: 6})
		b.Points[ankle].At = a.Add(geometry.Vec{X: -along.Y * 15, Y: along.X * 15})
		if i >= 6 && i <= 10 {
			b.Points[ankle].At = b.Points[ankle].At.Add(along.Scale(20))
		}
		f.Moments = append(f.Moments, Moment{Frame: i, Time: time.Duration(i) * time.Second / 60, Body: b, fine: true, support: 1, picture: shrink(p, p.Bounds(), 2)})
	}
	f.smoothAll(0, 16)
	m := &f.Moments[8]
	assert.Nil(t, m.axes[Left])
	assert.True(t, m.shanks[Left])
	assert.Less(t, m.smooth.Points[ankle].At.Sub(a).Norm(), 3.0)
	assert.InDelta(t, 25, m.network.Points[ankle].At.Sub(a).Norm(), 0.5)
	assert.False(t, m.shanks[Right], "the right leg is not drawn")
}
