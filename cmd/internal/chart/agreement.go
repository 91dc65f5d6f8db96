package chart

import (
	"fmt"
	"image/color"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/hand"
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
		return nil, hand.Problem("mark three frames or more twice", "there is no agreement to draw")
	}
	if len(a.Means) != len(a.Differences) || !hand.Angles(a.Means...) || !hand.Angles(a.Differences...) || !hand.Angles(a.MeanDeg) {
		return nil, hand.Problem(hand.ReadAgain, "the %d means and %d differences of the agreement are not all angles", len(a.Means), len(a.Differences))
	}
	title := first(hand.Clean(in.Title), "agreement")
	one, two := first(hand.Clean(in.First), "first"), first(hand.Clean(in.Second), "second")
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
	x, y hand.Scale
}

func (c *agreement) draw(top float64, one, two string) float64 {
	a := c.a
	unit := "difference in degrees: " + one + " minus " + two
	c.text(label{c.l.Cut(hand.Sans, text, unit, c.W-2*margin), margin, top + 0.8*text, 0, text, hand.Sans, hand.Faint})
	top += 1.7 * text
	c.plot = box{margin + 3.4*text, top, c.W - margin - remarkWidth*text, top + max(18*text, 0.36*c.W)}
	var ex, ey extent
	ex.hold(a.Means...)
	ey.hold(a.Differences...)
	ey.hold(0, a.MeanDeg, a.LimitsDeg[0], a.LimitsDeg[1])
	for _, iv := range [][2]float64{a.MeanInterval, a.LimitsEach[0], a.LimitsEach[1]} {
		ey.interval(iv)
	}
	c.x, c.y = hand.Scale{A: c.plot.X0, B: c.plot.X1}, hand.Scale{A: c.plot.Y1, B: c.plot.Y0}
	c.x.From, c.x.To = ex.closely(0.06)
	c.y.From, c.y.To = ey.closely(0.06)
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
		if !hand.Angles(l.at) {
			continue
		}
		if known(l.iv) {
			b := box{c.plot.X0, c.y.At(c.y.Keep(l.iv[1])), c.plot.X1, c.y.At(c.y.Keep(l.iv[0]))}
			c.rect(hand.Thin(hand.Measured, 0.13), b)
		}
		c.line(pen{colour: hand.Measured, width: l.wide}, point{c.plot.X0, c.y.At(l.at)}, point{c.plot.X1, c.y.At(l.at)})
		wanted, heights = append(wanted, c.y.At(l.at)), append(heights, 2.9*text)
	}
	c.line(pen{colour: hand.Asked, width: 0.07 * text, dash: dashed}, point{c.plot.X0, c.y.At(0)}, point{c.plot.X1, c.y.At(0)})
	c.line(pen{colour: hand.Ink, width: 0.05 * text}, point{c.plot.X0, c.plot.Y0}, point{c.plot.X0, c.plot.Y1}, point{c.plot.X1, c.plot.Y1})
	c.stand(c.y, c.plot.X0, 0)
	c.hang(c.x, c.plot.Y1)
	c.figures(c.x, c.plot.Y1+underTicks*text)
	r := 0.27 * text
	if len(a.Means) > 100 {
		r = 0.16 * text
	}
	for i := range a.Means {
		at := point{c.x.At(a.Means[i]), c.y.At(a.Differences[i])}
		c.ring(hand.White, 0, at, r)
		c.ring(hand.Ink, 0.07*text, at, r)
	}
	at := slots(wanted, heights, c.plot.Y0-0.6*text, c.plot.Y1+0.6*text)
	i := 0
	for _, l := range levels {
		if !hand.Angles(l.at) {
			continue
		}
		c.remark(l.name, l.at, l.iv, at[i])
		i++
	}
	c.text(label{"mean of the two, degrees", c.plot.X1, c.plot.Y1 + (underTicks+lineStep+0.1)*text, 1, text, hand.Sans, hand.Faint})
	return c.plot.Y1 + (underTicks+lineStep+0.4)*text
}

func (c *agreement) remark(name string, v float64, iv [2]float64, y float64) {
	x := c.plot.X1 + 0.8*text
	put := func(words string, f hand.Face, size, dy float64, colour color.NRGBA) float64 {
		return c.text(label{c.l.Cut(f, size, words, c.W-margin-x), x, y + dy, 0, size, f, colour})
	}
	w := put(name, hand.Italic, 1.15*text, -0.1*text, hand.Asked)
	x += w + 0.5*text
	put(c.opt.size(v, iv), hand.Serif, 1.2*text, -0.1*text, hand.Ink)
	x -= w + 0.5*text
	put("("+c.opt.between(iv)+")", hand.Sans, text, 1.05*text, hand.Faint)
}

// closely returns the ends with a part of room on either side, however little is
// shown.
func (e *extent) closely(part float64) (from, to float64) {
	from, to = e.from, e.to
	for _, iv := range e.loose {
		from, to = min(from, iv[0]), max(to, iv[1])
	}
	if mid := (from + to) / 2; to-from < 0.5 {
		from, to = mid-0.25, mid+0.25
	}
	return from - part*(to-from), to + part*(to-from)
}
