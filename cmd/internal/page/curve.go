package page

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// curve is the angle along a clip that was followed.
type curve struct {
	SVG  string   `json:"svg"`  // as wide as the strip
	Runs [][2]int `json:"runs"` // runs of frames with an angle: first and last
	Peak int      `json:"peak"` // the frame nearest to the peak, -1 for none
	Says string   `json:"says"`

	Landmarks []string `json:"landmarks"` // those that were followed
}

const (
	curveWide = 1000 // pixels, where the page does not say
	curveTall = 96   // pixels
	curveText = 13   // pixels
)

// curve sends the angle along the followed clip for the measure and setup of the
// work; 204 if nothing was followed.
func (s *Server) curve(w http.ResponseWriter, r *http.Request) {
	wide := curveWide
	var err error
	if r.URL.Query().Has("wide") {
		wide, err = number(r, "wide", 100, 10_000)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	asked, err := s.asked(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := asked.Request
	track, err := s.follows.track(q.Take.SHA256)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if track == nil {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	own := copied(track)
	samples, err := reading.Series(q, own)
	if err != nil {
		s.fail(w, r, onPage(err))
		return
	}
	t, done, err := s.pool.borrow(r.Context(), q.Take.SHA256)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	defer done()
	answer(w, http.StatusOK, curveOf(own, samples, q, t.Info().Frames, float64(wide)))
}

// copied returns a copy of t with frames of its own: Series writes angles into the track that it is given.
func copied(t *reading.Track) *reading.Track {
	out := *t
	out.Frames = append([]reading.TrackFrame(nil), t.Frames...)
	return &out
}

// smallest reports whether a smaller angle is better: the skill asks for at most so many degrees.
func smallest(q reading.Request) bool { return q.Skill != nil && q.Skill.AtMost }

func curveOf(t *reading.Track, samples []reading.Sample, q reading.Request, frames int, wide float64) curve {
	c := curve{Peak: -1, Runs: [][2]int{}, Landmarks: t.Landmarks}
	low, high := math.Inf(1), math.Inf(-1)
	var known [][]reading.TrackFrame // of each run
	for _, f := range t.Frames {
		if math.IsNaN(f.AngleDeg) {
			continue
		}
		u := 2 * f.SDDeg
		low, high = min(low, f.AngleDeg-u), max(high, f.AngleDeg+u)
		if n := len(c.Runs); n > 0 && c.Runs[n-1][1] == f.Frame-1 {
			c.Runs[n-1][1] = f.Frame
			known[n-1] = append(known[n-1], f)
		} else {
			c.Runs = append(c.Runs, [2]int{f.Frame, f.Frame})
			known = append(known, []reading.TrackFrame{f})
		}
	}
	if len(c.Runs) == 0 {
		return c
	}
	peak, err := t.Peak(samples, smallest(q))
	if err == nil {
		c.Peak = peak.Frame
		// The peak's angle is left to the reading, which allows for the whole camera; the curve is first order.
		c.Says = fmt.Sprintf("the peak is at %.3f s; frame %d is the nearest", peak.TimeS, peak.Frame)
	} else {
		c.Says = "no peak: " + err.Error()
	}
	for _, j := range peak.Jumps {
		c.Says += "; " + j.String()
	}
	for k, name := range t.Landmarks {
		if lost := t.Lost(k); len(lost) > 0 {
			c.Says += fmt.Sprintf("; the %s is lost in frames %s", strings.ReplaceAll(name, "-", " "), reading.Frames(lost))
		}
	}
	const near = 60 // degrees, beyond which what is asked would flatten the curve
	asked := q.Skill != nil && q.Skill.Ratio == "" && q.Skill.AskedDeg < high+near && q.Skill.AskedDeg > low-near
	if asked {
		low, high = min(low, q.Skill.AskedDeg), max(high, q.Skill.AskedDeg)
	}
	p := newCurvePlot(low, high, frames, wide)
	p.axis(q.Measure.Title, asked && p.lower(q.Skill.AskedDeg))
	for _, run := range known {
		p.run(run)
	}
	if asked {
		p.asked(q.Skill.AskedDeg, q.Skill.AtMost)
	}
	if c.Peak >= 0 {
		x := p.x(c.Peak)
		p.Line(draw.Pen{Colour: draw.Ink, Width: 1, Dash: []float64{1, 3}}, draw.Point{X: x}, draw.Point{X: x, Y: curveTall})
	}
	c.SVG = p.SVG("the angle along the clip", c.Says, 0)
	return c
}

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

// mostSteps is the number of steps whose figures have room.
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

// axis draws the lines of the axis with their figures, and its title: at the bottom, or at the
// top if lower: then other words are in the lower half.
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
