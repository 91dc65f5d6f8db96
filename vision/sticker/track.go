package sticker

import (
	"image"
	"math"
	"sync"

	"ecart/geometry"
)

// tracked is one sticker on its way through a clip.
type tracked struct {
	name   string
	begin  *beginning
	look   look
	motion *motion
	state  State
	hidden float64 // s since it was last seen
	last   geometry.Point
	taken  result  // what it was last seen as
	trial  *result // found far from where it was, and not yet seen again
	code   coding

	windows [2]window // about it, in this picture and the last
	turn    int       // which of them is this picture's
	before  *settled  // the last picture's, nil where it was not seen there

	waiting bool // for the frame in which it was pointed at,
	starts  bool // which the next picture is

	found []candidate

	seeker          // of its own, since all stickers are looked for at once
	thinned thinned // what is about it
	places  []geometry.Point
}

// candidate is a place that may be the sticker.
type candidate struct {
	result
	belief belief          // with which it was fitted,
	window image.Rectangle // and to what
	partly bool            // something stands before it
	unlike float64         // how unlike the sticker it is, as a sum of squares
	object int             // the place in the picture, which several stickers may want
}

// newTracked waits for the frame of its seed; way is 1 forwards in time and -1 backwards.
func newTracked(name string, b *beginning, way float64) *tracked {
	t := &tracked{name: name, begin: b, look: b.look, code: b.code, waiting: true}
	t.motion = newMotion(b.at, b.cov, b.radius())
	if b.push > 0 {
		t.motion.set(b.speed.Scale(way), b.push)
	}
	return t
}

// aligned has the colours of the pictures moved back by a shift.
func (t *tracked) aligned(shift [2]float32) {
	t.windows[0].shift, t.windows[1].shift = shift, shift
}

// How long a hidden sticker is predicted, s of true time, and how sure a mark must be.
const (
	predicted  = 0.1
	nearby     = 20   // squared standard deviations of the prediction, within which nothing else is looked for
	anywhere   = 4    // radii, from which spread of the prediction on a place near it says nothing
	likely     = 6    // sum of squares of what is unlike, up to which a place far from the prediction will do
	wholeShare = 0.75 // of its rim that must be seen of one that far off: something round and of its colour lies about in many a hall
	sure       = 14   // sum of squares of what is unlike, up to which it may be the sticker far from where it was last seen
	clearly    = 9    // sum of squares of what is unlike and how far off it is, up to which no other place is looked for
	mostSpots  = 4
	mostHalf   = 240 // px, half side of the largest window before the whole picture is looked at
	likeRival  = 3   // standard deviations of colour within which two stickers may be mistaken
	apart      = 0.8 // radii within which two fits are of one place
)

// quick looks where the sticker is expected, without looking about.
func (t *tracked) quick(p Picture, s shutter, at geometry.Point, off float64, others []disc) (candidate, bool) {
	r := t.look.shape.radius()
	start, b := t.expect(s)
	b.others = others
	reach := 1.35*r + 1 + math.Min(2*off, 1.2*r)
	// at a lower resolution: what is wanted is a place to begin from
	n := thinning(r)
	box := around(at, int(math.Ceil(reach))+n).Intersect(p.Bounds())
	t.thinned.load(p, box, n)
	t.scores.fill(&t.thinned, &t.look.target)
	from := spot{at: thinnedAt(at, box, n), radius: r / float64(n)}
	if t.scores.settle(&from, reach/float64(n)) < 0.3*math.Pi*from.radius*from.radius {
		return candidate{}, false
	}
	from.at = inFull(from.at, box, n)
	w := &t.windows[t.turn]
	w.load(p, around(from.at, int(math.Ceil(1.25*r+2*start.blur+8+start.long/2))))
	return t.try(w, from.at, start, b)
}

func around(at geometry.Point, half int) image.Rectangle {
	x, y := int(math.Round(at.X)), int(math.Round(at.Y))
	return image.Rect(x-half, y-half, x+half+1, y+half+1)
}

// try fits an outline at a spot of the window. Where its shape has changed by more than a sticker
// can from one picture to the next, something stands before a part of it: then the shape is held,
// and what does not fit it is left out.
func (t *tracked) try(w *window, at geometry.Point, start outline, b *belief) (candidate, bool) {
	start.at = at
	r, ok := t.fitter.fit(w, start, b)
	if !ok {
		return candidate{}, false
	}
	c := candidate{result: r, belief: *b, window: w.Rectangle}
	if changed(&r.outline, &t.look.shape) > shapeStep {
		b.shape = heldShape
		if r, ok = t.fitter.fit(w, start, b); !ok {
			return c, false
		}
		c = candidate{result: r, belief: c.belief, window: w.Rectangle, partly: true}
	}
	c.unlike, ok = t.look.judge(&c.result)
	return c, ok
}

