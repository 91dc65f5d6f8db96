package sticker

import (
	"math"
	"slices"

	"ecart/geometry"
)

// comeback is how a sticker that was lost is found again. A likeness is no evidence then: where the sticker was hidden, another one like it may have been hidden
// too. What comes back is tried: its place, its next step and the frames in which nothing else comes back must tell that it is the sticker.
type comeback struct {
	trial  int     // frames since something was found that may be it
	saved  thread  // the sticker as it was seen last
	start  float64 // odds that what was found is the sticker, which came back in the last frame
	odds   float64 // the best of these, with what the next step tells
	before int     // frames of the trial before that one
	joined bool    // when the sticker was lost, it was one with another thing of its ink
	turn   float64 // px^2, the squared scale of the first step of something new
}

// try takes in a frame in which c may be the sticker that was lost. Each frame may be the one in which it came back: what comes out from behind
// something has its centre elsewhere at first. The later one is the less likely.
func (t *track) try(c *candidate, frames float64) {
	b := &t.back
	if b.trial > 0 {
		if odds := b.start + t.movesOn(c) - later*float64(b.trial-1); odds > b.odds {
			b.odds, b.before = odds, b.trial-1
		}
		b.saved.frames += frames
	}
	b.start = t.backAs(&b.saved, c)
}

// later is how much less likely each frame is to be that in which it came back than the one before, as a logarithm. Without the later ones two
// in a hundred fewer marks in drawn clips are seen; with 0, 29 marks in one of the attacked clips are wrong.
const later = 1.5

// backAs is the logarithm of the odds that a candidate is the sticker, which was seen last as was. What was hidden in n-1 frames comes back in the
// next with a chance of about 1 in n (Laplace's rule of succession), while each frame may bring something new that looks like it.
func (t *track) backAs(was *thread, c *candidate) float64 {
	hidden := math.Log(math.Max(was.frames, 1))
	if t.again {
		return was.odds(c, t.picture, t.births()) - hidden
	}
	return was.returns(c, t.picture, t.births(), t.company.unseen()) - hidden
}

// company is how often the pictures so far showed more things that look like the sticker, as it was pointed at, than are followed.
type company struct {
	look     look
	pictures float64
	several  float64
}

// see takes in the candidates of a picture in which so many things of this look are followed. Of the others each counts by how likely it is to be a twin, so that
// many that are only somewhat alike do not count as one. Where they counted 0.3 times as much, 6 of 32,000 marks in clips with pasted stickers were wrong; where they
// did not count, 146.
func (o *company) see(cs []candidate, followed int) {
	var alike []float64
	for k := range cs {
		if odds, ok := o.look.odds(&cs[k], lightApart); ok {
			alike = append(alike, math.Exp(odds-mostLook))
		}
	}
	slices.Sort(alike)
	sum := 0.0
	for _, a := range alike[:max(len(alike)-followed, 0)] {
		sum += a
	}
	o.pictures++
	o.several += math.Min(sum, 1)
}

// unseen is how many things like the sticker a frame is taken to bring out that were hidden. One clip in ten is taken to have any, and then a new one in
// framesOfOne frames: the mean of that rate (a gamma distribution), each picture with several of them telling that there are. Where there are
// many it is no more than that of new things where nothing is known.
func (o *company) unseen() float64 {
	return math.Min((twins+o.several)/(twins*framesOfOne+o.pictures), 1.0/framesOfOne)
}

// twins is the part of clips that have another thing like the sticker which nobody pointed at. With 0.3 two in a hundred fewer marks in drawn clips
// are seen, and with 1 no more fewer; none is wrong with any.
const twins = 0.1

// returns is the logarithm of how much likelier a frame shows the thread, which was not seen in the frame before, than something new: of
// any look, or just like it.
func (t *thread) returns(c *candidate, picture, births, unseen float64) float64 {
	look, ok := t.look.odds(c, t.frames)
	if !ok {
		return math.Inf(-1)
	}
	return t.place(c, picture, births*math.Exp(-look)+unseen)
}

// movesOn is the logarithm of how much likelier the step from the last place of what came back is if it is the sticker than if it is something new, of
// whose motion nothing is known. Where what every frame adds to a velocity is even, the velocity at the end of a gap of n frames is, with the place there,
//
//	v + 3/2 (mean velocity of the gap - v), and its variance 3/4 n times that of a frame.
func (t *track) movesOn(c *candidate) float64 {
	was, n := &t.back.saved, t.back.saved.frames
	if t.again || was.sights == 1 {
		return 0
	}
	step := c.at.Sub(t.own.at).Scale(1 / t.own.frames)
	mean := t.own.at.Sub(was.at).Scale(1 / n)
	v := geometry.Vec{X: 1.5*mean.X - 0.5*was.v.X, Y: 1.5*mean.Y - 0.5*was.v.Y}
	odds := func(v geometry.Vec, s float64) float64 {
		e := v.Sub(step)
		return math.Log(s) - 2*math.Log(s+e.Dot(e))
	}
	return odds(v, was.scale*(0.75*n+1)) - odds(geometry.Vec{}, t.back.turn)
}

// isBack reports whether what is tried is the sticker. In all its frames nothing else came back: if the sticker were still hidden, after n
// frames, it would be so for k more with a chance of n in n+k.
func (t *track) isBack() bool {
	b := &t.back
	k := float64(b.trial - b.before)
	return k >= confirmed && b.odds+math.Log(1+k/math.Max(b.saved.frames-k+1, 1)) >= clearly
}

// another reports whether something else may be the sticker that comes back nearly as well as what was picked, and is not known to be another
// thing: one that was seen in every frame since it was seen beside the sticker.
func (t *track) another(pick int, o weights, claims []claim) bool {
	for j, odds := range o.veto {
		if j != pick && odds > o.whole[pick]-clearly && !slices.ContainsFunc(claims, func(c claim) bool {
			r := &t.rivals[c.rival]
			return c.candidate == j && c.odds > odds && r.steady && !r.gone()
		}) {
			return true
		}
	}
	return false
}

// joinedFor is how many frames two things may be one before one of them counts as hidden.
const joinedFor = 3

// joined reports whether a candidate seems to be the sticker and a rival in one: the rival was seen of late, is found nowhere else, was expected where it would
// touch, and the candidate is larger than the sticker, by half of the rival or more.
func (t *track) joined(pick int, c *candidate, claims []claim) bool {
	own := math.Exp(t.own.look.area.mean)
	for k := range t.rivals {
		r := &t.rivals[k]
		if r.frames < joinedFor+0.5 && c.at.Sub(r.expected()).Norm() < c.radius()+r.radius && c.area > own+math.Pi*r.radius*r.radius/2 &&
			!slices.ContainsFunc(claims, func(o claim) bool { return o.rival == k && o.candidate != pick && o.odds > 0 }) {
			return true
		}
	}
	return false
}
