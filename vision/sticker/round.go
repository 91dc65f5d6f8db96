package sticker

import "math"

// round is what lies around a sticker, by direction. Where that has the sticker's own colour, a
// mat of its hue behind the ankle that it is on, there is no rim to be seen: the fit leaves these
// directions out, and the rest of the rim, with what is known of the shape, tells the place.
type round [directions]struct{ all, alike float64 }

const (
	directions = 16

	// A direction is blind where this share of the pixels outside has the sticker's colour.
	blindShare = 0.5

	// fewAlike is the share of such pixels all around up to which none is left out: an outline
	// that begins a little beside the sticker has some of it outside.
	fewAlike = 0.15

	// mostBlind is the share of directions above which a sticker cannot be told from what is
	// around it.
	mostBlind = 0.85

	// halfBlind is that from which on a sticker is taken only about where it is expected.
	halfBlind = 0.5
)

func (r *round) clear() { *r = round{} }

// direction is the one of equally wide ones in which a place lies.
func direction(dx, dy float64) int {
	const tan = math.Sqrt2 - 1 // of a sixteenth of a turn
	n, x, y := 0, math.Abs(dx), math.Abs(dy)
	switch {
	case y > x && x < tan*y:
		n = 3
	case y > x:
		n = 2
	case y > tan*x:
		n = 1
	}
	if dx < 0 {
		n += directions / 2
	}
	if dy < 0 {
		n += directions / 4
	}
	return n
}

func (r *round) see(dx, dy float64, alike bool) {
	d := &r[direction(dx, dy)]
	d.all++
	if alike {
		d.alike++
	}
}

// judge reports whether any direction is blind. It clears the account where none is to be left
// out.
func (r *round) judge() bool {
	var all, alike float64
	for i := range r {
		all += r[i].all
		alike += r[i].alike
	}
	if alike <= fewAlike*all {
		r.clear()
		return false
	}
	return true
}

func (r *round) isBlind(i int) bool { return r[i].alike > blindShare*r[i].all }

// blind is the share of directions that are.
func (r *round) blind() float64 {
	n := 0.0
	for i := range r {
		if r.isBlind(i) {
			n++
		}
	}
	return n / directions
}
