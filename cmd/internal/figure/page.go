package figure

import (
	"fmt"
	"image"
	"math"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"

	xdraw "golang.org/x/image/draw"
)

const (
	// textShare is the text size as a share of the drawing's width: 13.2 px at 400 px.
	textShare = 13.2 / 400

	// narrow is the ratio of height to width above which the reading is printed beside the
	// picture, not below it.
	narrow = 1.05

	// besideShare is the picture's share of the width if the reading is beside it.
	besideShare = 0.60

	// tallest is the largest height of the picture, in widths of the page.
	tallest = 1.5
)

func textSize(width float64) float64 { return textShare * width }

// page is the layout of a frame's page, in pixels.
type page struct {
	*sheet
	r   *reading.Reading
	opt Options
	m   float64 // margin

	size    image.Point // of the frame
	Print   box         // the picture with its border
	Picture box
	Cut     image.Rectangle // the part of the frame that the picture shows
	Ruler   draw.Ruler

	cautious bool // the caution is printed beside the picture
}

// printEdge is the width of the print's white border, in text sizes.
const printEdge = 0.2

// planPage computes the layout for a picture of the given size in pixels, and draws
// everything except the picture.
func planPage(size image.Point, r *reading.Reading, opt Options, l *draw.Letters) *page {
	t := textSize(float64(opt.Width))
	p := &page{sheet: newSheet(opt.Width, 0, t, l), r: r, opt: opt, m: 0.95 * t, size: size}
	y := math.Round(p.header(p.m))

	edge := math.Round(printEdge * t)
	room := p.W - 2*p.m - 2*edge
	ratio := float64(size.Y) / float64(size.X)
	beside := ratio > narrow
	if beside {
		room = besideShare*p.W - 2*edge
	}
	pw := max(1, math.Round(min(room, tallest*p.W/ratio)))
	ph := max(1, math.Round(pw*ratio))
	p.Cut = image.Rectangle{Max: size}
	if !opt.Whole {
		p.Cut = cutOut(r, size, pw*DefaultWidth/p.W)
	}
	x := math.Round(p.m)
	p.Print = box{x, y, x + pw + 2*edge, y + ph + 2*edge}
	p.Picture = box{x + edge, y + edge, x + edge + pw, y + edge + ph}
	p.mount()
	if beside {
		x := p.Print.X1 + 0.9*t
		y = p.column(x, y, p.W-p.m-x)
	} else {
		y = p.words(p.m, p.Print.Y1+0.7*t, p.W-2*p.m)
	}
	p.Ruler = draw.NewRuler(r, opt.RangeDeg, p.m, p.W-p.m)
	y = p.Sheet.Ruler(p.Ruler, p.rulerHead(y+0.55*t))
	p.H = math.Ceil(p.foot(p.Chances(p.Ruler, y)) + p.m)
	return p
}

func drawPage(img image.Image, r *reading.Reading, opt Options) (image.Image, error) {
	l := draw.NewLetters()
	p := planPage(img.Bounds().Size(), r, opt, l)
	picture := pictureSheet(img, p.Cut, r, int(draw.Wide(p.Picture)), int(draw.High(p.Picture)), p.T, l, opt).image()
	out := p.image()
	xdraw.Draw(out, picture.Rect.Add(image.Pt(int(p.Picture.X0), int(p.Picture.Y0))), picture, image.Point{}, xdraw.Src)
	return out, nil
}

// rule draws a hairline across the page.
func (p *page) rule(y float64) {
	p.Line(draw.Pen{Colour: draw.Rule, Width: 0.04 * p.T}, point{p.m, y}, point{p.W - p.m, y})
}

// para writes s in at most maxLines lines and returns the base line of the last one;
// y is the base line of the first.
func (p *page) para(s string, f draw.Face, size, x, y, room float64, maxLines int, l label) float64 {
	for i, line := range p.L.Wrap(f, size, s, room, maxLines) {
		if i > 0 {
			y += 1.22 * size
		}
		l.Text, l.X, l.Y, l.Face, l.Size = line, x, y, f, size
		p.Text(l)
	}
	return y
}

// header writes the measure, the athlete and the frame, and returns the y of the next part.
func (p *page) header(y float64) float64 {
	t, room := p.T, p.W-2*p.m
	base := y + 1.05*t
	title := p.L.Cut(draw.Italic, 1.45*t, draw.MeasureTitle(p.r.Measure), room)
	p.Text(label{title, p.m, base, 0, 1.45 * t, draw.Italic, draw.Ink})
	x := p.m + p.L.Width(draw.Italic, 1.45*t, title) + 0.7*t
	if who := draw.Clean(p.opt.Who); who != "" && p.W-p.m-x > 2*t {
		who = p.L.Cut(draw.Sans, t, who, p.W-p.m-x)
		p.Text(label{who, x, base, 0, t, draw.Sans, draw.Ink})
		x += p.L.Width(draw.Sans, t, who) + 0.7*t
	}
	take := moment(p.r.Take)
	if len(p.opt.Covers) > 0 {
		take = nameless(p.r.Take)
	}
	if p.L.Width(draw.Sans, t, take) > p.W-p.m-x {
		base += 1.3 * t
	}
	p.Text(label{p.L.Cut(draw.Sans, t, take, room), p.W - p.m, base, 1, t, draw.Sans, draw.Faint})
	p.rule(base + 0.5*t)
	return base + 1.0*t
}

