package sticker

import (
	"image"
	"math"

	"ecart/geometry"
)

// The parameters of a fit: the shape's, then the sticker's light and that around it, each as a
// plane over the picture, so that shading does not pull the centre.
const (
	inside0  = shapeCount
	around0  = inside0 + 3
	allCount = around0 + 3
)

// belief is what is known of a sticker before a picture is looked at.
type belief struct {
	outline           // the likely one
	shape     float64 // standard deviation of each entry of B, as a part of 1/radius
	blurRange float64 // standard deviation of the logarithm of the blur
	longRange float64 // px

	light  [3]float64 // of the sticker
	known  bool       // whether light is
	shade  shading    // of the sticker
	alike  *target    // colours that the sticker may have; nil where they are not known
	others []disc     // what may stand before it: not looked at
}

// disc is a round part of the picture.
type disc struct{ x, y, r float64 }

func (b *belief) covered(x, y float64) bool {
	for _, d := range b.others {
		if dx, dy := x-d.x, y-d.y; dx*dx+dy*dy < d.r*d.r {
			return true
		}
	}
	return false
}

// result is a fitted outline.
type result struct {
	outline
	cov          [2][2]float64 // of the centre, px^2
	formVariance [3]float64    // of outline.form, counted in its radius
	inside       [3]float64    // light
	around       [3]float64
	core         bool       // whether inside was seen, and not known before
	share        float64    // of the rim that agrees with the outline, 0 to 1
	blind        float64    // of the way round, where what lies outside has the sticker's own colour
	shade        [2]float64 // how much light grows over a radius, to the right and down, as a part of it
	shaded       bool       // whether that is told
	contrast     float64    // of the sticker to what is around, where what was known before is 1
	misfit       float64    // root mean square of what is left over on the rim, where the sticker is 1
	noise        noise
}

// fitter fits outlines. It keeps its memory from one fit to the next.
type fitter struct {
	shaper
	ax     axis
	pixels pixels
	round  round
	box    image.Rectangle
	noise  noise
	near   geometry.Point // a whole pixel, from which places of pixels are counted
	origin geometry.Point // of the planes of light, which are counted in scale
	light  [6]float64     // inside and around, as planes
	hidden float64        // the rim that cannot be seen, as its pull on the centre
	core   bool           // whether some pixels show the sticker alone

	h      [allCount][allCount]float64 // normal equations, upper triangle
	g      [allCount]float64
	keep   []bool
	alike  []float32 // of the box
	sorted []float32
}

const (
	maxSteps  = 9
	smallStep = 0.01 // px, under which a further step is below the noise
	rimPart   = 0.2  // of a step of the rim: it is told less well than the centre
	farStep   = 0.5  // px, over which another part of the picture is to be looked at
	firstRim  = 0.2  // scatter on the rim, before anything is known of it
)

// fit finds the outline near start that explains the window best, by Gauss and Newton's steps.
func (t *fitter) fit(w *window, start outline, b *belief) (result, bool) {
	t.set(start)
	t.noise.rim = firstRim
	if !t.gather(w, b) {
		return result{}, false
	}
	way := 0.0
	for step := range maxSteps {
		t.sum(b)
		if step == 1 || step == 3 {
			t.rimNoise()
		}
		d, ok := solve(t.h, &t.g)
		if !ok {
			return result{}, false
		}
		moved := t.apply(&d)
		if !t.sound() || t.radius() < leastRadius {
			return result{}, false
		}
		if way += moved; step == 1 && way > farStep { // the two sides are known better now
			if !t.gather(w, b) {
				return result{}, false
			}
			continue
		}
		t.shares()
		if step > 2 && moved < smallStep {
			break
		}
	}
	t.sum(b)
	return t.finish(b)
}

// leastRadius is the radius under which a sticker has no form: two pixels across.
const leastRadius = 1.2

// gather reads the pixels on and about the outline, and puts them on the axis of colours that
// tells its two sides apart.
func (t *fitter) gather(w *window, b *belief) bool {
	r := t.radius()
	t.scale, t.origin = r, t.at
	long, _ := t.axes()
	band := t.band()
	pad := math.Min(math.Max(0.35*r, 2.5), 7) + 2*t.wide
	hx, hy := long+pad+math.Abs(t.way.X)*t.long/2, long+pad+math.Abs(t.way.Y)*t.long/2
	t.box = image.Rect(int(math.Floor(t.at.X-hx)), int(math.Floor(t.at.Y-hy)), int(math.Ceil(t.at.X+hx))+1, int(math.Ceil(t.at.Y+hy))+1)
	if t.box.Intersect(w.Rectangle).Empty() {
		return false
	}
	t.near = geometry.Point{X: math.Round(t.at.X), Y: math.Round(t.at.Y)}
	t.take(pad, band+1.5) // a little wider than now: the outline will move
	t.shares()
	t.see(w, b)
	return t.project(w, b)
}