// shapeStep is how much a sticker's axes may change from one picture to the next, as a part of
// them, and heldShape how much they are let where more than that was seen.
const (
	shapeFree = 0.03
	shapeStep = 0.07
	heldShape = 0.004
)

// changed is the largest change of an outline's axes.
func changed(a, b *outline) float64 {
	r := b.radius()
	d := [3]float64{(a.b[0] - b.b[0]) * r, (a.b[1] - b.b[1]) * r, (a.b[2] - b.b[2]) * r}
	return math.Abs(d[0]+d[2])/2 + math.Hypot((d[0]-d[2])/2, d[1])
}

// expect says what the sticker will look like: as it did, drawn out by its motion.
func (t *tracked) expect(s shutter) (outline, *belief) {
	b := t.look.belief(shapeFree)
	v := t.motion.velocity()
	if speed := v.Norm(); speed > 0 && t.state != Lost {
		b.way = v.Scale(1 / speed)
		b.long = speed * s.open
		spread := math.Sqrt(t.motion.speedVariance()) * s.open
		b.longRange = 0.2 + math.Hypot(speed*s.spread, spread)
	}
	b.long = math.Min(b.long, 6*t.look.shape.radius())
	o := b.outline
	return o, b
}

// search looks for the sticker in a window about where it is expected, beside what was found there
// already. Where something may be is seen at a lower resolution.
func (t *tracked) search(p Picture, s shutter, half int, others []disc) {
	r := t.look.shape.radius()
	n := thinning(r)
	box := around(t.motion.at(), half).Intersect(p.Bounds())
	t.thinned.load(p, box, n)
	t.scores.fill(&t.thinned, &t.look.target)
	t.spots = t.scores.spots(r/float64(n), mostSpots, t.spots)
	t.places = t.places[:0]
	for _, s := range t.spots {
		if at := inFull(s.at, box, n); !known(t.found, at, apart*r) {
			t.places = append(t.places, at)
		}
	}
	for _, at := range t.places {
		if c, ok := t.quick(p, s, at, 0, others); ok && !known(t.found, c.at, r) {
			t.found = append(t.found, c)
		}
	}
}

// look fills in what each sticker may be in the picture, all of them at once.
func (f *follower) look(p Picture) {
	var all sync.WaitGroup
	for _, t := range f.stickers {
		t.found = t.found[:0]
		if t.state != Lost && !t.waiting {
			all.Go(func() { f.lookFor(p, t) })
		}
	}
	all.Wait()
}

// lookFor fills in what one sticker may be. It changes nothing but what is the sticker's own.
func (f *follower) lookFor(p Picture, t *tracked) {
	off := t.motion.spread()
	half := min(int(math.Ceil(3.5*math.Hypot(off, t.motion.jolt)+2*t.look.shape.radius()+8)), mostHalf)
	others, rival := f.near(t, float64(half))
	if !rival {
		if c, ok := t.quick(p, f.shutter, t.motion.at(), off, others); ok {
			t.found = append(t.found, c)
			if c.unlike+t.motion.away(c.at, c.cov) < clearly {
				return
			}
		}
	}
	t.search(p, f.shutter, half, others)
}

// near lists the stickers of the same colour that are expected to overlap one, and says whether
// one of them is so near that they may be mistaken for each other.
func (f *follower) near(t *tracked, half float64) (others []disc, rival bool) {
	r := t.look.shape.radius()
	for _, o := range f.stickers {
		if o == t || o.state == Lost || o.waiting || o.look.from(t.look.hue) > likeRival*float64(max(o.look.near, t.look.near)) {
			continue
		}
		d := o.motion.at().Sub(t.motion.at()).Norm()
		or := o.look.shape.radius()
		rival = rival || d < half+or
		if d > 0.7*r && d < r+or+8 {
			others = append(others, disc{o.motion.at().X, o.motion.at().Y, or + 1.5*o.look.shape.blur + 1})
		}
	}
	return others, rival
}

// objects numbers the places that were found, so that one place is given to one sticker.
func (f *follower) objects() {
	var places []geometry.Point
	for _, t := range f.stickers {
		for i := range t.found {
			c := &t.found[i]
			c.object = -1
			for n, at := range places {
				if at.Sub(c.at).Norm() < apart*c.radius() {
					c.object = n
					break
				}
			}
			if c.object < 0 {
				c.object = len(places)
				places = append(places, c.at)
			}
		}
	}
}
