package sticker

import (
	"image"
	"math"
)

// follower follows stickers from one picture to the next, in either direction of time.
type follower struct {
	seeker
	stickers []*tracked
	lengths  *lengths
	shutter  shutter
	unsure   [2]float64 // variance of how far the colours lie off, px^2

	whole    thinned         // the picture,
	box      image.Rectangle // or what was surveyed of it
	wholeMap scoreMap
	handed   []Mark // what the last step returned
	reduced  int    // pixels of the picture to one of it
}

// shutter is how long the shutter is open, as the streaks tell it.
type shutter struct {
	open, spread float64 // s
}

func newFollower(stickers []*tracked, s shutter, shift [2]float32) *follower {
	f := &follower{stickers: stickers, lengths: newLengths(len(stickers)), shutter: s}
	f.win.shift = shift
	return f
}

func (f *follower) add(t *tracked) {
	t.aligned(f.win.shift)
	f.stickers = append(f.stickers, t)
	f.lengths = newLengths(len(f.stickers))
}

// usualShutter is what is assumed before a streak was seen: a quarter of the time between frames.
func usualShutter(interval float64) shutter {
	return shutter{open: 0.25 * interval, spread: 0.2 * interval}
}

// see takes in a streak of a given length.
func (s *shutter) see(long, speed, sd float64) {
	if speed <= 0 {
		return
	}
	open, spread := long/speed, sd/speed
	gain := s.spread * s.spread / (s.spread*s.spread + spread*spread)
	s.open += gain * (open - s.open)
	s.spread = math.Max(math.Sqrt(1-gain)*s.spread, 0.05*s.open)
}

// step goes on to a picture dt seconds of true time away, and returns a mark for each sticker.
func (f *follower) step(p Picture, dt float64) []Mark {
	for _, t := range f.stickers {
		t.turn = 1 - t.turn
		if t.waiting {
			continue
		}
		if t.state != Lost {
			t.motion.predict(dt)
		}
		t.hidden += dt
	}
	f.lengths.pass(dt)
	f.look(p)
	f.objects()
	chosen := f.choose()
	marks := make([]Mark, len(f.stickers))
	for i, t := range f.stickers {
		switch {
		case t.waiting && t.starts:
			t.waiting, t.state, t.last, t.taken = false, Seen, t.begin.at, t.begin.result
			marks[i] = f.mark(t, &candidate{result: t.begin.result})
		case t.waiting:
			marks[i] = lostMark()
		case chosen[i] >= 0:
			c := &t.found[chosen[i]]
			f.take(t, c, dt)
			marks[i] = f.mark(t, c)
		case t.state != Lost && t.hidden <= predicted:
			t.state = Predicted
			marks[i] = Mark{Seen: Predicted, At: t.motion.at(), Cov: t.motion.cov(), Radius: t.look.shape.radius()}
		default:
			t.state = Lost
			marks[i] = lostMark()
		}
	}
	f.settle(chosen, dt)
	f.handed = marks
	f.regain(p, dt, marks)
	for i := range marks {
		for j := range i {
			if marks[i].Seen == Seen && marks[j].Seen == Seen {
				f.lengths.see(i, j, marks[i].At.Sub(marks[j].At).Norm())
			}
		}
	}
	return marks
}

// mark is the mark of a place that was given to the sticker.
func (f *follower) mark(t *tracked, c *candidate) Mark {
	m := c.result.mark()
	k := t.code.raise()
	if c.partly { // what stands before it is not modelled
		k *= 4
	}
	for i := range m.Cov {
		for j := range m.Cov[i] {
			m.Cov[i][j] *= k
		}
		m.Cov[i][i] += f.unsure[i]
	}
	return m
}

// choose gives the places that were found to the stickers.
func (f *follower) choose() []int {
	claims := make([][]claim, len(f.stickers))
	for i, t := range f.stickers {
		for k := range t.found {
			c := &t.found[k]
			cost := t.motion.away(c.at, c.cov) + c.unlike
			astray := t.motion.distance(c.at, c.cov) > nearby || t.motion.spread() > anywhere*c.radius() ||
				c.blind >= halfBlind && c.at.Sub(t.motion.at()).Norm() > c.radius()
			if astray && (c.unlike > likely || c.share < wholeShare) || c.unlike > sure {
				cost = math.Inf(1) // its place says nothing for it, and it is not quite like it
			}
			claims[i] = append(claims[i], claim{c.object, cost})
		}
	}
	return assign(claims, func(i, a, j, b int) float64 {
		return f.lengths.cost(i, j, f.stickers[i].found[a].at.Sub(f.stickers[j].found[b].at).Norm())
	})
}

// take gives a sticker its place.
func (f *follower) take(t *tracked, c *candidate, dt float64) {
	r := &c.result
	if speed := t.motion.velocity().Norm(); r.long > 2*r.blur && !c.partly && t.state == Seen {
		f.shutter.see(r.long, speed, 0.5+math.Sqrt(t.motion.speedVariance())*f.shutter.open)
	}
	if t.state == Lost {
		t.motion = newMotion(r.at, r.cov, r.radius())
	} else {
		t.motion.see(r.at, r.cov, dt)
	}
	if !c.partly && t.state == Seen {
		t.code.see(r, t.begin.radius(), dt)
	}
	// also where a part may be hidden: its light is what the rest shows, and its shape was held,
	// so that what follows of it is little, and yet a sticker that really turned is caught up with
	t.look.learn(r, dt)
	t.state, t.hidden, t.last, t.trial, t.taken = Seen, 0, r.at, nil, c.result
}
