package desk

import (
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/pose"
)

// oneWay is the greatest angle between the two upper arms, as the network has them, at which they count as raised alike,
// radians. In 22 clips of handstands with parallel arms the network had them 1 to 11 degrees apart (rms 7), the near one
// raised less in all: 12 to 20 degrees decide these alike, 8 would leave out 6. Of arms that are truly some degrees apart, the
// angle is off by half of that.
const oneWay = 15 * math.Pi / 180

// armsMeasured reports whether the measure is that of the upper arm against the trunk, of one side.
func (p *proposer) armsMeasured() bool {
	return p.q.Measure.Name == "shoulder-flexion" || p.q.Measure.Name == "shoulder-extension"
}

// armsAlike reports whether the arms of a body lie one way, so that both sides are taken together.
func (p *proposer) armsAlike(b *pose.Body) bool {
	if !p.armsMeasured() {
		return false
	}
	var arms [2]geometry.Vec
	for s := range arms {
		shoulder, elbow := b.Of("shoulder", pose.Side(s)), b.Of("elbow", pose.Side(s))
		if shoulder.Present < leastPresent || elbow.Present < leastPresent || b.Of("hip", pose.Side(s)).Present < leastPresent {
			return false
		}
		arms[s] = elbow.At.Sub(shoulder.At)
	}
	l, r := arms[0], arms[1]
	return math.Abs(math.Atan2(l.X*r.Y-l.Y*r.X, l.X*r.X+l.Y*r.Y)) <= oneWay
}

// together moves hip, shoulder and elbow of one side, so that they lie to each other as the middles of both sides do, each
// as little as that allows. Seen from the side, the network has the joints of both sides in nearly one place, and what it has
// apart is mostly wrong: it sees the near arm raised less than the other one.
func together(b *pose.Body, of []named) []named {
	of = slices.Clone(of)
	var shift geometry.Vec
	for _, l := range of {
		shift = shift.Add(l.At.Sub(b.Middle(l.kind).At).Scale(1 / float64(len(of))))
	}
	for i, l := range of {
		of[i].At = b.Middle(l.kind).At.Add(shift)
	}
	return of
}
