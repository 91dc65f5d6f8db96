package pose

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/geometry"
)

// Whoever jumps on the spot stands in one place before and after, and is a part of the median picture there. The ground counts
// as known all the same where that is in three of seven pictures, as in a straddle jump of the study, and not where it is in six.
func TestTheGroundOfAJumpOnTheSpotIsKnown(t *testing.T) {
	draw := func(b *Body) *reduced {
		p := paper(900, 700, wall)
		for side := range 2 {
			p.limb(b.Points[hip+side].At, b.Points[ankle+side].At, 20, skin)
		}
		return shrink(p, p.Bounds(), 4)
	}
	standing, straddled := made(geometry.Point{X: 400, Y: 400}, 4, -4), made(geometry.Point{X: 400, Y: 250}, 70, -70)
	for stood, known := range map[int]bool{0: true, 3: true, 6: false} {
		w := &walk{found: &Found{Still: true, ground: draw(standing)}, still: true}
		for i := range 7 {
			b := straddled
			if i < stood {
				b = standing
			}
			w.bodies, w.pictures = append(w.bodies, b), append(w.pictures, kept{picture: draw(b)})
		}
		w.trustAll()
		assert.Equal(t, known, w.still, "%d of 7", stood)
	}
}
