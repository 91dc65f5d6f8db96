package pose

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
	"ecart/vision/see"
)

// A person who jumps on the spot stands in one place before and after, and is a part of the median picture there. The ground
// still counts as known where that is so in three of seven pictures, as in a straddle jump of the study, but not in six.
func TestTheGroundOfAJumpOnTheSpotIsKnown(t *testing.T) {
	draw := func(b *Body) *reduced {
		p := blankPicture(900, 700, wall)
		for side := range 2 {
			p.limb(b.Points[hip+side].At, b.Points[ankle+side].At, 20, skin)
		}
		return shrink(p, p.Bounds(), 4)
	}
	standing, straddled := bodyInProfile(geometry.Point{X: 400, Y: 400}, 4, -4), bodyInProfile(geometry.Point{X: 400, Y: 250}, 70, -70)
	for stood, known := range map[int]bool{0: true, 3: true, 6: false} {
		w := &walk{found: &Found{Still: true, ground: draw(standing)}, still: true}
		for i := range 7 {
			b := straddled
			if i < stood {
				b = standing
			}
			w.bodies, w.pictures = append(w.bodies, b), append(w.pictures, kept{picture: draw(b)})
		}
		w.checkGround()
		assert.Equal(t, known, w.still, "%d of 7", stood)
	}
}

// seesNobody is a network that finds no person.
type seesNobody struct{}

func (seesNobody) Look(context.Context, *see.Network, *see.Picture) (*see.Seen, error) {
	return &see.Seen{Values: [][]float32{make([]float32, points*values), {0}}}, nil
}

func (seesNobody) Close() {}

// A picture of 960 x 540 pixels has 4 large squares and 8 small tiles. No square of a picture is looked at twice in one
// rotation, and of pictures that all show the same only one is searched: a look takes a tenth of a second, so that the
// answer that nobody is there takes some seconds.
func TestNumberOfLooksWhereNobodyIs(t *testing.T) {
	for _, c := range []struct {
		name          string
		still, moving bool
		looks         int
	}{
		{"nothing moves", true, false, 4*4 + 2*8},
		// two squares about the mover, in four pictures upright and upside down and in one sideways, then all others upright and upside down
		{"something moves", true, true, 2*(4*2+2) + 2*(4+8)},
		// large squares in two pictures upright and upside down, in one sideways, in three upright; the small tiles upright
		{"the camera moves", false, false, 4*(2*2+2+3) + 8},
	} {
		p := blankPicture(960, 540, wall)
		w := &walk{f: &Finder{child: seesNobody{}}, found: &Found{Still: c.still}, still: c.still}
		for i := range 8 {
			k := kept{frame: i, picture: shrink(p, p.Bounds(), 1)}
			if c.moving {
				k.movers = []mover{{box: [4]float64{400, 200, 500, 400}, centroid: geometry.Point{X: 450, Y: 300}, share: 0.02}}
			}
			w.pictures, w.bodies = append(w.pictures, k), append(w.bodies, nil)
		}
		reports := 0
		w.o.Progress = func(float64) { reports++ }
		err := w.run(t.Context())
		var e *Error
		require.ErrorAs(t, err, &e, c.name)
		assert.Equal(t, NoPerson, e.Problem, c.name)
		assert.Equal(t, c.looks, w.f.Looks(), c.name)
		assert.Equal(t, c.looks, reports, "%s: progress is reported at each look", c.name)
	}
}
