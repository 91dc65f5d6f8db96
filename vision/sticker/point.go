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
	around   window
	pointed  vec       // mean colour of the pixels about the one that was pointed at
	distance []float64 // squared distance of each pixel's colour from that, in codedNoise^2
	mask     []bool
	region   []bool
	rim      [2][]bool // region with its rim, and with the ring about that
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
	ink ink
}

// noSticker returns the error for a place without a sticker.
func noSticker(hint, format string, args ...any) *Error {
	return &Error{Problem: NoSticker, what: fmt.Sprintf(format, args...), hint: hint}
}

// find finds the sticker at a place, or up to mostMiss beside it. At a rim it may find an arc of that, which is no sticker (check): it then looks on.
func (q *pointer) find(p Picture, at geometry.Point) (found, *Error) {
	b := p.Bounds()
	if !(at.X >= -0.5 && at.Y >= -0.5 && at.X < float64(b.Dx())-0.5 && at.Y < float64(b.Dy())-0.5) {
		return found{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%.0f, %.0f is outside the picture, which is %d by %d pixels", at.X, at.Y, b.Dx(), b.Dy()),
			hint: "give a place on the sticker, from the picture's top left corner"}
	}
	var bad, none *Error
	for _, o := range []image.Point{{}, {Y: -mostMiss}, {X: mostMiss}, {Y: mostMiss}, {X: -mostMiss}} {
		first := image.Pt(int(math.Round(at.X)), int(math.Round(at.Y))).Add(o)
		if !first.In(b) {
			continue
		}
		f, size, ok := q.thingAt(p, first)
		if none == nil {
			none = q.nothing(at, size)
		}
		if !ok || o != (image.Point{}) && !f.reaches(at) {
			continue
		}
		e := f.check(at)
		if e == nil {
			return f, nil
		}
		bad = cmp.Or(bad, e)
	}
	return found{}, cmp.Or(bad, none)
}

// nothing returns the error for a place with no thing of a possible size; size is as in thingAt.
func (q *pointer) nothing(at geometry.Point, size int) *Error {
	what, hint := "does not stand out from what lies around it", "point at the middle of a sticker, in a frame in which it is sharp"
	switch size {
	case 1:
		what, hint = "is wider than a sticker may be, a quarter of the picture's shorter side", "point at the middle of a sticker; if that is one, film from farther away"
	case -1:
		what, hint = fmt.Sprintf("is narrower than a sticker must be, %.0f px", 2*math.Sqrt(leastArea/math.Pi)), "point at the middle of a sticker; if that is one, film from nearer, or with more pixels"
	}
	return noSticker(hint, "there is no sticker at %.0f, %.0f: what is there is %s, and %s", at.X, at.Y, rounded(q.pointed), what)
}

