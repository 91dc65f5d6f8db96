package sticker

import (
	"cmp"
	"fmt"
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// pointer finds the thing that somebody pointed at.
type pointer struct {
	measurer
	win      window
	distance []float64 // squared distance of each pixel's colour from the one that was pointed at, in codedNoise^2
	region   []bool
	core     []bool // pixels of the region that are not of its rim
	around   []bool
	queue    []int32
	rank     []float64
}

// largestRadius is the limit of a sticker's radius, as a part of the picture's shorter side.
const largestRadius = 1.0 / 8

// mostMiss is how far from the given place a sticker is searched, px.
const mostMiss = 5

// leastContrast is the least squared distance, in variances of the sticker's own colours, of four fifths of
// the pixels around it.
const leastContrast = 9

// found is a sticker in the frame of its seed.
type found struct {
	candidate
	ink      ink
	contrast float64 // distance of its mean colour from that of its surroundings, coded levels
}

// find finds the sticker at a place, or up to mostMiss beside it. At a rim it may find an arc of that, which is no sticker (check): it then looks on.
func (q *pointer) find(p Picture, at geometry.Point) (found, *Error) {
	b := p.Bounds()
	if !(at.X >= -0.5 && at.Y >= -0.5 && at.X < float64(b.Dx())-0.5 && at.Y < float64(b.Dy())-0.5) {
		return found{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%.0f, %.0f is outside the picture, which is %d by %d pixels", at.X, at.Y, b.Dx(), b.Dy()),
			hint: "give a place on the sticker, from the picture's top left corner"}
	}
	size := 0
	var bad *Error
	for _, o := range [][2]int{{0, 0}, {0, -mostMiss}, {mostMiss, 0}, {0, mostMiss}, {-mostMiss, 0}} {
		first := image.Pt(int(math.Round(at.X))+o[0], int(math.Round(at.Y))+o[1])
		if !first.In(b) {
			continue
		}
		f, fits, ok := q.thingAt(p, first)
		if o == [2]int{} {
			size = fits
		}
		if !ok || !f.reaches(at) && o != [2]int{} {
			continue
		}
		e := f.check()
		if e == nil && !f.reaches(at) {
			e = &Error{Problem: NoSticker, what: fmt.Sprintf("there is no sticker at %.0f, %.0f: what is there is about %.0f by %.0f px, and its middle is %.0f px off", at.X, at.Y, 2*f.long, 2*f.short, f.at.Sub(at).Norm()),
				hint: "point at the middle of a sticker, in a frame in which nothing of its colour touches it"}
		}
		if e == nil {
			return f, nil
		}
		bad = cmp.Or(bad, e)
	}
	if bad != nil {
		return found{}, bad
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

// colour returns the mean colour of the 3 by 3 pixels at a place.
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

// thingAt returns the sticker that a pixel is on. It starts from the connected region of the pixel's colour, with a narrow limit up to a
// wide one, and lets each region settle on what stands out from its surroundings. Of the nested things that result, it returns
// the smallest whose contrast is nearly as large as the largest. Where there is none, size is 1 if the thing there is larger than a sticker may
// be, -1 if it is smaller, and 0 if nothing stands out.
func (q *pointer) thingAt(p Picture, first image.Point) (best found, size int, ok bool) {
	most := largestRadius * float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	half := 24
	q.load(p, first, half)
	var all []found
	clearest, last := 0.0, 0
	for _, reach := range []float64{2, 3, 4.5, 7, 10, 15} { // in codedNoise: from noise alone to a texture
		r, n := q.flood(first, reach*reach)
		for !q.hasRoom(p, r) && half < int(2*most)+24 {
			half *= 2
			q.load(p, first, half)
			r, n = q.flood(first, reach*reach)
		}
		if n < leastPixels || n == last { // the same region as before
			continue
		}
		last = n
		if tooLarge(n, r, most) {
			size = cmp.Or(size, 1)
			break
		}
		if f, n, off := q.settle(p, r, most); n > 0 && f.covers(first) {
			all = append(all, f)
			clearest = math.Max(clearest, f.contrast)
		} else {
			size = cmp.Or(size, off)
		}
	}
	for _, f := range all {
		if f.contrast >= nearlyAsClear*clearest && (!ok || f.area < best.area) {
			best, ok = f, true
		}
	}
	return best, size, ok
}

// covers reports whether a pixel that was pointed at is on the thing: within its shorter half axis plus half a pixel, and within half
// of that axis plus mostMiss.
func (f *found) covers(at image.Point) bool {
	return math.Hypot(float64(at.X)-f.at.X, float64(at.Y)-f.at.Y) <= math.Min(f.short+0.5, f.short/2+mostMiss)
}

// reaches reports whether a thing is meant by a place: one up to the rim of a round thing, and nearer to the middle the longer the thing is. Two alike discs that touch are 2.24 times as
// long as wide, with their middle on the rim of both: where they were one thing for a seed, 62 marks in an attacked clip were wrong.
func (f *found) reaches(at geometry.Point) bool {
	return f.at.Sub(at).Norm() <= math.Max(2*f.short-f.long, mostMiss+1)
}

// mostElongated is the largest ratio of a seed's longer to its shorter axis: a disc that is seen from 19 degrees beside its plane, or one of which the blur of motion is
// as long as two diameters. Of 550 seeds on drawn stickers the largest was 2.7. In a drawn clip a shin with a sticker that hardly showed was followed as the sticker.
const mostElongated = 3

// check returns an error for a thing whose outline is not that of a sticker.
func (f *found) check() *Error {
	switch {
	case !f.solid():
		return &Error{Problem: NoSticker, what: fmt.Sprintf("what is there is %s and %.0f px wide, and its outline is not that of one sticker: it has arms or holes, or something of its colour touches it", rounded(f.colour), 2*f.radius()),
			hint: "point at the sticker in a frame in which nothing of its colour is next to it"}
	case f.long > mostElongated*f.short:
		return &Error{Problem: NoSticker, what: fmt.Sprintf("what is there is %s, %.0f px long and %.0f px wide: it is no sticker, or blurred by motion", rounded(f.colour), 2*f.long, 2*f.short),
			hint: "point at the middle of a sticker, in a frame in which it is sharp"}
	}
	return nil
}

// nearlyAsClear is the least contrast of the smallest thing, as a part of the largest contrast.
const nearlyAsClear = 0.3

// nearlyAsFar is the least contrast of a smaller thing on the way of settle, as a part of that of a larger thing about it. In three
// drawn clips 0.9 changed no mark, and 0.98 found 3 more of 157.
const nearlyAsFar = 0.95

// settleRounds is the limit of rounds in which settle compares a region with its surroundings.
const settleRounds = 8

// tooLarge reports whether a region of n pixels in box r is larger than a sticker of radius most.
func tooLarge(n int, r image.Rectangle, most float64) bool {
	return math.Sqrt(float64(n)/math.Pi) > most || float64(max(r.Dx(), r.Dy())) > 4*most
}

// hasRoom reports whether the window holds the surroundings of a region with box r, as far as the picture does.
func (q *pointer) hasRoom(p Picture, r image.Rectangle) bool {
	w := rimWidth(r)
	return r.Inset(-2*w - ringWidth).Intersect(p.Bounds()).In(q.win.Rectangle)
}

// settle measures the marked region anew until its contrast grows no more, and returns the thing of largest contrast; n is 0 where
// none stands out. If a smaller thing on the way has nearly that contrast, it returns this, since a region grows when a part of its
// rim is taken for the sticker's own colour. size is as in thingAt.
func (q *pointer) settle(p Picture, r image.Rectangle, most float64) (f found, n, size int) {
	last := 0.0
	for range settleRounds {
		mean, ground, spread, out, step := q.contrast(r)
		if step <= last {
			return f, n, 0
		}
		last = step
		k := newInk(mean, ground, spread)
		c, fits := q.measure(p, &k, r)
		if !fits && c.area > 0 && c.area < leastArea && out >= leastContrast {
			return f, n, -1
		}
		if !fits || c.openOutline > mostOpenOutline {
			return f, n, 0
		}
		next, count := q.mark(c.level)
		if tooLarge(count, next, most) {
			return f, n, 1
		}
		if !q.hasRoom(p, next) {
			return f, n, 0
		}
		r = next
		if out >= leastContrast && (n == 0 || c.area < f.area || f.contrast < nearlyAsFar*step) {
			f, n = found{c, k, step}, count
		}
	}
	return f, n, 0
}

// mark takes the pixels of the thing measured last as the region, and those above middleLevel as its core.
func (q *pointer) mark(level float64) (r image.Rectangle, n int) {
	clear(q.region)
	clear(q.core)
	w := q.measurer.win.Dx()
	for i, in := range q.inside {
		if at := image.Pt(i%w, i/w).Add(q.measurer.win.Min); in && at.In(q.win.Rectangle) {
			q.region[q.index(at)] = true
			q.core[q.index(at)] = q.share[i] > middleLevel*level
			r = r.Union(image.Rectangle{at, at.Add(image.Pt(1, 1))})
			n++
		}
	}
	return r, n
}

// mostOpenOutline is the limit of a candidate's openOutline.
const mostOpenOutline = 0.2

// ringWidth is the width of the ring of ground with which a sticker is compared, px.
const ringWidth = 3

// load reads the square of 2 half + 1 pixels about a pixel, and the distances of its colours from the pixel's. The light is assumed even over a
// sticker, since brown skin has the colour of a yellow sticker in less light.
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
	q.distance = resized(q.distance, n)
	for i := range n {
		d := q.win.code(i).sub(mean)
		q.distance[i] = d.dot(d) / (codedNoise * codedNoise)
	}
}

func (q *pointer) index(at image.Point) int {
	return (at.Y-q.win.Min.Y)*q.win.Dx() + at.X - q.win.Min.X
}

// flood marks the connected region about a pixel with distances up to limit, and returns its box and number of pixels.
func (q *pointer) flood(first image.Point, limit float64) (box image.Rectangle, n int) {
	w, h := q.win.Dx(), q.win.Dy()
	q.region = resized(q.region, w*h)
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
			if j := b*w + a; !q.region[j] && q.distance[j] <= limit {
				q.region[j] = true
				q.queue = append(q.queue, int32(j))
			}
		}
	}
	q.core = append(q.core[:0], q.region...)
	return box.Add(q.win.Min), n
}

// contrast compares the region with the ring around it. out is the 20th percentile of the squared distances of the ring's
// pixels from the region's colours, in their variances; step is the distance between the two means, in coded levels.
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
	wide := rimWidth(r)
	near := dilated(nil, q.region, w, h, wide)
	q.around = dilated(q.around, near, w, h, wide-2+ringWidth)
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
