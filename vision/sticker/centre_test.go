package sticker

import (
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
)

// errorOf is how far fits of one kind of dot lie from the truth: root mean
// square over both axes, and the mean squared error in units of the stated
// covariance, halved (1 where the covariance is honest).
func errorOf(t *testing.T, radius, aspect, noise, lens, speed float64, n int) (rms, nees float64, missed int) {
	rnd := rand.New(rand.NewPCG(1, 2))
	var f fitter
	var count float64
	for range n {
		d := dot{x: 32 + rnd.Float64(), y: 32 + rnd.Float64(), a: radius, b: radius * aspect, turn: rnd.Float64() * 3, colour: rgb(0xd01ef0)}
		s, c := math.Sincos(rnd.Float64() * 2 * math.Pi)
		d.vx, d.vy = speed*c, speed*s
		p := paint{w: 66, h: 66, back: plain(0x23354d), dots: []dot{d}, noise: noise, lens: lens, grid: 4}
		if speed > 0 {
			p.times, p.grid = 24, 2
		}
		var w window
		w.load(Still(p.render(rnd)), image.Rect(0, 0, 66, 66))
		start := circle(geometry.Point{X: d.x + rnd.NormFloat64(), Y: d.y + rnd.NormFloat64()}, radius*1.1, 0.7)
		start.long, start.way = speed, geometry.Vec{X: c, Y: s}
		b := &belief{outline: start, shape: 0.3, blurRange: 0.7, longRange: 2}
		if speed == 0 {
			b.longRange = 1e-3
		}
		r, ok := f.fit(&w, start, b)
		if !ok {
			missed++
			continue
		}
		ex, ey := r.at.X-d.x, r.at.Y-d.y
		rms += (ex*ex + ey*ey) / 2
		det := r.cov[0][0]*r.cov[1][1] - r.cov[0][1]*r.cov[0][1]
		nees += (ex*ex*r.cov[1][1] - 2*ex*ey*r.cov[0][1] + ey*ey*r.cov[0][0]) / det / 2
		count++
	}
	return math.Sqrt(rms / count), nees / count, missed
}

// The centre of a dot of 8 px and more in a clean picture, by pictures that
// share nothing with the fit: no farther than 0.08 px. Noise is in levels of 255.
func TestCentres(t *testing.T) {
	const n = 20
	const most = 0.08 // px
	for _, c := range []struct {
		name                               string
		radius, aspect, noise, lens, speed float64
	}{
		{"clean", 8, 1, 0, 0, 0},
		{"through a lens", 8, 1, 0, 0.5, 0},
		{"noisy", 8, 1, 2, 0.5, 0},
		{"an ellipse", 12, 0.6, 3, 0.5, 0},
		{"a streak", 10, 1, 3, 0.5, 13},
	} {
		rms, nees, missed := errorOf(t, c.radius, c.aspect, c.noise, c.lens, c.speed, n)
		t.Logf("%s: %.4f px, squared error over covariance %.2f", c.name, rms, nees)
		assert.LessOrEqual(t, missed, 1, c.name)
		assert.Less(t, rms, most, c.name)
		if c.noise > 0 {
			// 2n = 40 squares of standard normals average within 0.45 and 1.7 in 999
			// of 1000 cases (chi-squared)
			assert.Greater(t, nees, 0.45, c.name)
			assert.Less(t, nees, 1.7, c.name)
		}
	}
}

// More noise, more uncertainty said.
func TestCovarianceGrowsWithNoise(t *testing.T) {
	quiet, _, _ := errorOf(t, 8, 1, 1, 0.5, 0, 15)
	loud, _, _ := errorOf(t, 8, 1, 6, 0.5, 0, 15)
	assert.Greater(t, loud, quiet)
}
