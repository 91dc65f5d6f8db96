package desk

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
	"ecart/vision/pose"
)

// An arm that opens past the trunk's line counts as more than 180 degrees, upright and upside down, once the clip shows on which
// side the chest is; before, it is taken for as much less.
func TestAngleOfAProposalPastStraight(t *testing.T) {
	for _, turn := range []float64{0, 0.4, math.Pi} {
		for _, mirror := range []float64{1, -1} {
			sin, cos := math.Sincos(turn)
			place := func(x, y float64) pose.Point {
				x *= mirror
				return pose.Point{At: geometry.Point{X: 400 + x*cos - y*sin, Y: 400 + x*sin + y*cos}, Present: 1, Visible: 1}
			}
			b := &pose.Body{}
			for i := range b.Points {
				b.Points[i] = place(0, 0)
			}
			const nose, ears, shoulders, elbows = 0, 7, 11, 13
			b.Points[nose] = place(30, -120) // faces right
			for side := range 2 {
				b.Points[ears+side], b.Points[shoulders+side] = place(5, -120), place(0, -100)
				s, c := math.Sincos(20 * math.Pi / 180)
				b.Points[elbows+side] = place(-60*s, -100-60*c) // behind the line through hip and shoulder
			}
			q := asked(t, "shoulder-flexion")
			p := &proposer{q: &q.Request, size: geometry.Point{X: 800, Y: 800}}
			assert.InDelta(t, 160, p.angle(b), 0.01)
			p.seen([]*pose.Body{b, b, b})
			assert.InDelta(t, 200, p.angle(b), 0.01, "turned by %v, mirrored %v", turn, mirror)
		}
	}
}
