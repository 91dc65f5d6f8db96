package sticker

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// A thread at constant velocity is expected farther on by its velocity in each frame in which it is not seen.
func TestExpectedPlaceOfAThread(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	for i := 1; i <= 5; i++ {
		th.frames++
		c := seenAs(100+6*float64(i), 200-3*float64(i), 8, tag)
		th.see(&c)
		require.Zero(t, th.frames)
	}
	th.frames = 4
	assert.InDelta(t, 154, th.expected().X, 1e-9)
	assert.InDelta(t, 173, th.expected().Y, 1e-9)
	assert.True(t, th.gone())
	th.frames = 1
	assert.False(t, th.gone())
}

// A missing picture does not make a thread faster: its step is divided by the number of frames.
func TestThreadAfterAMissingPicture(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	th.frames = 3
	c := seenAs(130, 200, 8, tag)
	th.see(&c)
	assert.InDelta(t, 10, th.velocity.X, 1e-9)
}

// The squared spread grows with the cube of the frames once the velocity is known, with their square before.
func TestSpreadOfAThread(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	th.frames = 1
	one := th.spread()
	th.frames = 3
	assert.InDelta(t, 9, th.spread()/one, 1e-9)
	th.timesSeen = 2
	assert.InDelta(t, 27, th.spread()/one, 1e-9)
}

// The scale of deviations is learnt. At rest it is small, but never 0, and a single large step raises it by a limited
// factor.
func TestScaleIsLearnt(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	see := func(x float64) {
		th.frames++
		c := seenAs(x, 200, 8, tag)
		th.see(&c)
	}
	for range 60 {
		see(100)
	}
	rest := th.scale
	assert.InDelta(t, leastScale*8, math.Sqrt(rest), 1e-9)
	see(400)
	assert.LessOrEqual(t, th.scale, (1+9*newWeight)*rest)
	assert.Greater(t, th.scale, rest)
}

// The odds of a place are largest at the expected one, fall with the distance, and stay finite for any step.
func TestPlaceHasHeavyTails(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	th.frames = 1
	at := func(x, births float64) float64 {
		c := seenAs(x, 200, 8, tag)
		return th.oddsOfPlace(&c, bigPicture, births)
	}
	last := math.Inf(1)
	for _, x := range []float64{100, 110, 130, 200, 400, 1000} {
		odds := at(x, 0.1)
		assert.Less(t, odds, last)
		assert.False(t, math.IsInf(odds, 0))
		last = odds
	}
	// the density integrates to 1 over the plane: in rings of 1 px
	sum := 0.0
	for r := 0.5; r < 3000; r++ {
		sum += 2 * math.Pi * r * math.Exp(at(100+r, 1)) / bigPicture
	}
	assert.InDelta(t, 1, sum, 0.01)
	assert.InDelta(t, math.Log(10), at(130, 0.01)-at(130, 0.1), 1e-9, "ten times as many new things")
}

// A candidate that looks like another thing is not the thread, wherever it is.
func TestAThreadNeedsItsLook(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	th := newThread(&first)
	th.frames = 1
	same, other, larger := seenAs(101, 200, 8, tag), seenAs(101, 200, 8, vec{200, 60, 60}), seenAs(101, 200, 24, tag)
	assert.Greater(t, th.odds(&same, bigPicture, 0.1, 0), 8.0)
	assert.True(t, math.IsInf(th.odds(&other, bigPicture, 0.1, 0), -1))
	assert.True(t, math.IsInf(th.odds(&larger, bigPicture, 0.1, 0), -1))
}

// The light on a sticker differs from place to place: after a gap its colour may be brighter or dimmer, but not of another hue.
func TestLightAfterAGap(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	l := newLook(&first)
	dim, other := seenAs(100, 200, 8, vec{}.add(tag, 0.75)), seenAs(100, 200, 8, vec{120, 60, 220})
	next, _ := l.odds(&dim, 1)
	later, ok := l.odds(&dim, lightFrames)
	assert.True(t, ok)
	assert.Greater(t, later, next+4)
	_, ok = l.odds(&other, lightFrames)
	assert.False(t, ok)
}

// A feature may differ more after a gap.
func TestFeatureAfterAGap(t *testing.T) {
	f := feature{mean: 2, variance: 0.04, floor: 0.04}
	assert.InDelta(t, 1, f.squaredDistance(2.2, 1), 1e-9)
	assert.Less(t, f.squaredDistance(2.2, 9), 0.5)
	f.learn(2.2, 0.5)
	assert.InDelta(t, 2.1, f.mean, 1e-9)
	assert.InDelta(t, 0.04, f.variance, 1e-9)
	for range 50 {
		f.learn(f.mean, 0.5)
	}
	assert.Equal(t, 0.04, f.variance, "never less than the floor")
}

// The centre of a sticker that the picture's edge cuts may be up to a radius off.
func TestCentreOfACutSticker(t *testing.T) {
	first := seenAs(100, 200, 8, tag)
	l := newLook(&first)
	assert.Zero(t, l.centreSD(&first))
	first.cut = true
	assert.InDelta(t, 8/math.Sqrt(3), l.centreSD(&first), 0.05)
	half := seenAs(3, 200, 6, tag)
	half.cut = true
	assert.InDelta(t, 8/math.Sqrt(3), l.centreSD(&half), 0.05, "of the whole sticker's radius")
}

// The velocity of a thread is its step in a frame, in any direction.
func TestVelocityIsAStep(t *testing.T) {
	for _, v := range []geometry.Vec{{X: 5}, {Y: -7}, {X: -3, Y: 4}} {
		first := seenAs(300, 300, 8, tag)
		th := newThread(&first)
		th.frames = 1
		c := seenAs(300+v.X, 300+v.Y, 8, tag)
		th.see(&c)
		assert.InDelta(t, 0, th.velocity.Sub(v).Norm(), 1e-9)
	}
}
