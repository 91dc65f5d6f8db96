package desk

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
	"ecart/vision/pose"
)

// armed is a body seen from the side, y down, whose trunk is plumb and whose upper arms are raised by so many degrees against
// it, to the right. Both hips, and both shoulders, lie in one place.
func armed(left, right float64) *pose.Body {
	b := &pose.Body{}
	for i := range b.Points {
		b.Points[i] = pose.Point{At: geometry.Point{X: 400, Y: 500}, Present: 1, Visible: 1}
	}
	const nose, shoulders, elbows, near = 0, 11, 13, -20
	b.Points[nose].At = geometry.Point{X: 430, Y: 280}
	for side, deg := range []float64{left, right} {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		b.Points[shoulders+side].At = geometry.Point{X: 400, Y: 300}
		b.Points[elbows+side].At = geometry.Point{X: 400 + 120*sin, Y: 300 + 120*cos}
		b.Points[shoulders+side].Depth = float64(side) * near
	}
	return b
}

// Arms that the network has ten degrees apart are raised alike, and the angle is that of both; where they are forty apart, one
// arm is raised, and the angle is that of the side that is read.
func TestArmsRaisedAlikeAreReadTogether(t *testing.T) {
	q := asked(t, "shoulder-flexion")
	q.Request.Options.Side, q.Request.Options.Facing = "right", "right"
	p := &proposer{q: &q.Request, size: geometry.Point{X: 800, Y: 800}}
	assert.InDelta(t, 165, p.angle(armed(170, 160)), 0.2, "of both")
	assert.InDelta(t, 130, p.angle(armed(170, 130)), 0.01, "of the right one alone")
	q.Request.Options.Side = "left"
	assert.InDelta(t, 165, p.angle(armed(170, 160)), 0.2, "the same of the other side")
	assert.InDelta(t, 170, p.angle(armed(170, 130)), 0.01)

	hidden := armed(170, 160)
	hidden.Points[14].Present = 0.2
	assert.InDelta(t, 170, p.angle(hidden), 0.01, "the right elbow is not in the picture")
}
