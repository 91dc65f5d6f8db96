package chart

import (
	"fmt"
	"image/color"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// Agreement draws differences against means with the bias and the limits of
// agreement, each with its interval (Bland and Altman 1986, Lancet 1:307).
func Agreement(in AgreementData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	a := in.Agreement
	if a == nil || len(a.Means) == 0 {
		return nil, draw.Problem("mark three frames or more twice", "there is no agreement to draw")
	}
	if len(a.Means) != len(a.Differences) || !draw.Angles(a.Means...) || !draw.Angles(a.Differences...) || !draw.Angles(a.MeanDeg) {
		return nil, draw.Problem(draw.ReadAgain, "the %d means and %d differences of the agreement are not all angles", len(a.Means), len(a.Differences))
	}
	title := first(draw.Clean(in.Title), "agreement")
	one, two := first(draw.Clean(in.First), "first"), first(draw.Clean(in.Second), "second")
	y := margin + 0.2*text
	if !opt.Bare {
		y = s.head(title, joined(one+" and "+two, fmt.Sprintf("%d frames", len(a.Means))), "", "") + 0.2*text
	}
	c := agreement{sheet: s, opt: opt, a: a}
	y = c.draw(y, one, two)
	s.end(y)
	d := &Drawing{Title: titled(title, one+" and "+two), sheet: s}
	d.Alt = fmt.Sprintf("difference %s on average (%s); 95 of 100 differences between %s and %s",
		opt.size(a.MeanDeg, a.MeanInterval), opt.between(a.MeanInterval),
		opt.size(a.LimitsDeg[0], a.LimitsEach[0]), opt.size(a.LimitsDeg[1], a.LimitsEach[1]))
	return d, nil
}

type agreement struct {
	*sheet
	opt  Options
	a    *change.Agreement
	plot box
	x, y draw.Scale
}

func (c *agreement) draw(top float64, one, two string) float64 {
	a := c.a
	unit := "difference in degrees: " + one + " minus " + two
	c.Text(label{c.L.Cut(draw.Sans, text, unit, c.W-2*margin), margin, top + 0.8*text, 0, text, draw.Sans, draw.Faint})
	top += 1.7 * text
	c.plot = box{margin + 3.4*text, top, c.W - margin - remarkWidth*text, top + max(18*text, 0.36*c.W)}
	var ex, ey draw.Extent
	ex.Hold(a.Means...)
	ey.Hold(a.Differences...)
	ey.Hold(0, a.MeanDeg, a.LimitsDeg[0], a.LimitsDeg[1])
	for _, iv := range [][2]float64{a.MeanInterval, a.LimitsEach[0], a.LimitsEach[1]} {
		ey.Interval(iv)
	}
	c.x, c.y = draw.Scale{A: c.plot.X0, B: c.plot.X1}, draw.Scale{A: c.plot.Y1, B: c.plot.Y0}
	c.x.From, c.x.To = ex.Closely(0.06)
	c.y.From, c.y.To = ey.Closely(0.06)
	type level struct {
		name string
		at   float64
		iv   [2]float64
		wide float64
	}
	levels := []level{
		{"upper limit", a.LimitsDeg[1], a.LimitsEach[1], 0.06 * text},
		{"bias", a.MeanDeg, a.MeanInterval, 0.11 * text},
		{"lower limit", a.LimitsDeg[0], a.LimitsEach[0], 0.06 * text},
	}
	var wanted, heights []float64
	for _, l := range levels {
		if !draw.Angles(l.at) {
			continue
		}
		if draw.Known(l.iv) {
			b := box{c.plot.X0, c.y.At(c.y.Keep(l.iv[1])), c.plot.X1, c.y.At(c.y.Keep(l.iv[0]))}
			c.Rect(draw.Thin(draw.Measured, 0.13), b)
		}
		c.Line(draw.Pen{Colour: draw.Measured, Width: l.wide}, point{c.plot.X0, c.y.At(l.at)}, point{c.plot.X1, c.y.At(l.at)})
		wanted, heights = append(wanted, c.y.At(l.at)), append(heights, 2.9*text)
	}
	c.Line(draw.Pen{Colour: draw.Asked, Width: 0.07 * text, Dash: dashed}, point{c.plot.X0, c.y.At(0)}, point{c.plot.X1, c.y.At(0)})
	c.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{c.plot.X0, c.plot.Y0}, point{c.plot.X0, c.plot.Y1}, point{c.plot.X1, c.plot.Y1})
	c.stand(c.y, c.plot.X0, 0)
	c.Hang(c.x, c.plot.Y1)
	c.Figures(c.x, c.plot.Y1+underTicks*text)
	r := 0.27 * text
	if len(a.Means) > 100 {
		r = 0.16 * text
	}
	for i := range a.Means {
		at := point{c.x.At(a.Means[i]), c.y.At(a.Differences[i])}
		c.Ring(draw.White, 0, at, r)
		c.Ring(draw.Ink, 0.07*text, at, r)
	}
	at := slots(wanted, heights, c.plot.Y0-0.6*text, c.plot.Y1+0.6*text)
	i := 0
	for _, l := range levels {
		if !draw.Angles(l.at) {
			continue
		}
		c.remark(l.name, l.at, l.iv, at[i])
		i++
	}
	c.Text(label{"mean of the two, degrees", c.plot.X1, c.plot.Y1 + (underTicks+lineStep+0.1)*text, 1, text, draw.Sans, draw.Faint})
	return c.plot.Y1 + (underTicks+lineStep+0.4)*text
}

func (c *agreement) remark(name string, v float64, iv [2]float64, y float64) {
	x := c.plot.X1 + 0.8*text
	put := func(words string, f draw.Face, size, dy float64, colour color.NRGBA) float64 {
		return c.Text(label{c.L.Cut(f, size, words, c.W-margin-x), x, y + dy, 0, size, f, colour})
	}
	w := put(name, draw.Italic, 1.15*text, -0.1*text, draw.Asked)
	x += w + 0.5*text
	put(c.opt.size(v, iv), draw.Serif, 1.2*text, -0.1*text, draw.Ink)
	x -= w + 0.5*text
	put("("+c.opt.between(iv)+")", draw.Sans, text, 1.05*text, draw.Faint)
}