// words writes the reading and its verdict in a column of the given width, and returns the
// y of the next part.
func (p *page) words(x, y, room float64) float64 {
	t, n, d := p.T, write(p.r, p.opt), decide(p.r)
	big := p.L.Fit(draw.Serif, 3.5*t, t, n.Value, room)
	base := y + 0.80*big
	p.Text(label{n.Value, x, base, 0, big, draw.Serif, draw.Ink})
	after := x + p.L.Width(draw.Serif, big, n.Value) + 0.45*t
	plus := 1.6 * t
	if after+p.L.Width(draw.Serif, plus, n.Plus) > x+room {
		base += 1.75 * t
		after = x
	}
	p.Text(label{n.Plus, after, base, 0, plus, draw.Serif, draw.Faint})
	after += p.L.Width(draw.Serif, plus, n.Plus) + 1.3*t

	if side := x + room - after; side > 11*t && d.Head != "" {
		head := p.L.Fit(draw.Serif, 1.55*t, 1.3*t, d.Head, side)
		low := p.para(d.Head, draw.Serif, head, after, y+1.15*t, side, 3, label{Colour: draw.Ink})
		low = p.para(d.Tail, draw.Sans, t, after, low+1.32*t, side, 4, label{Colour: draw.Ink})
		base = max(base, low)
	} else if d.Head != "" {
		base = p.para(d.Head, draw.Serif, 1.45*t, x, base+2.0*t, room, 3, label{Colour: draw.Ink})
		base = p.para(d.Tail, draw.Sans, t, x, base+1.4*t, room, 6, label{Colour: draw.Ink})
	}
	base = p.para(n.Between, draw.Sans, t, x, base+1.65*t, room, 5, label{Colour: draw.Ink})
	if len(p.r.BentWords()) > 0 { // a knee is bent
		for _, s := range p.r.KneeWords() {
			base = p.para(draw.Minus(s), draw.Sans, t, x, base+1.3*t, room, 5, label{Colour: draw.Ink})
		}
	}
	for _, s := range []string{n.Picture, p.unseen(), p.part()} {
		if s != "" {
			base = p.para(s, draw.Sans, t, x, base+1.3*t, room, 3, label{Colour: draw.Faint})
		}
	}
	return base + 0.5*t
}

// column writes the words beside the picture, and the caution at the bottom if there is
// room. It returns the y of the next part.
func (p *page) column(x, y, room float64) float64 {
	low := p.words(x, y, room)
	if c := p.caution(); c != "" {
		lines := p.L.Wrap(draw.Sans, p.T, c, room, 12)
		if first := p.Print.Y1 - 0.3*p.T - float64(len(lines)-1)*1.22*p.T; first > low+1.5*p.T {
			p.para(c, draw.Sans, p.T, x, first, room, 12, label{Colour: draw.Faint})
			p.cautious = true
		}
	}
	return max(p.Print.Y1, low)
}

func (p *page) caution() string {
	var out []string
	for i, c := range p.r.ChiefCautions() {
		if i == 0 || c == reading.OverSplitCaution {
			out = append(out, draw.Clean(c))
		}
	}
	return strings.Join(out, "; ")
}

// unseen states what the uncertainty of a clip's peak does not include.
func (p *page) unseen() string {
	if p.r.Peak == nil || len(p.r.NotIncluded) == 0 {
		return ""
	}
	return draw.Clean("not included: " + strings.Join(p.r.NotIncluded, "; "))
}

// part states the part of the frame that is shown, or "" if it is the whole frame.
func (p *page) part() string {
	if p.Cut.Size() == p.size {
		return ""
	}
	return fmt.Sprintf("shown: %d × %d of %d × %d pixels", p.Cut.Dx(), p.Cut.Dy(), p.size.X, p.size.Y)
}

// rulerHead writes the heading over the ruler and returns the y of the ruler.
func (p *page) rulerHead(y float64) float64 {
	t := p.T
	head := "the angle, in degrees"
	if p.r.Skill != nil && p.r.Verdict != nil {
		head = "against what is asked"
	}
	p.rule(y)
	p.Text(label{head, p.m, y + 1.35*t, 0, 1.25 * t, draw.Italic, draw.Asked})
	if over := p.AskedLabel(p.Ruler, y); over.Text != "" {
		// the label over the notch is on the heading's line if they do not overlap
		if p.LabelBox(over).X0 < p.m+p.L.Width(draw.Italic, 1.25*t, head)+0.8*t {
			return y + 1.9*t
		}
		return y + 0.75*t
	}
	return y + 1.75*t
}

// foot writes the source of the bands and the caution, and returns the last base line.
func (p *page) foot(y float64) float64 {
	t, room := p.T, p.W-2*p.m
	y += 0.9 * t
	p.rule(y - 0.25*t)
	base := y - 0.25*t
	if p.r.Skill != nil && p.r.Verdict != nil {
		base = p.para(origin(p.r.Skill), draw.Sans, t, p.m, base+1.25*t, room, 4, label{Colour: draw.Faint})
	} else if j := p.r.Judged(); j != nil {
		base = p.para(origin(j.Rule.Ref()), draw.Sans, t, p.m, base+1.25*t, room, 4, label{Colour: draw.Faint})
	}
	if c := p.caution(); c != "" && !p.cautious {
		base = p.para(c, draw.Sans, t, p.m, base+1.35*t, room, 4, label{Colour: draw.Faint})
	}
	return base
}

// mount draws the border of the print: white, with a hairline and a shadow.
func (p *page) mount() {
	b, t := p.Print, p.T
	p.Rect(draw.Thin(draw.Ink, 0.07), box{b.X0 + 0.06*t, b.Y0 + 0.09*t, b.X1 + 0.06*t, b.Y1 + 0.09*t})
	p.Rect(draw.White, b)
	p.Outline(draw.Pen{Colour: draw.Rule, Width: 0.04 * t}, draw.Corners(b))
}
