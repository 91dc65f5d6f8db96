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

// sample is one pixel of a fit.
type sample struct {
	x, y     float64
	col, row int32
	f        float64 // where its light lies from what is around (0) to the sticker (1)
	rim      bool    // may hold a share between all and nothing
	m        float64 // share, and its derivatives where rim
	d        slope
	err      float64 // what is left over
	keep     float64 // 1, or less for a pixel that does not fit in
	weight   float64 // keep over the variance
}

// result is a fitted outline.
type result struct {
	outline
	cov          [2][2]float64 // of the centre, px^2
	formVariance [3]float64    // of outline.form, counted in its radius
	inside       [3]float64    // light
	around       [3]float64
	core         bool    // whether inside was seen, and not known before
	share        float64 // of the rim that agrees with the outline, 0 to 1
	blind        float64 // of the way round, where what lies outside has the sticker's own colour
	contrast     float64 // of the sticker to what is around, where what was known before is 1
	misfit       float64 // root mean square of what is left over on the rim, where the sticker is 1
	noise        noise
}

// fitter fits outlines. It keeps its memory from one fit to the next.
type fitter struct {
	shaper
	ax      axis
	samples []sample
	round   round
	box     image.Rectangle
	noise   noise
	origin  geometry.Point // of the planes of light, which are counted in scale
	light   [6]float64     // inside and around, as planes
	hidden  float64        // the rim that cannot be seen, as its pull on the centre
	core    bool           // whether some pixels show the sticker alone

	h            [allCount][allCount]float64 // normal equations, upper triangle
	g            [allCount]float64
	pulls, spare []pull
	left         []float64
	sorted       []float64
}

const (
	maxSteps  = 9
	smallStep = 0.01 // px, under which a further step is below the noise
	firstRim  = 0.2  // scatter on the rim, before anything is known of it
)

// fit finds the outline near start that explains the window best, by Gauss and Newton's steps.
func (t *fitter) fit(w *window, start outline, b *belief) (result, bool) {
	t.set(start)
	t.noise.rim = firstRim
	if !t.gather(w, b) {
		return result{}, false
	}
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
		if step == 1 { // the two sides are known better now
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
	t.samples, t.hidden = t.samples[:0], 0
	t.round.clear()
	for y := t.box.Min.Y; y < t.box.Max.Y; y++ {
		for x := t.box.Min.X; x < t.box.Max.X; x++ {
			s := sample{x: float64(x), y: float64(y), col: int32(x - t.box.Min.X), row: int32(y - t.box.Min.Y)}
			off, core := t.distance(s.x, s.y, r)
			if off > pad {
				continue
			}
			// a little wider than now: the outline will move
			s.rim = off < band+1.5 && core > -band-1.5
			if s.rim {
				s.m = t.share(s.x, s.y, &s.d)
			} else if off < 0 {
				s.m = 1
			}
			if !(image.Point{X: x, Y: y}).In(w.Rectangle) || b.covered(s.x, s.y) {
				t.hidden += s.d[byX]*s.d[byX] + s.d[byY]*s.d[byY]
				continue
			}
			if b.alike != nil && s.m < flatOut {
				t.round.see(s.x-t.at.X, s.y-t.at.Y, b.alike.score(w.at(x, y)) > 0)
			}
			t.samples = append(t.samples, s)
		}
	}
	if t.round.judge() {
		t.drop()
	}
	return t.project(w, b)
}

// Shares that count as the sticker alone, and as none of it.
const flatIn, flatOut = 0.97, 0.03

// project finds the axis of colours, and the samples' places on it.
func (t *fitter) project(w *window, b *belief) bool {
	var in, out moments
	for i := range t.samples {
		s := &t.samples[i]
		if s.m > flatIn {
			in.add(w.at(int(s.x), int(s.y)))
		} else if s.m < flatOut {
			out.add(w.at(int(s.x), int(s.y)))
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
	for i := range t.samples {
		s := &t.samples[i]
		s.f = t.ax.of(w.at(int(s.x), int(s.y)))
		if s.m > flatIn {
			sq[0] += (s.f - 1) * (s.f - 1)
			n[0]++
		} else if s.m < flatOut {
			sq[1] += s.f * s.f
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

// shares evaluates the outline on its rim.
func (t *fitter) shares() {
	for i := range t.samples {
		if s := &t.samples[i]; s.rim {
			s.m = t.share(s.x, s.y, &s.d)
		}
	}
}

// sum builds the normal equations at the present outline.
func (t *fitter) sum(b *belief) {
	t.h, t.g = [allCount][allCount]float64{}, [allCount]float64{}
	per := 1 / t.scale
	vi, vo, vr := t.noise.inside*t.noise.inside, t.noise.around*t.noise.around, 4*t.noise.rim*t.noise.rim
	// pixels wholly in or out see their plane of light alone
	var flat [2][9]float64
	var j [allCount]float64
	for i := range t.samples {
		s := &t.samples[i]
		u, v := (s.x-t.origin.X)*per, (s.y-t.origin.Y)*per
		in := t.light[0] + t.light[1]*u + t.light[2]*v
		out := t.light[3] + t.light[4]*u + t.light[5]*v
		s.err = s.f - (out + (in-out)*s.m)
		variance := vo + (vi-vo)*s.m + vr*s.m*(1-s.m)
		s.keep = robust(s.err * s.err / variance)
		s.weight = s.keep / variance
		if !s.rim || s.m < 1e-6 || s.m > 1-1e-6 {
			a := &flat[0]
			if s.m < 0.5 {
				a = &flat[1]
			}
			k := s.weight
			a[0] += k
			a[1] += k * u
			a[2] += k * v
			a[3] += k * u * u
			a[4] += k * u * v
			a[5] += k * v * v
			k *= s.err
			a[6] += k
			a[7] += k * u
			a[8] += k * v
			continue
		}
		for k := range shapeCount {
			j[k] = (in - out) * s.d[k]
		}
		j[inside0], j[inside0+1], j[inside0+2] = s.m, s.m*u, s.m*v
		j[around0], j[around0+1], j[around0+2] = 1-s.m, (1-s.m)*u, (1-s.m)*v
		for a := range allCount {
			ja := j[a] * s.weight
			t.g[a] += ja * s.err
			row := t.h[a][a:]
			rest := j[a:]
			for c := range row {
				row[c] += ja * rest[c]
			}
		}
	}
	for side, at := range [2]int{inside0, around0} {
		a := &flat[side]
		k := 0
		for x := range 3 {
			for y := x; y < 3; y++ {
				t.h[at+x][at+y] += a[k]
				k++
			}
			t.g[at+x] += a[6+x]
		}
	}
	t.believe(b)
}

// steep is how much a sticker's light, and that around it, may change over a radius: the
// standard deviation of the slope, where the sticker is 1.
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
	for _, k := range []int{1, 2, 4, 5} {
		tie(inside0+k, -t.light[k], steep)
	}
	tie(inside0, 1-t.light[0], 1)
	tie(around0, -t.light[3], 1)
}

// robust is the weight of a pixel whose squared error, in units of its variance, is e2: Hampel's,
// full to 3 standard deviations, as Huber's to 6, and down to nothing at 12.
func robust(e2 float64) float64 {
	switch {
	case e2 <= 9:
		return 1
	case e2 <= 36:
		return 3 / math.Sqrt(e2)
	case e2 <= 144:
		e := math.Sqrt(e2)
		return 3 / e * (12 - e) / 6
	}
	return 0
}

// apply takes a step, bounded so that the linear model holds, and returns how far the centre
// moved, px.
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
	return k * math.Hypot(d[byX], d[byY])
}
