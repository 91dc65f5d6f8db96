package figure

import (
	"image"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/draw"
)

func newTestLetters(t testing.TB) *draw.Letters {
	t.Helper()
	l := draw.NewLetters()
	return l
}

// extent returns the bounding box of a label's outlines.
func extent(l *draw.Letters, x label) box {
	b := &bounds{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	l.Trace(b, x.Face, x.Size, x.Text, x.X-x.Align*l.Width(x.Face, x.Size, x.Text), x.Y)
	return box(*b)
}

// bounds is a path that records only the bounding box of its points.
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

// layouts returns pages of every kind.
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
				for i, x := range p.Texts {
					assert.GreaterOrEqual(t, x.Size*400/float64(width), 13.0, "%s: %q is too small at 400 px", name, x.Text)
					b := extent(l, x.Label)
					assert.True(t, b.X0 >= 0 && b.X1 <= float64(width) && b.Y0 >= 0 && b.Y1 <= p.H,
						"%s at %d: %q leaves the page: %v", name, width, x.Text, b)
					assert.Zero(t, overlap(b, p.Print), "%s at %d: %q lies on the print", name, width, x.Text)
					for _, o := range p.Texts[:i] {
						assert.Zero(t, overlap(b, extent(l, o.Label)), "%s at %d: %q lies on %q", name, width, x.Text, o.Text)
					}
				}
			}
		}
	}
}

// Names do not overlap and stay in the picture, for marks that are not crowded.
func TestNamesKeepClear(t *testing.T) {
	l := newTestLetters(t)
	const w, h, size = 1216.0, 684.0, 42.24
	width := func(s string) float64 { return l.Width(draw.Sans, size, s) }
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"shoulder", "hip", "front ankle", "back ankle", "asked 180°", "left knee"}
		c := clutter{bounds: box{0, 0, w, h}}
		var tags []tag
		// each mark is at a random position in its own cell of 100 pixels
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
					t.Fatalf("%q overlaps %q", p.Text, q.Text)
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
