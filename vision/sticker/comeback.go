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
	saved  thread  // the sticker as it was before that
	odds   float64 // that it is the sticker
	joined bool    // when the sticker was lost, it was one with another thing of its ink
	turn   float64 // px^2, the squared scale of the first step of something new
}

// unseen is how many things like the sticker a frame is taken to bring out that were hidden: as many as new ones where nothing is known yet. With
// half of it six of 10,500 marks of stickers pasted into real clips were wrong, with it none; with half of it two in a hundred more marks in drawn clips are seen.
const unseen = 1.0 / framesOfOne

// returns is the logarithm of how much likelier a frame shows the thread, which was not seen in the frame before, than something new: of
// any look, or just like it.
func (t *thread) returns(c *candidate, picture, births float64) float64 {
	look, ok := t.look.odds(c, t.frames)
	if !ok {
		return math.Inf(-1)
	}
	return t.place(c, picture, births*math.Exp(-look)+unseen)
}

// movesOn is the logarithm of how much likelier the second place of what came back is if it is the sticker, which moves on as it did, than if
// it is something new, of whose motion nothing is known.
func (t *track) movesOn(c *candidate) float64 {
	other := t.own
	other.v, other.scale = geometry.Vec{}, t.back.turn
	return t.own.place(c, 1, 1) - other.place(c, 1, 1)
}

// isBack reports whether what is tried is the sticker. In all its frames nothing else came back: if the sticker were still hidden, after n
// frames, it would be so for k more with a chance of n in n+k.
func (t *track) isBack() bool {
	return goesOn(t.back.trial, t.births()) && t.back.odds+math.Log(1+float64(t.back.trial)/t.back.saved.frames) >= clearly
}

// goesOn reports whether so many frames in a row are enough for them to be of one thing, where a frame shows so many new things.
func goesOn(frames int, births float64) bool {
	return frames >= confirmed && float64(frames)*math.Log(math.Min(births, mostly)) < chance
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