// thingAt returns the sticker that a pixel is on. It starts from the connected region of the pixel's colour, with a narrow limit up to a
// wide one, and lets each region settle on what stands out from its surroundings. Of the nested things that result, it returns
// the smallest whose contrast is nearly as large as the largest. Where there is none, size is 1 if the thing there is larger than a sticker may
// be, -1 if it is smaller, and 0 if nothing stands out.
func (q *pointer) thingAt(p Picture, first image.Point) (best found, size int, ok bool) {
	radius := largestRadius * float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	most := math.Pi * radius * radius
	half := 24
	q.load(p, first, half)
	var all []found
	clearest, last := 0.0, 0
	for _, reach := range []float64{2, 3, 4.5, 7, 10, 15} { // in codedNoise: from noise alone to a texture
		r, n := q.spread(first, reach*reach)
		for !q.hasRoom(p, r) && half < int(2*radius)+24 {
			half *= 2
			q.load(p, first, half)
			r, n = q.spread(first, reach*reach)
		}
		if n < leastPixels || n == last { // the same region as before
			continue
		}
		last = n
		if float64(n) > most {
			size = cmp.Or(size, 1)
			break
		}
		f, off := q.settle(p, r, most)
		if f.area > 0 && f.covers(first) {
			all = append(all, f)
			clearest = math.Max(clearest, f.ink.contrast())
		} else {
			size = cmp.Or(size, off)
		}
	}
	for _, f := range all {
		if f.ink.contrast() >= nearlyAsClear*clearest && (!ok || f.area < best.area) {
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
// long as wide, with their middle on the rim of both: where they were one thing for a seed, 62 marks in an attacked clip were wrong. Nobody misses a large thing by more than mostAside.
func (f *found) reaches(at geometry.Point) bool {
	return f.at.Sub(at).Norm() <= math.Max(math.Min(2*f.short-f.long, mostAside), mostMiss+1)
}

// mostAside is how far from the middle of a thing somebody may point at it, px: to the rim of a large sticker, of 20 px of radius. A sticker that hardly stands out from what
// it is stuck on is not found, but that may be. In a drawn clip an orange sticker on orange shorts was pointed at, and the shorts were followed, with their middle 40 px off:
// they are with 40 too, and with 10 no mark of 19 other drawn clips changes.
const mostAside = 20

// mostElongated is the largest ratio of a seed's longer to its shorter axis: a disc that is seen from 19 degrees beside its plane, or one of which the blur of motion is
// as long as two diameters. Of 550 seeds on drawn stickers the largest was 2.7. In a drawn clip a shin with a sticker that hardly showed was followed as the sticker.
const mostElongated = 3

// check returns an error for a thing whose outline is not that of a sticker, or that is not meant by a place.
func (f *found) check(at geometry.Point) *Error {
	switch {
	case !f.solid():
		return noSticker("point at the sticker in a frame in which nothing of its colour is next to it",
			"what is there is %s and %.0f px wide, and its outline is not that of one sticker: it has arms or holes, or something of its colour touches it", rounded(f.colour), 2*f.radius())
	case f.long > mostElongated*f.short:
		return noSticker("point at the middle of a sticker, in a frame in which it is sharp",
			"what is there is %s, %.0f px long and %.0f px wide: it is no sticker, or blurred by motion", rounded(f.colour), 2*f.long, 2*f.short)
	case !f.reaches(at):
		return noSticker("point at the middle of a sticker, in a frame in which nothing of its colour touches it",
			"there is no sticker at %.0f, %.0f: what is there is about %.0f by %.0f px, and its middle is %.0f px off", at.X, at.Y, 2*f.long, 2*f.short, f.at.Sub(at).Norm())
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

// hasRoom reports whether the window holds the ring about a region with box r, as far as the picture does.
func (q *pointer) hasRoom(p Picture, r image.Rectangle) bool {
	return r.Inset(-2*rimWidth(r) - ringWidth).Intersect(p.Bounds()).In(q.around.Rectangle)
}

// settle measures the region anew until its contrast grows no more, and returns the thing of largest contrast, with an area of 0 where
// none stands out. If a smaller thing on the way has nearly that contrast, it returns this, since a region grows when a part of its
// rim is taken for the sticker's own colour. most is the largest area; size is as in thingAt.
func (q *pointer) settle(p Picture, r image.Rectangle, most float64) (f found, size int) {
	win, region, last := &q.around, q.region, 0.0
	for range settleRounds {
		k, out := q.inkOf(win, region, rimWidth(r))
		contrast := k.contrast()
		if contrast <= last {
			break
		}
		last = contrast
		c, ok := q.measure(p, &k, r)
		if !ok {
			if c.area > 0 && c.area < leastArea && out >= leastContrast {
				size = -1
			}
			break
		}
		win, region, r = &q.win, q.inside, q.win.box(q.inside)
		if c.area > most {
			return f, 1
		}
		if !q.hasRoom(p, r) {
			break
		}
		if out >= leastContrast && (f.area == 0 || c.area < f.area || f.ink.contrast() < nearlyAsFar*contrast) {
			f = found{c, k}
		}
	}
	return f, size
}

// ringWidth is the width of the ring of ground with which a sticker is compared, px.
const ringWidth = 3

// load reads the square of 2 half + 1 pixels about a pixel, and the distances of its colours from the pixel's. The light is assumed even over a
// sticker, since brown skin has the colour of a yellow sticker in less light.
func (q *pointer) load(p Picture, first image.Point, half int) {
	var m moments
	q.around.load(p, image.Rectangle{first, first.Add(image.Pt(1, 1))}.Inset(-1))
	for i := range q.around.Dx() * q.around.Dy() {
		m.add(q.around.code(i))
	}
	q.pointed = m.mean()
	q.around.load(p, image.Rectangle{first, first.Add(image.Pt(1, 1))}.Inset(-half))
	q.distance = resized(q.distance, q.around.Dx()*q.around.Dy())
	for i := range q.distance {
		d := q.around.code(i).sub(q.pointed)
		q.distance[i] = d.dot(d) / (codedNoise * codedNoise)
	}
}

// spread marks the connected region about a pixel with distances up to limit, all of it core, and returns its box and number of pixels.
func (q *pointer) spread(first image.Point, limit float64) (box image.Rectangle, n int) {
	w := q.around.Dx()
	q.mask, q.region = resized(q.mask, len(q.distance)), resized(q.region, len(q.distance))
	for i, d := range q.distance {
		q.mask[i], q.region[i] = d <= limit, false
	}
	at := first.Sub(q.around.Min)
	q.pixels = flood(q.mask, w, at.Y*w+at.X, q.pixels)
	q.core = moments{}
	for _, i := range q.pixels {
		q.region[i] = true
		q.core.add(q.around.code(i))
	}
	return q.around.box(q.region), len(q.pixels)
}

// inkOf returns the ink of a region with the colours of the core, on the ground of the ring about its rim. out is the 20th percentile of the
// squared distances of the ring's pixels from the core's colours, in their variances. Without a ring the ink has no contrast.
func (q *pointer) inkOf(win *window, region []bool, wide int) (k ink, out float64) {
	mean, spread := q.core.mean(), q.core.covariance()
	inv := spread.plus(sym{}, 0, codedNoise*codedNoise).inverse()
	q.rim[0] = dilated(q.rim[0], region, win.Dx(), wide)
	q.rim[1] = dilated(q.rim[1], q.rim[0], win.Dx(), wide-2+ringWidth)
	var ring moments
	q.rank = q.rank[:0]
	for i, is := range q.rim[1] {
		if is && !q.rim[0][i] {
			c := win.code(i)
			ring.add(c)
			q.rank = append(q.rank, inv.form(c.sub(mean)))
		}
	}
	if len(q.rank) < 2*leastPixels {
		return ink{}, 0
	}
	slices.Sort(q.rank)
	return newInk(mean, ring.mean(), spread), q.rank[len(q.rank)/5]
}
