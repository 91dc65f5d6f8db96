package figure

import (
	"fmt"
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// Curve is an angle over time.
type Curve struct {
	Title string // the measure
	Who   string // the take
	Track *reading.Track
	Peak  *reading.Peak // nil: none was found
	Asked *reading.SkillRef
	Jumps []reading.Jump
	Why   string // the reason if there is no peak
}

// DrawCurve draws the angle over time with its 95 % band, the asked angle as a dashed
// line, the peak as a notch, and hatching where a sticker was not seen. Where a mark jumps
// the line is interrupted by a dashed stroke.
func DrawCurve(c Curve, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	k, err := layCurve(c)
	if err != nil {
		return nil, err
	}
	l := draw.NewLetters()
	w := float64(opt.Width)
	t := textSize(w)
	plot := box{3.4 * t, 4.2 * t, w - 1.2*t, 4.2*t + 0.42*w}
	s := newSheet(opt.Width, int(math.Ceil(plot.Y1+2.6*t)), t, l)
	s.Text(label{draw.Clean(c.Title), 1.2 * t, 1.9 * t, 0, 1.45 * t, draw.Italic, draw.Ink})
	s.Text(label{l.Cut(draw.Sans, t, draw.Clean(c.Who), 0.5*w), w - 1.2*t, 1.9 * t, 1, t, draw.Sans, draw.Faint})
	s.Line(draw.Pen{Colour: draw.Rule, Width: 0.04 * t}, point{1.2 * t, 2.5 * t}, point{w - 1.2*t, 2.5 * t})
	s.curve(k, c, plot, opt)
	return s.image(), nil
}

// curveLayout is a curve in seconds and degrees.
type curveLayout struct {
	from, to  float64 // seconds
	low, high float64 // degrees, whole tens
	runs      [][]reading.TrackFrame
	gaps      [][2]float64 // intervals without an angle, seconds
	jumps     []float64    // seconds
}

func layCurve(c Curve) (curveLayout, error) {
	k := curveLayout{low: math.Inf(1), high: math.Inf(-1)}
	if c.Track == nil || len(c.Track.Frames) < 2 {
		return k, draw.Problem("follow a clip first", "there is no curve of fewer than two frames")
	}
	frames := c.Track.Frames
	k.from, k.to = frames[0].TimeS, frames[len(frames)-1].TimeS
	if !(k.to > k.from) {
		return k, draw.Problem("follow the clip again", "the frames run from %g to %g s", k.from, k.to)
	}
	jumped := map[int]bool{} // frames before which a mark jumps
	for _, j := range c.Jumps {
		jumped[j.To] = true
	}
	last := -1 // frame of the last known angle
	for i, f := range frames {
		if !draw.Angles(f.AngleDeg, f.SDDeg) {
			continue
		}
		if jumped[f.Frame] && i > 0 {
			k.jumps = append(k.jumps, (frames[i-1].TimeS+f.TimeS)/2)
			if last == i-1 {
				k.runs = append(k.runs, nil)
			}
		}
		if last < 0 || i > last+1 {
			if start := max(last, 0); i > 0 {
				k.gaps = append(k.gaps, [2]float64{frames[start].TimeS, f.TimeS})
			}
			k.runs = append(k.runs, nil)
		}
		last = i
		k.runs[len(k.runs)-1] = append(k.runs[len(k.runs)-1], f)
		k.low, k.high = math.Min(k.low, f.AngleDeg-2*f.SDDeg), math.Max(k.high, f.AngleDeg+2*f.SDDeg)
	}
	if last < 0 {
		return k, draw.Problem("look at where its stickers were lost", "no frame of the track has an angle")
	}
	if last < len(frames)-1 {
		k.gaps = append(k.gaps, [2]float64{frames[last].TimeS, k.to})
	}
	if c.Asked != nil {
		k.low, k.high = math.Min(k.low, c.Asked.ThresholdDeg), math.Max(k.high, c.Asked.ThresholdDeg)
	}
	k.low, k.high = 10*math.Floor(k.low/10), 10*math.Ceil((k.high+2)/10)
	return k, nil
}

// curve draws the layout into the plot.
func (s *sheet) curve(k curveLayout, c Curve, b box, opt Options) {
	t := s.T
	at := func(sec, deg float64) point {
		return point{b.X0 + (sec-k.from)/(k.to-k.from)*draw.Wide(b), b.Y1 - (deg-k.low)/(k.high-k.low)*draw.High(b)}
	}
	for _, g := range k.gaps {
		s.Hatch(box{at(g[0], 0).X, b.Y0, at(g[1], 0).X, b.Y1}, 0.6*t)
	}
	step := 10.0
	for (k.high-k.low)/step > 8 {
		step *= 2
	}
	for d := math.Ceil(k.low/step)*step + 0; d <= k.high; d += step { // + 0 converts -0
		y := at(k.from, d).Y
		s.Line(draw.Pen{Colour: draw.Rule, Width: 0.03 * t}, point{b.X0, y}, point{b.X1, y})
		s.Text(label{draw.Minus(fmt.Sprintf("%g", d)) + "°", b.X0 - 0.4*t, y + 0.35*t, 1, t, draw.Sans, draw.Faint})
	}
	tick := math.Pow(10, math.Floor(math.Log10(k.to-k.from)))
	for (k.to-k.from)/tick < 4 {
		tick /= 2
	}
	s.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * t}, point{b.X0, b.Y1}, point{b.X1, b.Y1})
	for sec := math.Ceil(k.from/tick) * tick; sec <= k.to+1e-9; sec += tick {
		x := at(sec, 0).X
		s.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * t}, point{x, b.Y1}, point{x, b.Y1 + 0.3*t})
		s.Text(label{fmt.Sprintf("%.4g s", sec), x, b.Y1 + 1.5*t, 0.5, t, draw.Sans, draw.Ink})
	}
	for _, run := range k.runs {
		var line, band []point
		for _, f := range run {
			line = append(line, at(f.TimeS, f.AngleDeg))
			band = append(band, at(f.TimeS, f.AngleDeg+1.96*f.SDDeg))
		}
		for i := len(run) - 1; i >= 0; i-- {
			band = append(band, at(run[i].TimeS, run[i].AngleDeg-1.96*run[i].SDDeg))
		}
		s.Fill(draw.Thin(draw.Measured, 0.18), band)
		s.Line(draw.Pen{Colour: draw.Measured, Width: 0.09 * t}, line...)
	}
	for _, sec := range k.jumps {
		x := at(sec, 0).X
		s.Line(draw.Pen{Colour: draw.Asked, Width: 0.06 * t, Dash: []float64{0.12 * t, 0.2 * t}}, point{x, b.Y0}, point{x, b.Y1})
		s.HaloText(label{"jump", x + 0.25*t, b.Y1 - 0.4*t, 0, t, draw.Sans, draw.Asked}, 0.1*t)
	}
	if c.Peak == nil && c.Why != "" {
		s.HaloText(label{s.L.Cut(draw.Sans, t, "no peak: "+draw.Clean(c.Why), draw.Wide(b)), b.X0, b.Y0 - 0.6*t, 0, t, draw.Sans, draw.Ink}, 0.1*t)
	}
	if c.Asked != nil {
		y := at(0, c.Asked.ThresholdDeg).Y
		s.Line(draw.Pen{Colour: draw.Asked, Width: 0.075 * t, Dash: draw.Dashed(t)}, point{b.X0, y}, point{b.X1, y})
		s.HaloText(label{fmt.Sprintf("asked %g°", c.Asked.ThresholdDeg), b.X1, y - 0.4*t, 1, t, draw.Sans, draw.Asked}, 0.1*t)
	}
	if p := c.Peak; p != nil {
		top := at(p.TimeS, p.AngleDeg)
		s.Line(draw.Pen{Colour: draw.Ink, Width: 0.06 * t}, top, point{top.X, b.Y1})
		s.Disc(draw.Ink, top, 0.22*t)
		s.Disc(draw.White, top, 0.12*t)
		v, _ := opt.Format(p.AngleDeg, 1)
		words := fmt.Sprintf("%s° at %.3f s; within %g° for %.2f s", draw.Minus(v), p.TimeS, p.HeldDeg, p.HeldS)
		align := 0.5
		if top.X < b.X0+10*t {
			align = 0
		} else if top.X > b.X1-10*t {
			align = 1
		}
		s.HaloText(label{words, top.X, b.Y0 - 0.6*t, align, t, draw.Sans, draw.Ink}, 0.1*t)
	}
}
