package page

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/draw"
)

// The axis of the curve has round figures, a few, about what is drawn; 180 is among them where
// it is in view. No word lies on another or leaves the drawing.
func TestTheCurvesAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-60, 250).Draw(t, "low")
		high := low + rapid.Float64Range(0.5, 200).Draw(t, "range")
		p := newCurvePlot(low, high, 90, rapid.Float64Range(300, 2000).Draw(t, "wide"))
		require.InDelta(t, low, p.low, 5)
		require.InDelta(t, high, p.high, 5+5)
		require.LessOrEqual(t, p.low, low)
		require.GreaterOrEqual(t, p.high, high)
		asked := rapid.Float64Range(low, high).Draw(t, "asked")
		has := rapid.Bool().Draw(t, "has asked")
		p.axis("hip split", has && p.lower(asked))
		if has {
			p.asked(asked, false)
		}
		var figures []float64
		var boxes []draw.Box
		for _, g := range p.Texts {
			b := p.LabelBox(g.Label)
			assert.True(t, b.X0 >= 0 && b.X1 <= p.W && b.Y0 >= -0.5 && b.Y1 <= p.H+0.5, "%q leaves the drawing: %v", g.Text, b)
			boxes = append(boxes, b)
			if v, err := strconv.ParseFloat(strings.Replace(strings.TrimSuffix(g.Text, "°"), "−", "-", 1), 64); err == nil {
				figures = append(figures, v)
				assert.Zero(t, int(v)%5, "%g", v)
			}
		}
		assert.GreaterOrEqual(t, len(figures), 2)
		assert.LessOrEqual(t, len(figures), mostSteps+1)
		if p.low <= 180 && 180 <= p.high {
			assert.Contains(t, figures, 180.0)
		}
		for i, a := range boxes {
			for _, b := range boxes[:i] {
				apart := a.X1 <= b.X0 || b.X1 <= a.X0 || a.Y1 <= b.Y0 || b.Y1 <= a.Y0
				assert.True(t, apart, "words lie on each other: %v %v in %v", a, b, p.Texts)
			}
		}
	})
}
