package figure

import (
	"image"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
)

func newTestLetters(t testing.TB) *letters {
	t.Helper()
	l, err := newLetters()
	require.NoError(t, err)
	return l
}

// extent is the space that a label's ink takes: the box about its outlines.
func extent(l *letters, x label) box {
	left := x.X - x.Anchor*l.width(x.Face, x.Size, x.Text)
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	l.run(x.Face, x.Text, func(g glyph, at float64) {
		for _, s := range g.segments {
			for _, p := range s.p[:map[byte]int{'m': 1, 'l': 1, 'q': 2, 'c': 3}[s.op]] {
				px, py := left+(at+p.X)*x.Size, x.Y+p.Y*x.Size
				b = box{min(b.X0, px), min(b.Y0, py), max(b.X1, px), max(b.Y1, py)}
			}
		}
	})
	return b
}

// layouts are pages of every kind.
func layouts() map[string]*sample {
	long := split(1920, 1080, 8, 9.6, 1.6).skill("a leap with a change of legs and a turn, first year squad", 180, false,
		[]float64{0, 5, 10, 15, 20}, "0.05", "0.05-0.10", "0.15-0.20", "0.25-0.30", "another element or no value, and a word with the judges")
	long.r.Take.Name = strings.Repeat("a-very-long-name-", 8) + ".mp4"
	long.r.Cautions = []string{strings.Repeat("Over-split work belongs with a qualified person. ", 9)}
	far := split(1920, 1080, 50, 45, 1).leap()
	wide := split(1080, 1920, 8, 9.6, 20).leap()
	wide.r.PictureAngleDeg, wide.r.AngleDeg = 162.4, 158
	return map[string]*sample{
		"short":     split(1920, 1080, 8, 9.6, 1.6).leap(),
		"undecided": split(1920, 1080, 1.6, 2, 2.6).leap(),
		"over":      split(1440, 1080, -4, -6, 0.03).leap(),
		"handstand": handstand(1080, 1920, 13, 1.5),
		"upright":   handstand(1080, 1920, 0.4, 1.5),
		"knee":      knee(1440, 1080, 24, 2.2),
		"shoulder":  shoulder(1080, 1440, 190, 3),
		"long":      long,
		"far":       far,
		"wide":      wide,
	}
}

func TestPagesAreLegible(t *testing.T) {
	l := newTestLetters(t)
	for name, s := range layouts() {
		for _, width := range []int{MinWidth, 480, DefaultWidth} {
			for _, who := range []string{"", "Wren", strings.Repeat("Siskin ", 20)} {
				opt, err := Options{Width: width, Who: who}.filled()
				require.NoError(t, err)
				p := planPage(image.Pt(s.r.Take.WidthPx, s.r.Take.HeightPx), s.r, opt, l)
				texts := append([]label(nil), p.Texts...)
				for _, x := range p.Ruler.Labels {
					x.X, x.Y = x.X+p.RulerAt.X, x.Y+p.RulerAt.Y
					texts = append(texts, x)
				}
				for i, x := range texts {
					assert.GreaterOrEqual(t, x.Size*400/float64(width), 13.0, "%s: %q is too small at 400 px", name, x.Text)
					b := extent(l, x)
					assert.True(t, b.X0 >= 0 && b.X1 <= float64(width) && b.Y0 >= 0 && b.Y1 <= p.Height,
						"%s at %d: %q leaves the page: %v", name, width, x.Text, b)
					assert.Zero(t, overlap(b, p.Print), "%s at %d: %q lies on the print", name, width, x.Text)
					for _, o := range texts[:i] {
						assert.Zero(t, overlap(b, extent(l, o)), "%s at %d: %q lies on %q", name, width, x.Text, o.Text)
					}
				}
			}
		}
	}
}

// No two names lie on one another, and none leaves the picture, wherever the marks
// of a body are that is not folded to a knot.
func TestNamesKeepClear(t *testing.T) {
	l := newTestLetters(t)
	const w, h, size = 1216.0, 684.0, 42.24
	width := func(s string) float64 { return l.width(sans, size, s) }
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"shoulder", "hip", "front ankle", "back ankle", "asked 180°", "left knee"}
		c := clutter{bounds: box{0, 0, w, h}}
		var tags []tag
		// Marks stand in cells of their own, 100 pixels wide, anywhere in the cell.
		cells := rapid.Permutation(seq(12*6)).Draw(t, "cells")
		for i, n := range names {
			at := point{
				100*float64(cells[i]%12) + rapid.Float64Range(0, 100).Draw(t, "x"),
				100*float64(cells[i]/12) + rapid.Float64Range(0, 100).Draw(t, "y"),
			}
			tags = append(tags, tag{Text: n, At: at, Keep: 15})
			c.spots = append(c.spots, box{at.X - 10, at.Y - 10, at.X + 10, at.Y + 10})
			if i > 0 {
				c.lines = append(c.lines, [2]point{tags[i-1].At, at})
			}
		}
		out := placeNames(tags, c, size, width)
		for i, p := range out {
			if p.Box.X0 < 0 || p.Box.Y0 < 0 || p.Box.X1 > w || p.Box.Y1 > h {
				t.Fatalf("%q leaves the picture: %v", p.Text, p.Box)
			}
			for _, q := range out[:i] {
				if overlap(p.Box, q.Box) > 0 {
					t.Fatalf("%q lies on %q", p.Text, q.Text)
				}
			}
		}
	})
}