// take takes the pixels of the box within pad of the outline, those within band of its rim first.
func (t *fitter) take(pad, band float64) {
	p := &t.pixels
	w, h := t.box.Dx(), t.box.Dy()
	x0, y0 := t.box.Min.X-int(t.near.X), t.box.Min.Y-int(t.near.Y)
	o := t.shaped(t.near)
	p.sort(&o, t.scale, pad, band, x0, y0, w, h)
	p.room(w * h)
	x, y, m := p.columns[columnX*p.stride:], p.columns[columnY*p.stride:], p.columns[columnShare*p.stride:]
	add := func(col, row int, share float32) {
		x[p.n], y[p.n], m[p.n] = float32(x0+col), float32(y0+row), share
		p.col[p.n], p.row[p.n] = int32(col), int32(row)
		p.n++
	}
	for row := range h {
		for col, kind := range p.kinds[row*w : row*w+w] {
			if kind == onRim {
				add(col, row, 0)
			}
		}
	}
	p.rim = p.n
	for row := range h {
		for col, kind := range p.kinds[row*w : row*w+w] {
			switch kind {
			case wholly:
				add(col, row, 1)
			case outside:
				add(col, row, 0)
			}
		}
	}
}

// see leaves out the pixels that cannot be seen, and where the sticker's own colour lies around it
// those that tell nothing.
func (t *fitter) see(w *window, b *belief) {
	p := &t.pixels
	t.hidden = 0
	t.round.clear()
	t.keep = resize(t.keep, p.n)
	all := true
	m, byX, byY := p.column(columnShare), p.column(columnSlope+byX), p.column(columnSlope+byY)
	x, y := p.column(columnX), p.column(columnY)
	off := geometry.Point{X: t.at.X - t.near.X, Y: t.at.Y - t.near.Y}
	inside := t.box.In(w.Rectangle)
	t.liken(w, b)
	for i := range m {
		at := t.box.Min.Add(image.Point{X: int(p.col[i]), Y: int(p.row[i])})
		if !inside && !at.In(w.Rectangle) || len(b.others) > 0 && b.covered(float64(at.X), float64(at.Y)) {
			if i < p.rim {
				t.hidden += float64(byX[i]*byX[i] + byY[i]*byY[i])
			}
			all = false
			continue
		}
		t.keep[i] = true
		if b.alike != nil && m[i] < flatOut {
			t.round.see(float64(x[i])-off.X, float64(y[i])-off.Y, t.alike[int(p.row[i])*t.box.Dx()+int(p.col[i])] > 0)
		}
	}
	if t.round.judge() {
		for i := range m {
			if (i < p.rim || m[i] < flatOut) && t.round.isBlind(direction(float64(x[i])-off.X, float64(y[i])-off.Y)) {
				t.keep[i], all = false, false
			}
		}
	}
	if !all {
		p.only(t.keep)
	}
}

// Shares that count as the sticker alone, and as none of it.
const flatIn, flatOut = 0.97, 0.03

// liken fills how well the box fits the sticker's colour, as far as it lies in the window.
func (t *fitter) liken(w *window, b *belief) {
	if b.alike == nil {
		return
	}
	width := t.box.Dx()
	t.alike = fit(t.alike, width*t.box.Dy())
	part := t.box.Intersect(w.Rectangle)
	for y := part.Min.Y; y < part.Max.Y; y++ {
		first := (y-w.Min.Y)*w.Dx() + part.Min.X - w.Min.X
		b.alike.scores(w.light[first:first+part.Dx()], t.alike[(y-t.box.Min.Y)*width+part.Min.X-t.box.Min.X:])
	}
}

