package figure

import (
	"fmt"
	"image"
	"math"
	"strings"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

const (
	// textShare is the smallest text over the width of a drawing: a little more than
	// 13 px at 400 px.
	textShare = 13.2 / 400

	// From this height over width on, a picture is narrow: the reading stands beside
	// it and not below.
	narrow = 1.05

	// besideShare is the share of the width left for the picture there.
	besideShare = 0.60

	// tallest bounds the picture's height, in widths of the page.
	tallest = 1.5
)

func textSize(width float64) float64 { return textShare * width }

// page is the frame's page laid out, in pixels.
type page struct {
	r   *reading.Reading
	opt Options
	l   *hand.Letters
	t   float64 // text size
	m   float64 // margin
	w   float64

	size image.Point // of the frame

	Height  float64
	Texts   []label
	Rules   []float64 // heights of the hairlines across
	Print   box       // the picture with its border
	Picture box
	Cut     image.Rectangle // the part of the frame that the picture shows
	Ruler   ruler
	RulerAt point

	beside   bool // the words stand beside the print
	cautious bool // the caution stands there too
}

// printEdge is the print's white border, in text sizes.
const printEdge = 0.2

// planPage lays the page out for a picture of the given size in pixels.
func planPage(size image.Point, r *reading.Reading, opt Options, l *hand.Letters) *page {
	w := float64(opt.Width)
	p := &page{r: r, opt: opt, l: l, w: w, t: textSize(w), size: size}
	p.m = 0.95 * p.t
	y := math.Round(p.header(p.m))

	edge := math.Round(printEdge * p.t)
	room := p.w - 2*p.m - 2*edge
	ratio := float64(size.Y) / float64(size.X)
	p.beside = ratio > narrow
	if p.beside {
		room = besideShare*p.w - 2*edge
	}
	pw := max(1, math.Round(min(room, tallest*p.w/ratio)))
	ph := max(1, math.Round(pw*ratio))
	p.Cut = image.Rectangle{Max: size}
	if !opt.Whole {
		p.Cut = cutOut(r, size, pw*DefaultWidth/w)
	}
	x := math.Round(p.m)
	p.Print = box{x, y, x + pw + 2*edge, y + ph + 2*edge}
	p.Picture = box{x + edge, y + edge, x + edge + pw, y + edge + ph}
	if p.beside {
		x := p.Print.X1 + 0.9*p.t
		y = p.column(x, y, p.w-p.m-x)
	} else {
		y = p.words(p.m, p.Print.Y1+0.7*p.t, p.w-2*p.m)
	}

	p.Ruler = layRuler(r, opt, p.w-2*p.m, p.t, l)
	p.RulerAt = point{p.m, p.rulerHead(y + 0.55*p.t)}
	p.Height = math.Ceil(p.foot(p.RulerAt.Y+p.Ruler.Height) + p.m)
	return p
}

func drawPage(img image.Image, r *reading.Reading, opt Options) (image.Image, error) {
	l, err := hand.NewLetters()
	if err != nil {
		return nil, err
	}
	p := planPage(img.Bounds().Size(), r, opt, l)
	s := newSheet(opt.Width, int(p.Height), hand.Paper, l)
	s.mount(p, drawPicture(img, p.Cut, r, int(p.Picture.width()), int(p.Picture.height()), p.t, l, opt))
	for _, y := range p.Rules {
		s.line(pen{colour: hand.Rule, width: 0.04 * p.t}, point{p.m, y}, point{p.w - p.m, y})
	}
	for _, x := range p.Texts {
		s.text(x, 0)
	}
	s.ruler(p.Ruler, p.RulerAt, p.t)
	return s.image(), nil
}

func (p *page) put(l label) { p.Texts = append(p.Texts, l) }

// para writes s in at most most lines and returns the base line of the last one;
// y is that of the first.
func (p *page) para(s string, f hand.Face, size, x, y, room float64, most int, l label) float64 {
	for i, line := range p.l.Wrap(f, size, s, room, most) {
		if i > 0 {
			y += 1.22 * size
		}
		l.Text, l.X, l.Y, l.Face, l.Size = line, x, y, f, size
		p.put(l)
	}
	return y
}

// header writes the measure, whose it is and which frame was read, and returns
// where the next part begins.
func (p *page) header(y float64) float64 {
	t, room := p.t, p.w-2*p.m
	base := y + 1.05*t
	title := p.l.Cut(hand.Italic, 1.45*t, hand.MeasureTitle(p.r.Measure), room)
	p.put(label{title, p.m, base, 0, 1.45 * t, hand.Italic, hand.Ink})
	x := p.m + p.l.Width(hand.Italic, 1.45*t, title) + 0.7*t
	if who := hand.Clean(p.opt.Who); who != "" && p.w-p.m-x > 2*t {
		who = p.l.Cut(hand.Sans, t, who, p.w-p.m-x)
		p.put(label{who, x, base, 0, t, hand.Sans, hand.Ink})
		x += p.l.Width(hand.Sans, t, who) + 0.7*t
	}
	take := moment(p.r.Take)
	if len(p.opt.Covers) > 0 {
		take = nameless(p.r.Take)
	}
	if p.l.Width(hand.Sans, t, take) > p.w-p.m-x {
		base += 1.3 * t
	}
	p.put(label{p.l.Cut(hand.Sans, t, take, room), p.w - p.m, base, 1, t, hand.Sans, hand.Faint})
	p.Rules = append(p.Rules, base+0.5*t)
	return base + 1.0*t
}

// words writes the reading and what it comes to, in a column of the given width,
// and returns where the next part begins.
func (p *page) words(x, y, room float64) float64 {
	t, n, d := p.t, write(p.r, p.opt), decide(p.r)
	big := p.l.Fit(hand.Serif, 3.5*t, t, n.Value, room)
	base := y + 0.80*big
	p.put(label{n.Value, x, base, 0, big, hand.Serif, hand.Ink})
	after := x + p.l.Width(hand.Serif, big, n.Value) + 0.45*t
	plus := 1.6 * t
	if after+p.l.Width(hand.Serif, plus, n.Plus) > x+room {
		base += 1.75 * t
		after = x
	}
	p.put(label{n.Plus, after, base, 0, plus, hand.Serif, hand.Faint})
	after += p.l.Width(hand.Serif, plus, n.Plus) + 1.3*t

	if side := x + room - after; side > 11*t && d.Head != "" {
		head := p.l.Fit(hand.Serif, 1.55*t, 1.3*t, d.Head, side)
		low := p.para(d.Head, hand.Serif, head, after, y+1.15*t, side, 3, label{Colour: hand.Ink})
		low = p.para(d.Tail, hand.Sans, t, after, low+1.32*t, side, 4, label{Colour: hand.Ink})
		base = max(base, low)
	} else if d.Head != "" {
		base = p.para(d.Head, hand.Serif, 1.45*t, x, base+2.0*t, room, 3, label{Colour: hand.Ink})
		base = p.para(d.Tail, hand.Sans, t, x, base+1.4*t, room, 6, label{Colour: hand.Ink})
	}
	base = p.para(n.Between, hand.Sans, t, x, base+1.65*t, room, 5, label{Colour: hand.Ink})
	if len(p.r.BentWords()) > 0 { // what it shows of the knees, where one is bent
		for _, s := range p.r.KneeWords() {
			base = p.para(hand.Minus(s), hand.Sans, t, x, base+1.3*t, room, 5, label{Colour: hand.Ink})
		}
	}
	for _, s := range []string{n.Picture, p.unseen(), p.part()} {
		if s != "" {
			base = p.para(s, hand.Sans, t, x, base+1.3*t, room, 3, label{Colour: hand.Faint})
		}
	}
	return base + 0.5*t
}

// column writes the words beside the print, and the caution at its foot if there
// is room, and returns where the next part begins.
func (p *page) column(x, y, room float64) float64 {
	low := p.words(x, y, room)
	if c := p.caution(); c != "" {
		lines := p.l.Wrap(hand.Sans, p.t, c, room, 12)
		if first := p.Print.Y1 - 0.3*p.t - float64(len(lines)-1)*1.22*p.t; first > low+1.5*p.t {
			p.para(c, hand.Sans, p.t, x, first, room, 12, label{Colour: hand.Faint})
			p.cautious = true
		}
	}
	return max(p.Print.Y1, low)
}

func (p *page) caution() string {
	var out []string
	for i, c := range p.r.ChiefCautions() {
		if i == 0 || c == reading.OverSplitCaution {
			out = append(out, hand.Clean(c))
		}
	}
	return strings.Join(out, "; ")
}

// unseen says what the peak of a clip does not include.
func (p *page) unseen() string {
	if p.r.Peak == nil || len(p.r.NotIncluded) == 0 {
		return ""
	}
	return hand.Clean("not included: " + strings.Join(p.r.NotIncluded, "; "))
}

// part says how much of the frame is shown where that is not all.
func (p *page) part() string {
	if p.Cut.Size() == p.size {
		return ""
	}
	return fmt.Sprintf("shown: %d × %d of %d × %d pixels", p.Cut.Dx(), p.Cut.Dy(), p.size.X, p.size.Y)
}

// rulerHead writes the heading over the ruler.
func (p *page) rulerHead(y float64) float64 {
	t := p.t
	head := "the angle, in degrees"
	if p.r.Skill != nil && p.r.Verdict != nil {
		head = "against what is asked"
	}
	p.Rules = append(p.Rules, y)
	p.put(label{head, p.m, y + 1.35*t, 0, 1.25 * t, hand.Italic, hand.Asked})
	if p.Ruler.Asked {
		// The word over the notch stands on the heading's line if it clears it.
		over := p.Ruler.Labels[0]
		if left := over.X - p.l.Width(over.Face, over.Size, over.Text)/2; left < p.l.Width(hand.Italic, 1.25*t, head)+0.8*t {
			return y + 1.9*t
		}
		return y + 0.75*t
	}
	return y + 1.75*t
}

// foot writes where the bands come from and the first caution.
func (p *page) foot(y float64) float64 {
	t, room := p.t, p.w-2*p.m
	y += 0.9 * t
	p.Rules = append(p.Rules, y-0.25*t)
	base := y - 0.25*t
	if p.r.Skill != nil && p.r.Verdict != nil {
		base = p.para(origin(p.r.Skill), hand.Sans, t, p.m, base+1.25*t, room, 4, label{Colour: hand.Faint})
	}
	if c := p.caution(); c != "" && !p.cautious {
		base = p.para(c, hand.Sans, t, p.m, base+1.35*t, room, 4, label{Colour: hand.Faint})
	}
	return base
}

// mount pastes the picture in: a print with a white border and a hairline.
func (s *sheet) mount(p *page, img image.Image) {
	b, t := p.Print, p.t
	s.rect(hand.Thin(hand.Ink, 0.07), box{b.X0 + 0.06*t, b.Y0 + 0.09*t, b.X1 + 0.06*t, b.Y1 + 0.09*t})
	s.rect(hand.White, b)
	s.outline(pen{colour: hand.Rule, width: 0.04 * t}, []point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}})
	s.dc.DrawImage(img, int(p.Picture.X0), int(p.Picture.Y0))
}