func seq(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// Of draws from the mark's own normal distribution the ellipse holds 95 %.
func TestEllipseHolds95Percent(t *testing.T) {
	const n = 200_000
	const tol = 4 * 0.00049 // four standard deviations of a share: sqrt(0.95 * 0.05 / n)
	for _, cov := range [][2][2]float64{{{4, 0}, {0, 4}}, {{9, 2.5}, {2.5, 1}}, {{1, -1.8}, {-1.8, 16}}} {
		e, err := ellipseOf(reading.Mark{Covariance: cov})
		require.NoError(t, err)
		rnd := rand.New(rand.NewPCG(1, 2))
		// Cholesky factor of the covariance.
		a := math.Sqrt(cov[0][0])
		b := cov[0][1] / a
		c := math.Sqrt(cov[1][1] - b*b)
		in := 0
		sin, cos := math.Sincos(e.Tilt)
		for range n {
			u, v := rnd.NormFloat64(), rnd.NormFloat64()
			x, y := a*u, b*u+c*v
			p, q := (x*cos+y*sin)/e.Long, (y*cos-x*sin)/e.Short
			if p*p+q*q <= 1 {
				in++
			}
		}
		assert.InDelta(t, 0.95, float64(in)/n, tol, "covariance %v", cov)
	}
}

// A straight line is straight from wherever it is seen, the measured angle looks
// as the picture shows it, and a wider angle never looks narrower.
func TestSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-40, 230).Draw(t, "angle")
		off := rapid.Float64Range(-12, 12).Draw(t, "off")
		r := &reading.Reading{AngleDeg: angle}
		f := fan{Sweep: angle + off}
		if got := f.seen(r, angle); math.Abs(got-f.Sweep) > 1e-9 {
			t.Fatalf("the measured angle looks like %g, not %g", got, f.Sweep)
		}
		for _, straight := range []float64{-180, 0, 180, 360} {
			if math.Abs(angle-straight) < 3*math.Abs(off) {
				continue
			}
			if got := f.seen(r, straight); math.Abs(got-straight) > 1e-9 {
				t.Fatalf("%g looks like %g", straight, got)
			}
			if math.Abs(straight-angle) >= 180 {
				continue
			}
			half := (straight + angle) / 2
			if got := f.seen(r, half); math.Abs(got-half-off/2) > 1e-9 {
				t.Fatalf("halfway from %g to %g half of %g is left, and %g looks like %g", angle, straight, off, half, got)
			}
		}
		last := math.Inf(-1)
		for d := -90.0; d < 300; d += 0.5 {
			v := f.seen(r, d)
			if v < last {
				t.Fatalf("%g looks narrower than what is narrower", d)
			}
			last = v
		}
	})
}

func TestHatchLines(t *testing.T) {
	b := box{10, 20, 90, 45}
	lines := hatchLines(b, 4)
	require.NotEmpty(t, lines)
	for i, l := range lines {
		for _, p := range l {
			assert.True(t, p.X >= b.X0-1e-9 && p.X <= b.X1+1e-9 && p.Y >= b.Y0-1e-9 && p.Y <= b.Y1+1e-9, "%v leaves the box", p)
		}
		d := l[1].sub(l[0])
		assert.InDelta(t, d.X, -d.Y, 1e-9, "45 degrees, rising")
		if i > 0 {
			// x + y is the same all along a stroke; neighbours differ by spacing * sqrt 2.
			assert.InDelta(t, 4*math.Sqrt2, (l[0].X+l[0].Y)-(lines[i-1][0].X+lines[i-1][0].Y), 1e-9)
		}
	}
}

// Bands that fall on the ruler on both sides of nought are both hatched, and the
// ruler's density encloses the area it stands for.
func TestRulerOfAMagnitude(t *testing.T) {
	l := newTestLetters(t)
	opt, err := Options{RangeDeg: [2]float64{-60, 60}}.filled()
	require.NoError(t, err)
	k := layRuler(handstand(1080, 1920, 2, 4).r, opt, 1200, 40, l)
	// One plain zone from -10 to 10 and three bands on either side.
	require.Len(t, k.Zones, 7)
	assert.Equal(t, 0.0, k.Zones[0].Hatch)
	assert.InDelta(t, 1200*50/120.0, k.Zones[0].Box.X0, 1e-9)
	assert.InDelta(t, 1200*70/120.0, k.Zones[0].Box.X1, 1e-9)
	assert.Equal(t, k.Zones[1].Hatch, k.Zones[2].Hatch)
	assert.InDelta(t, 1200.0, k.Zones[1].Box.X1+k.Zones[2].Box.X0, 1e-9, "mirrored about nought")
	assert.InDelta(t, 1200*(62-1.96*4)/120, k.Bar.X0, 1e-6)
	assert.InDelta(t, 1200*(62+1.96*4)/120, k.Bar.X1, 1e-6)
}
