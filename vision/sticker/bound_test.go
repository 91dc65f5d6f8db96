package sticker

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// bound is the Cramér-Rao bound for the centre of a dot in one picture: no unbiased estimate of
// it scatters by less.
//
// The value of pixel i in channel c is mu_ic(x, y) + e_ic, with (x, y) the centre, and e_ic
// independent and normal with the variance s^2 of the noise and 1/12 of rounding to whole levels
// (a level is 1/255). The logarithm of the likelihood is -sum (v - mu)^2 / 2 s^2, and Fisher's
// information on x, minus the mean of its second derivative, is
//
//	I_xx = sum over i, c of (d mu_ic / d x)^2 / (s^2 + 1/12)
//
// and likewise for y (S M Kay, Fundamentals of Statistical Signal Processing: Estimation Theory,
// 1993, sections 3.4 and 3.9; from memory). For a round dot on a plain ground d mu/dx and d mu/dy
// are odd about the centre, one in x and one in y, and what the radius, the blur and the two
// colours do to mu is even: all other terms of the matrix vanish, so that not knowing them costs
// nothing. The bound of either axis is 1/sqrt(I_xx). The derivatives are taken here from the
// painter of the tests, by central differences.
func bound(p paint, noise float64) float64 {
	const h = 0.05 // px
	shifted := func(by float64) [][3]float64 {
		d := p.dots[0]
		d.x += by
		p.dots = []dot{d}
		return p.light()
	}
	more, less := shifted(h), shifted(-h)
	sum := 0.0
	for i := range more {
		for c := range 3 {
			g := (coded(more[i][c]) - coded(less[i][c])) / (2 * h)
			sum += g * g
		}
	}
	return math.Sqrt((noise*noise + 1.0/12) / sum)
}

// The centre of a dot scatters by no more than 1.5 times what is possible at all.
func TestCentresNearTheBound(t *testing.T) {
	const (
		n    = 30
		most = 1.5
		// the root of the mean of 2n squares scatters by 1/sqrt(4n), 9 %: three times that
		chance = 3 * 0.09
	)
	for _, c := range []struct{ radius, noise, lens float64 }{{8, 2, 0.6}, {8, 5, 0.6}, {12, 4, 1}} {
		least := bound(paint{w: 66, h: 66, back: plain(0x23354d), lens: c.lens, grid: 8,
			dots: []dot{{x: 32.3, y: 32.6, a: c.radius, b: c.radius, colour: rgb(0xd01ef0)}}}, c.noise)
		rms, _, missed := errorOf(t, c.radius, 1, c.noise, c.lens, 0, n)
		t.Logf("radius %g, noise %g: %.4f px, bound %.4f, ratio %.2f", c.radius, c.noise, rms, least, rms/least)
		assert.Zero(t, missed)
		assert.Less(t, rms/least, most*(1+chance), "radius %g, noise %g", c.radius, c.noise)
		assert.Greater(t, rms/least, 1-chance, "better than is possible: the bound or the truth is wrong")
	}
}