// project finds the axis of colours, and the pixels' places on it.
func (t *fitter) project(w *window, b *belief) bool {
	p := &t.pixels
	var in, out moments
	m, f := p.column(columnShare), p.column(columnPlace)
	for i, m := range m {
		if m > flatIn {
			in.add(t.seen(w, i))
		} else if m < flatOut {
			out.add(t.seen(w, i))
		}
	}
	if out.n < 12 || t.round.blind() > mostBlind {
		return false
	}
	inside, spread := b.light, [6]float64{}
	t.core = in.n >= 4
	if t.core {
		inside, spread = in.mean(), in.covariance()
	} else if !b.known {
		return false
	}
	var ok bool
	if t.ax, ok = makeAxis(inside, out.mean(), spread, out.covariance()); !ok {
		return false
	}
	var sq, n [2]float64
	for i, m := range m {
		place := t.ax.of(t.seen(w, i))
		f[i] = float32(place)
		if m > flatIn {
			sq[0] += (place - 1) * (place - 1)
			n[0]++
		} else if m < flatOut {
			sq[1] += place * place
			n[1]++
		}
	}
	t.noise.around = math.Sqrt(sq[1]/n[1]) + leastScatter
	t.noise.inside = t.noise.around
	if t.core {
		t.noise.inside = math.Sqrt(sq[0]/n[0]) + leastScatter
	}
	t.light = [6]float64{1, 0, 0, 0, 0, 0}
	return true
}

// seen is the light of pixel i.
func (t *fitter) seen(w *window, i int) *[3]float32 {
	return w.at(t.box.Min.X+int(t.pixels.col[i]), t.box.Min.Y+int(t.pixels.row[i]))
}

// shares evaluates the outline on its rim.
func (t *fitter) shares() {
	o := t.shaped(t.near)
	t.pixels.share(&o)
}

// lit is the light of both sides, and what a pixel scatters by, as the loops over the pixels take
// them.
func (t *fitter) lit() rimLight {
	return lit(&t.light, &t.noise, geometry.Point{X: t.origin.X - t.near.X, Y: t.origin.Y - t.near.Y}, 1/t.scale)
}

// sum builds the normal equations at the present outline.
func (t *fitter) sum(b *belief) {
	l := t.lit()
	t.pixels.sum(&l, &t.h, &t.g)
	t.believe(b)
}

// steep is how much light may change over a radius around a sticker, where there are limbs, round and
// shaded: the standard deviation of its slope, where the sticker is 1.
const steep = 0.2

// believe adds what was known before.
func (t *fitter) believe(b *belief) {
	tie := func(i int, off, sd float64) {
		t.h[i][i] += 1 / (sd * sd)
		t.g[i] += off / (sd * sd)
	}
	sd := b.shape * t.scale / b.radius()
	for k := range 3 {
		tie(byB11+k, (b.b[k]-t.b[k])*t.scale, sd)
	}
	tie(byBlur, math.Log(b.blur/t.blur), b.blurRange)
	tie(byLong, b.long-t.long, b.longRange)
	grows, far, slope := t.ax.grows(), t.shadeSD(), b.shade.usual()
	for k := range 2 {
		tie(inside0+1+k, slope[k]*grows-t.light[1+k], far)
		tie(around0+1+k, -t.light[4+k], steep)
	}
	tie(inside0, 1-t.light[0], 1)
	tie(around0, -t.light[3], 1)
}

// shadeSD is how far off the slope of the sticker's light may be, where the sticker is 1.
func (t *fitter) shadeSD() float64 { return even * math.Max(math.Abs(t.ax.grows()), 1) }

// apply takes a step, bounded so that the linear model holds, and returns how far the centre
// moved, or rimPart of how far the rim did where that is more, px.
func (t *fitter) apply(d *[allCount]float64) float64 {
	k, r := 1.0, t.radius()
	bound := func(v, most float64) {
		if v = math.Abs(v); v*k > most {
			k = most / v
		}
	}
	bound(math.Hypot(d[byX], d[byY]), 0.4*r)
	bound(d[byB11], 0.3)
	bound(d[byB12], 0.3)
	bound(d[byB22], 0.3)
	bound(d[byBlur], 0.7)
	bound(d[byLong], r)
	o := t.outline
	o.at.X += k * d[byX]
	o.at.Y += k * d[byY]
	for i := range 3 {
		o.b[i] += k * d[byB11+i] / t.scale
	}
	o.blur = math.Max(o.blur*math.Exp(k*d[byBlur]), leastBlur)
	o.long = math.Max(0, o.long+k*d[byLong])
	for i := range t.light {
		t.light[i] += k * d[inside0+i]
	}
	t.set(o)
	rim := r * math.Max(math.Abs(d[byB11]), math.Max(math.Abs(d[byB12]), math.Abs(d[byB22])))
	return k * math.Max(math.Hypot(d[byX], d[byY]), rimPart*rim)
}
