package page

import (
	"fmt"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// curvePlot draws the angle along a clip: frames from edge to edge, as on the strip below it,
// degrees upwards. Lengths are pixels.
type curvePlot struct {
	*draw.Sheet
	last      int     // frame
	low, high float64 // degrees, multiples of the first of curveSteps
	step      float64 // degrees between two lines of the axis
}

// curveSteps are the degrees between two lines of the axis. They divide 180, which is what most
// skills ask, so that it is always labelled where it is in view.
var curveSteps = []float64{5, 10, 20, 30, 60, 90, 180}

// mostSteps is how many steps have room for their figures.
const mostSteps = 4

func newCurvePlot(low, high float64, frames int, wide float64) *curvePlot {
	p := &curvePlot{Sheet: &draw.Sheet{W: wide, H: curveTall, T: curveText, L: draw.NewLetters()}, last: max(1, frames-1)}
	least := curveSteps[0]
	p.low, p.high = least*math.Floor(low/least), least*math.Ceil(high/least)
	if p.high == p.low {
		p.high += least
	}
	for _, p.step = range curveSteps {
		if p.high-p.low <= mostSteps*p.step {
			break
		}
	}
	return p
}

func (p *curvePlot) x(frame int) float64 { return p.W * float64(frame) / float64(p.last) }

// y leaves half a line of text above and below for the figures.
func (p *curvePlot) y(deg float64) float64 {
	const edge = 0.6 * curveText
	return edge + (curveTall-2*edge)*(p.high-deg)/(p.high-p.low)
}

// lower reports whether an angle is in the lower half.
func (p *curvePlot) lower(deg float64) bool { return p.y(deg) > curveTall/2 }

// axis draws the lines of the axis with their figures, and what is drawn in words: at the
// bottom, or at the top where the lower half has other words.
func (p *curvePlot) axis(title string, lower bool) {
	for deg := p.step * math.Ceil(p.low/p.step); deg <= p.high; deg += p.step {
		y := p.y(deg)
		p.Line(draw.Pen{Colour: draw.Rule, Width: 1}, draw.Point{Y: y}, draw.Point{X: p.W, Y: y})
		p.HaloText(draw.Label{Text: minus(fmt.Sprintf("%.0f°", deg+0)), X: p.W - 3, Y: y + 0.35*curveText, Align: 1, Size: curveText, Face: draw.Sans, Colour: draw.Faint}, 2)
	}
	y := curveTall - 0.25*curveText
	if lower {
		y = 0.9 * curveText
	}
	words := p.L.Cut(draw.Sans, curveText, title+", degrees", p.W/2)
	p.HaloText(draw.Label{Text: words, X: 3, Y: y, Size: curveText, Face: draw.Sans, Colour: draw.Faint}, 2)
}

// run draws the angle in successive frames with two standard uncertainties either way.
func (p *curvePlot) run(frames []reading.TrackFrame) {
	var line, band []draw.Point
	for _, f := range frames {
		line = append(line, draw.Point{X: p.x(f.Frame), Y: p.y(f.AngleDeg)})
		band = append(band, draw.Point{X: p.x(f.Frame), Y: p.y(f.AngleDeg + 2*f.SDDeg)})
	}
	for i := len(frames) - 1; i >= 0; i-- {
		f := frames[i]
		band = append(band, draw.Point{X: p.x(f.Frame), Y: p.y(f.AngleDeg - 2*f.SDDeg)})
	}
	p.Fill(draw.Thin(draw.Measured, 0.2), band)
	p.Line(draw.Pen{Colour: draw.Measured, Width: 2}, line...)
}

// asked draws what the skill asks.
func (p *curvePlot) asked(deg float64, atMost bool) {
	y := p.y(deg)
	p.Line(draw.Pen{Colour: draw.Asked, Width: 1.6, Dash: []float64{8, 6}}, draw.Point{Y: y}, draw.Point{X: p.W, Y: y})
	below := y + 0.95*curveText
	if p.lower(deg) {
		below = y - 0.3*curveText
	}
	p.HaloText(draw.Label{Text: draw.AskedWords(deg, atMost), X: 3, Y: below, Size: curveText, Face: draw.Sans, Colour: draw.Asked}, 2)
}
