package sticker

import "ecart/geometry"

// settled is what a sticker was seen as in a picture, kept until the next picture shows how it
// moved meanwhile.
type settled struct {
	candidate
	from  geometry.Point // where it was in the picture before that
	since float64        // s, from there
	moved bool           // whether it was seen there
}

const (
	// streakOff is how far the streak of a fit may be from the one that the places before and
	// after tell, px, both as vectors: less, and the centre stays where it is. Of a fit that left a
	// part out, as of something before the sticker, it is partlyOff. Over the scenes of
	// make cover-follow smaller ones changed no error.
	streakOff = 2.0
	partlyOff = 0.5

	// streakSD is how well these places tell a streak, px: their own errors, of which a quarter
	// or so comes to bear, and what the speed changes by meanwhile.
	streakSD = 0.2

	// strayed is how far from its first place the fit may come, in radii.
	strayed = 0.6
)

// settle goes back to the picture before: where a sticker was before that and after tells how it
// moved while the shutter was open much better than what was expected of it then. And it keeps
// what is seen now for the next picture; chosen are the places that the stickers were given.
func (f *follower) settle(chosen []int, dt float64) {
	for i, t := range f.stickers {
		if chosen[i] < 0 {
			t.before = nil
			continue
		}
		now := settled{candidate: t.found[chosen[i]]}
		if t.before != nil {
			if t.before.moved {
				f.again(t, now.at, dt, &f.handed[i])
			}
			now.from, now.since, now.moved = t.before.at, dt, true
		}
		t.before = &now
	}
}

// again fits the outline in the last picture once more, with the streak that the sticker's way
// tells, and corrects its mark.
func (f *follower) again(t *tracked, to geometry.Point, dt float64, m *Mark) {
	b, w := t.before, &t.windows[1-t.turn]
	v := to.Sub(b.from).Scale(1 / (dt + b.since))
	speed := v.Norm()
	if speed == 0 || w.Rectangle != b.window {
		return
	}
	streak := v.Scale(f.shutter.open)
	off := streak.Sub(b.way.Scale(b.long)).Norm()
	if off < partlyOff || !b.partly && off < streakOff {
		return
	}
	belief := b.belief
	belief.way, belief.long, belief.longRange = v.Scale(1/speed), streak.Norm(), streakSD
	// farther off it is something else, such as one of the same colour that covers this one
	if c, ok := t.try(w, b.at, belief.outline, &belief); ok && c.at.Sub(b.at).Norm() < strayed*c.radius() {
		b.candidate = c
		*m = f.mark(t, &c)
	}
}
