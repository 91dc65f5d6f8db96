package sticker

import (
	"image"
	"math"

	"ecart/geometry"
)

// regain looks for lost stickers as far away as they may be. One that looks right is taken only when
// the next picture shows it again.
func (f *follower) regain(p Picture, dt float64, marks []Mark) {
	var box image.Rectangle
	least := math.Inf(1)
	for _, t := range f.stickers {
		if t.state == Lost && !t.waiting {
			r := t.look.shape.radius()
			least = math.Min(least, r)
			box = box.Union(around(t.last, int(math.Min(t.reach()+beside*r, 1e6))))
		}
	}
	if box.Empty() {
		return
	}
	loaded := false
	for i, t := range f.stickers {
		if t.state != Lost || t.waiting {
			continue
		}
		r := t.look.shape.radius()
		if t.trial != nil {
			c, ok := t.quick(p, f.shutter, t.trial.at, usualSpeed*r*dt/3, nil)
			moved := c.at.Sub(t.trial.at).Norm()
			if ok && c.unlike < sure && moved < usualSpeed*r*dt && f.free(c.at, r, marks) {
				first := t.trial
				f.take(t, &c, dt)
				t.motion.start(first.at, c.at, dt)
				marks[i] = f.mark(t, &c)
				continue
			}
			t.trial = nil
		}
		if !loaded {
			f.survey(p, box, least)
			loaded = true
		}
		f.hunt(p, t, marks)
	}
}

// free reports whether no other mark is at the place.
func (f *follower) free(at geometry.Point, r float64, marks []Mark) bool {
	for _, m := range marks {
		if m.Seen != Lost && m.At.Sub(at).Norm() < 1.2*r {
			return false
		}
	}
	return true
}

// reduction is how many pixels of the picture go to one of its overview: a sticker stays five
// pixels across.
func reduction(radius float64) int { return max(1, min(6, int(radius/2.5))) }

// survey reads every few pixels of every few rows of the picture within box.
func (f *follower) survey(p Picture, box image.Rectangle, radius float64) {
	f.reduced = reduction(radius)
	n := f.reduced
	f.box = image.Rect(box.Min.X/n*n, box.Min.Y/n*n, box.Max.X, box.Max.Y).Intersect(p.Bounds()) // the same pixels always
	f.whole.load(p, f.box, n)
}

// overview is a survey of the whole picture.
func (f *follower) overview(p Picture, radius float64) { f.survey(p, p.Bounds(), radius) }

// full is a place of the survey in the picture.
func (f *follower) full(at geometry.Point) geometry.Point { return inFull(at, f.box, f.reduced) }

// reach is how far from where it was seen last a lost sticker may be, px.
func (t *tracked) reach() float64 {
	r := t.look.shape.radius()
	return 2*usualSpeed*r*t.hidden + 4*r
}

// beside is how much more than its reach is looked at, in radii: what lies about a place tells whether
// there may be a sticker.
const beside = 4

// hunt looks for a lost sticker in what was surveyed.
func (f *follower) hunt(p Picture, t *tracked, marks []Mark) {
	r := t.look.shape.radius()
	n := float64(f.reduced)
	f.wholeMap.fill(&f.whole, &t.look.target)
	f.spots = f.wholeMap.spots(r/n, 6, f.spots)
	reach := t.reach()
	var best, second candidate
	best.unlike, second.unlike = math.Inf(1), math.Inf(1)
	for _, s := range append([]spot(nil), f.spots...) {
		s.at = f.full(s.at)
		if s.at.Sub(t.last).Norm() > reach || !f.free(s.at, r, marks) {
			continue
		}
		c, ok := t.quick(p, f.shutter, s.at, n, nil)
		if !ok || c.unlike > sure || !f.free(c.at, r, marks) {
			continue
		}
		if d := c.at.Sub(best.at).Norm(); c.unlike < best.unlike {
			if d > r {
				second = best
			}
			best = c
		} else if c.unlike < second.unlike && d > r {
			second = c
		}
	}
	// two that look alike: neither is known to be it
	if best.unlike > sure || second.unlike < best.unlike+2 {
		return
	}
	t.trial = &best.result
}
