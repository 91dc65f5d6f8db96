package sticker

import (
	"cmp"
	"fmt"
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// pointer finds what somebody pointed at.
type pointer struct {
	measurer
	win    window
	far    []float64 // squared distance of each pixel from the colour that was pointed at
	region []bool
	core   []bool // of it, what is not of the rim
	around []bool
	queue  []int32
	rank   []float64
}

// largest is the radius that a sticker may have, as a part of the picture's shorter side.
const largest = 1.0 / 8

// astray is how far from where somebody pointed a sticker is looked for, px, and mostOff how far from there its middle may be, as a part of its shorter half
// axis: what reaches there from farther is a larger thing than was pointed at. Without that a seed next to a thing of its sticker's colour was on both,
// and 62 marks in an attacked clip were wrong.
const (
	astray  = 5
	mostOff = 0.6
)

// standsOut is the least squared distance, in standard deviations of the sticker's own colours, of four
// fifths of what lies around it.
const standsOut = 9

// found is a sticker as it was pointed at.
type found struct {
	candidate
	ink  ink
	step float64 // how far its mean colour is from what is around it, levels
}

// at finds the sticker at a place: of what the colour there reaches when it is taken narrowly or widely,
// what stands out most from all that is around it.
func (q *pointer) at(p Picture, at geometry.Point) (found, *Error) {
	b := p.Bounds()
	if !(at.X >= -0.5 && at.Y >= -0.5 && at.X < float64(b.Dx())-0.5 && at.Y < float64(b.Dy())-0.5) {
		return found{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%.0f, %.0f is outside the picture, which is %d by %d pixels", at.X, at.Y, b.Dx(), b.Dy()),
			hint: "give a place on the sticker, from the picture's top left corner"}
	}
	size := 0
	for _, o := range [][2]int{{0, 0}, {0, -astray}, {astray, 0}, {0, astray}, {-astray, 0}} {
		first := image.Pt(int(math.Round(at.X))+o[0], int(math.Round(at.Y))+o[1])
		if !first.In(b) {
			continue
		}
		f, fits, ok := q.best(p, first)
		if o == [2]int{} {
			size = fits
		}
		if ok && f.at.Sub(at).Norm() <= math.Max(mostOff*f.short, astray+1) {
			return f, nil
		}
	}
	what, hint := "does not stand out from what lies around it", "point at the middle of a sticker, in a frame in which it is sharp"
	switch {
	case size > 0:
		what, hint = "is wider than a sticker may be, a quarter of the picture's shorter side", "point at the middle of a sticker; if that is one, film from farther away"
	case size < 0:
		what, hint = fmt.Sprintf("is narrower than a sticker must be, %.0f px", 2*math.Sqrt(leastArea/math.Pi)), "point at the middle of a sticker; if that is one, film from nearer, or with more pixels"
	}
	return found{}, &Error{Problem: NoSticker, what: fmt.Sprintf("there is no sticker at %.0f, %.0f: what is there is %s, and %s", at.X, at.Y, q.colour(p, at), what), hint: hint}
}

// colour is that at a place.
func (q *pointer) colour(p Picture, at geometry.Point) Colour {
	x, y := int(math.Round(at.X)), int(math.Round(at.Y))
	q.win.load(p, image.Rect(x-1, y-1, x+2, y+2))
	var m moments
	for i := range q.win.Dx() * q.win.Dy() {
		m.add(q.win.code(i))
	}
	c := m.mean()
	return rounded(c)
}

// best is the sticker that a pixel is on. From what the pixel's colour reaches, taken narrowly or widely, it goes on to
// what stands out from what is around that, until nothing changes. Of the things that this ends at, one within the other, it is
// the smallest whose rim is nearly as clear as any. Where there is none, size is 1 if what is there is larger than a sticker may be, and -1 if it is smaller.
func (q *pointer) best(p Picture, first image.Point) (best found, size int, ok bool) {
	most := largest * float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	half := 24
	q.load(p, first, half)
	var all []found
	clearest, last := 0.0, 0
	for _, reach := range []float64{2, 3, 4.5, 7, 10, 15} { // codedNoise's own and that of a texture
		r, n := q.flood(first, reach*reach)
		for !q.holds(p, r) && half < int(2*most)+24 {
			half *= 2
			q.load(p, first, half)
			r, n = q.flood(first, reach*reach)
		}
		if n < leastPixels || n == last { // the same as the one before
			continue
		}
		last = n
		if tooLarge(n, r, most) {
			size = cmp.Or(size, 1)
			break
		}
		if f, n, off := q.settle(p, r, most); n > 0 && f.holds(first) {
			all = append(all, f)
			clearest = math.Max(clearest, f.step)
		} else {
			size = cmp.Or(size, off)
		}
	}
	for _, f := range all {
		if f.step >= nearlyAs*clearest && (!ok || f.area < best.area) {
			best, ok = f, true
		}
	}
	return best, size, ok
}

// holds reports whether it was the thing that was pointed at: the pixel is on it, to half a pixel, and no farther from its middle than
// somebody may miss half of the way to its nearer rim.
func (f *found) holds(at image.Point) bool {
	return math.Hypot(float64(at.X)-f.at.X, float64(at.Y)-f.at.Y) <= math.Min(f.short+0.5, f.short/2+astray)
}

// notSolid is the error about what is no sticker by its outline.
func (f *found) notSolid() *Error {
	return &Error{Problem: NoSticker, what: fmt.Sprintf("what is there is %s and %.0f px wide, and its outline is not that of one sticker: it has arms or holes, or something of its colour touches it", rounded(f.colour), 2*f.radius()),
		hint: "point at the sticker in a frame in which nothing of its colour is next to it"}
}

// nearlyAs is how clear the rim of the smallest thing must be, as a part of the clearest one.
const nearlyAs = 0.3

// almost is how far the colours of a smaller thing must be from those around it, as a part of those of a larger one about it. In three
// drawn clips 0.9 changed no mark, and 0.98 found 3 more of 157.
const almost = 0.95

// settles is how often a patch is compared with what is around it.
const settles = 8

func tooLarge(n int, r image.Rectangle, most float64) bool {
	return math.Sqrt(float64(n)/math.Pi) > most || float64(max(r.Dx(), r.Dy())) > 4*most
}

// holds reports whether there is room in the window for what is around a patch.
func (q *pointer) holds(p Picture, r image.Rectangle) bool {
	w := rim(r)
	return r.Inset(-2*w - ring).Intersect(p.Bounds()).In(q.win.Rectangle)
}

// settle goes on from the patch that is marked to the thing whose colours are farthest from those around it; of those on the way
// that stand out nearly as much, it is the smallest, since a rim that is taken for the sticker's own makes it grow.
func (q *pointer) settle(p Picture, r image.Rectangle, most float64) (f found, n, size int) {
	last := 0.0
	for range settles {
		mean, ground, spread, out, step := q.contrast(r)
		if step <= last {
			return f, n, 0
		}
		last = step
		k := newInk(mean, ground, spread)
		c, fits := q.measure(p, &k, r)
		if !fits && c.area > 0 && c.area < leastArea && out >= standsOut {
			return f, n, -1
		}
		if !fits || c.joined > mostJoined {
			return f, n, 0
		}
		next, count := q.mark(c.level)
		if tooLarge(count, next, most) {
			return f, n, 1
		}
		if !q.holds(p, next) {
			return f, n, 0
		}
		r = next
		if out >= standsOut && (n == 0 || c.area < f.area || f.step < almost*step) {
			f, n = found{c, k, step}, count
		}
	}
	return f, n, 0
}

// mark marks what was measured.
func (q *pointer) mark(level float64) (r image.Rectangle, n int) {
	clear(q.region)
	clear(q.core)
	w := q.measurer.win.Dx()
	for i, in := range q.inside {
		if at := image.Pt(i%w, i/w).Add(q.measurer.win.Min); in && at.In(q.win.Rectangle) {
			q.region[q.index(at)] = true
			q.core[q.index(at)] = q.share[i] > middle*level
			r = r.Union(image.Rectangle{at, at.Add(image.Pt(1, 1))})
			n++
		}
	}
	return r, n
}

// mostJoined is the part of an outline that may end on the like of it.
const mostJoined = 0.2

// ring is how wide the ground is that a sticker is compared with, px.
const ring = 3

// load reads what is about a pixel, and how far its colours are from the pixel's, in noise. Light is taken to be even over a sticker:
// brown skin has the colour of a yellow sticker in less light.
func (q *pointer) load(p Picture, first image.Point, half int) {
	q.win.load(p, image.Rect(first.X-half, first.Y-half, first.X+half+1, first.Y+half+1))
	var m moments
	for y := -1; y <= 1; y++ {
		for x := -1; x <= 1; x++ {
			if at := first.Add(image.Pt(x, y)); at.In(q.win.Rectangle) {
				m.add(q.win.code(q.index(at)))
			}
		}
	}
	mean := m.mean()
	n := q.win.Dx() * q.win.Dy()
	q.far = sized(q.far, n)
	for i := range n {
		d := q.win.code(i).sub(mean)
		q.far[i] = d.dot(d) / (codedNoise * codedNoise)
	}
}

func (q *pointer) index(at image.Point) int {
	return (at.Y-q.win.Min.Y)*q.win.Dx() + at.X - q.win.Min.X
}

// flood marks what hangs together with a pixel by its colour, and returns its box and its pixels.
func (q *pointer) flood(first image.Point, limit float64) (box image.Rectangle, n int) {
	w, h := q.win.Dx(), q.win.Dy()
	q.region = sized(q.region, w*h)
	clear(q.region)
	start := q.index(first)
	q.region[start] = true
	q.queue = append(q.queue[:0], int32(start))
	for len(q.queue) > 0 {
		i := int(q.queue[len(q.queue)-1])
		q.queue = q.queue[:len(q.queue)-1]
		x, y := i%w, i/w
		n++
		box = box.Union(image.Rect(x, y, x+1, y+1))
		for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			a, b := x+d[0], y+d[1]
			if a < 0 || b < 0 || a >= w || b >= h {
				continue
			}
			if j := b*w + a; !q.region[j] && q.far[j] <= limit {
				q.region[j] = true
				q.queue = append(q.queue, int32(j))
			}
		}
	}
	q.core = append(q.core[:0], q.region...)
	return box.Add(q.win.Min), n
}

// contrast compares the patch with what is around it: out is the squared distance of a fifth of that, the
// part of it that is most alike, from the patch's colours; step is how far apart the two means are, in coded levels.
func (q *pointer) contrast(r image.Rectangle) (mean, ground vec, spread sym, out, step float64) {
	w, h := q.win.Dx(), q.win.Dy()
	var in, around moments
	for i, is := range q.core {
		if is {
			in.add(q.win.code(i))
		}
	}
	mean, spread = in.mean(), in.covariance()
	inv := spread.plus(sym{}, 0, codedNoise*codedNoise).inverse()
	wide := rim(r)
	near := grown(nil, q.region, w, h, wide)
	q.around = grown(q.around, near, w, h, wide-2+ring)
	q.rank = q.rank[:0]
	for i, is := range q.around {
		if is && !near[i] {
			c := q.win.code(i)
			around.add(c)
			q.rank = append(q.rank, inv.form(c.sub(mean)))
		}
	}
	if len(q.rank) < 2*leastPixels {
		return mean, ground, spread, 0, 0
	}
	slices.Sort(q.rank)
	ground = around.mean()
	d := mean.sub(ground)
	return mean, ground, spread, q.rank[len(q.rank)/5], math.Sqrt(d.dot(d))
}
