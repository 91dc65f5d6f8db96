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

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

func newTestLetters(t testing.TB) *hand.Letters {
	t.Helper()
	l, err := hand.NewLetters()
	require.NoError(t, err)
	return l
}

// extent is the space that a label's ink takes: the box about its outlines.
func extent(l *hand.Letters, x label) box {
	b := &bounds{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	l.Trace(b, x.Face, x.Size, x.Text, x.X-x.Anchor*l.Width(x.Face, x.Size, x.Text), x.Y)
	return box(*b)
}

// bounds is a path of which only the box about its points is kept.
type bounds box

func (b *bounds) MoveTo(x, y float64) {
	*b = bounds{min(b.X0, x), min(b.Y0, y), max(b.X1, x), max(b.Y1, y)}
}
func (b *bounds) LineTo(x, y float64) { b.MoveTo(x, y) }
func (b *bounds) QuadraticTo(x1, y1, x2, y2 float64) {
	b.MoveTo(x1, y1)
	b.MoveTo(x2, y2)
}
func (b *bounds) CubicTo(x1, y1, x2, y2, x3, y3 float64) {
	b.QuadraticTo(x1, y1, x2, y2)
	b.MoveTo(x3, y3)
}
func (b *bounds) ClosePath() {}

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
	width := func(s string) float64 { return l.Width(hand.Sans, size, s) }
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
