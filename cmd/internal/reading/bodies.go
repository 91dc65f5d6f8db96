package reading

import (
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
)

// BeyondBodies is the error of an angle outside the range that bodies reach. The cause is far more
// often a mark on the wrong landmark, or the wrong facing, than the athlete. Request.Beyond confirms
// the angle.
type BeyondBodies struct {
	fault    *fault.Error
	AngleDeg float64
}

func (b *BeyondBodies) Error() string { return b.fault.Error() }

// Hint says what to check, and how to confirm the angle.
func (b *BeyondBodies) Hint() string { return b.fault.Hint() }

func (b *BeyondBodies) Unwrap() error { return b.fault }

var beyondHint = "look at the marks and at the facing; if the angle is right, say so with " + fault.Option("beyond")

// checkBodies refuses an angle outside the range that bodies reach, unless the request confirms it.
func (q *Request) checkBodies(m *model) error {
	r, ok := q.Priors.Bodies.Reach[q.Measure.Name]
	a := m.about.Degrees()
	if !ok || q.Beyond || r.holds(a) {
		return nil
	}
	return &BeyondBodies{fault.New(fmt.Sprintf("%s of %.0f° is outside what bodies reach, %g to %g°", q.Measure.Title, a, r[0], r[1]), beyondHint), a}
}

// Reach is the range of angles that bodies reach, degrees, modulo 360: 350 is -10.
type Reach [2]float64

func (r Reach) holds(deg float64) bool {
	const turn = 360
	return r[1]-r[0] >= turn || math.Mod(math.Mod(deg-r[0], turn)+turn, turn) <= r[1]-r[0]
}

// checkReach returns an error for an unknown measure and for invalid limits.
func (p *Priors) checkReach() error {
	for name, r := range p.Bodies.Reach {
		if _, ok := geometry.Lookup(name); !ok {
			return fmt.Errorf("bodies reach %q is no measure", name)
		}
		if !(r[0] < r[1] && r[0] >= -360 && r[1] <= 360) {
			return fmt.Errorf("bodies reach %s must be two angles from -360 to 360, the lower first, not %v", name, r)
		}
	}
	return nil
}
