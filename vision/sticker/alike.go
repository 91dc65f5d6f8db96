package sticker

import (
	"math"

	"ecart/geometry"
)

// identified reports whether what is taken for sticker k in frame i is certainly k and no other sticker of its look. Either all others are certainly
// seen in that frame, or in one that it was followed to or from, or each time that it came back it was much likelier there than any of them.
func (j *job) identified(k, i int) bool {
	toSeed := -1
	if i < j.seeds[k].Frame {
		toSeed = 1
	}
	for n := i; ; n += toSeed {
		s := j.sight(k, n)
		if s == nil {
			break
		}
		if s.seen && (!s.unsure || j.othersSeen(k, n)) {
			return true
		}
		if s.returned && !j.nearestOfLook(k, n) {
			break
		}
	}
	missed := 0
	for n := i; missed < 2; n -= toSeed {
		s := j.sight(k, n)
		if s == nil || s.seen && !s.unsure {
			break
		}
		if !s.seen {
			missed++
		} else if missed = 0; j.othersSeen(k, n) {
			return true
		}
	}
	return false
}

// nearestOfLook reports whether what sticker k came back as in frame i is much likelier k than any other sticker of its look, by its place and its next
// step. Another one that comes back as well is compared together with k: each in its place, or the two exchanged.
func (j *job) nearestOfLook(k, i int) bool {
	s := j.sight(k, i)
	for _, m := range j.lookAlikes[k] {
		o := j.sight(m, i)
		if o == nil {
			return false
		}
		if o.seen && !o.unsure {
			continue
		}
		step, ok := j.step(k, i)
		if !ok {
			return false
		}
		own, its := j.likelihood(&s.expected, s.what.at, step, false), 0.0
		r, n := j.returned(m, i)
		next, back := j.step(m, n)
		if r != nil && back {
			mine, other := s.expected.after(j.onward(k, i, n)), r.expected.after(j.onward(m, n, i))
			own *= j.likelihood(&r.expected, r.what.at, next, false)
			its = j.likelihood(&other, s.what.at, step, true) * j.likelihood(&mine, r.what.at, next, true)
		} else if o.unsure {
			return false
		} else {
			own /= math.Max(s.expected.frames, 1)
			its = j.likelihood(&o.expected, s.what.at, step, true)
		}
		if own < math.Exp(clearLogOdds)*its {
			return false
		}
	}
	return true
}

// step returns the step of sticker k from frame i to the next one in the direction in which it is followed, px a frame; ok is false where it is not seen in both.
func (j *job) step(k, i int) (step geometry.Vec, ok bool) {
	t, direction := j.track(k, i)
	n, ok := t.index(i, direction)
	if !ok || n+1 == len(t.sights) || !t.sights[n].seen || !t.sights[n+1].seen {
		return step, false
	}
	a, b := &t.sights[n], &t.sights[n+1]
	return b.what.at.Sub(a.what.at).Scale(1 / j.frames(a.i, b.i)), true
}

// likelihood returns the density of a place, 1/px^2, and of the next step, frame^2/px^2, of a sticker with this expectation. If it may have turned, it may also have stayed where
// it was lost, as behind a hand, or gone anywhere within its reach, and may have been in sight unnoticed. Without the first, 72 for 47 of 2,100 marks in clips with pasted twins
// were wrong.
func (j *job) likelihood(e *expectation, at geometry.Point, step geometry.Vec, turned bool) float64 {
	if e.frames <= 0 { // it was seen then
		return 0
	}
	usual := usualStep * j.frameTime * e.radius
	anyStep, reach := density(usual*usual, step.Norm()), fastestFactor*usual*e.frames
	p := density(e.spread, at.Sub(e.at).Norm())
	if e.at == e.last { // its velocity was not known
		p *= anyStep
	} else {
		p *= e.stepDensity(at, step)
	}
	if turned {
		off := at.Sub(e.last).Norm()
		if off < reach {
			p = math.Max(p, anyStep/math.Min(math.Pi*reach*reach, float64(j.bounds.Dx()*j.bounds.Dy())))
		}
		p = math.Max(p, anyStep*density(usual*usual, off))
	}
	return p
}

// onward returns the true time from frame i to frame n in the direction in which sticker k is followed there, in mean frame times.
func (j *job) onward(k, i, n int) float64 {
	switch {
	case n == i:
		return 0
	case (n > i) == (i > j.seeds[k].Frame):
		return j.frames(i, n)
	}
	return -j.frames(i, n)
}

// returned returns the sight with which sticker m came back for the run of frames that contains frame i, or for the next one that is known, if it was certainly m
// before; and its frame.
func (j *job) returned(m, i int) (*sight, int) {
	_, away := j.track(m, i)
	n := i
	for s := j.sight(m, n); s != nil && !s.seen; s = j.sight(m, n) { // on to the next run
		n += away
	}
	for s := j.sight(m, n); s != nil && s.seen && !s.returned; s = j.sight(m, n) { // back to its start
		n -= away
	}
	r, at := j.sight(m, n), n
	if r == nil || !r.returned {
		return nil, 0
	}
	n -= away
	for s := j.sight(m, n); s != nil && !s.seen; s = j.sight(m, n) {
		n -= away
	}
	for s := j.sight(m, n); s != nil && s.seen; s = j.sight(m, n) {
		if !s.unsure || j.othersSeen(m, n) {
			return r, at
		}
		n -= away
	}
	return nil, 0
}

// fastestFactor is the largest speed of a sticker over usualStep: a limb at 8 m/s.
const fastestFactor = 4

// findLookAlikes lists for each sticker the others that look like it in their seeds' frames. The light is assumed to differ as
// between two places (look.covariance).
func findLookAlikes(stickers []found) [][]int {
	out := make([][]int, len(stickers))
	for k := range stickers {
		for m := range stickers {
			l := newLook(&stickers[m].candidate)
			if _, ok := l.odds(&stickers[k].candidate, lightFrames); ok && m != k {
				out[k] = append(out[k], m)
			}
		}
	}
	return out
}

// othersSeen reports whether every other sticker that looks like k is certainly seen in frame i.
func (j *job) othersSeen(k, i int) bool {
	for _, m := range j.lookAlikes[k] {
		if s := j.sight(m, i); s == nil || !s.seen || s.unsure {
			return false
		}
	}
	return true
}
