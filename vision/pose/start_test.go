package pose

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
	"ecart/vision/see"
)

// blind is a network that sees nobody.
type blind struct{}

func (blind) Look(context.Context, *see.Network, *see.Picture) (*see.Seen, error) {
	return &see.Seen{Values: [][]float32{make([]float32, points*values), {0}}}, nil
}

func (blind) Close() {}

// A picture of 960 x 540 pixels has 4 large squares and 8 small ones. No square of a picture is looked at twice in one
// rotation, and of pictures that all show the same one is looked at: a look takes a tenth of a second, and whoever waits to
// hear that nobody is seen waits some seconds.
func TestHowOftenIsLookedWhereNobodyIs(t *testing.T) {
	for _, c := range []struct {
		name          string
		still, moving bool
		looks         int
	}{
		{"nothing moves", true, false, 4*4 + 2*8},
		// two squares about what moves, in four pictures up and down and in one sideways, then all others up and down
		{"something moves", true, true, 2*(4*2+2) + 2*(4+8)},
		// large squares in two pictures up and down, in one sideways, in three up; the small ones up
		{"the camera moves", false, false, 4*(2*2+2+3) + 8},
	} {
		p := paper(960, 540, wall)
		w := &walk{f: &Finder{child: blind{}}, found: &Found{Still: c.still}, still: c.still}
		for i := range 8 {
			k := kept{frame: i, picture: shrink(p, p.Bounds(), 1)}
			if c.moving {
				k.movers = []mover{{box: [4]float64{400, 200, 500, 400}, centroid: geometry.Point{X: 450, Y: 300}, share: 0.02}}
			}
			w.pictures, w.bodies = append(w.pictures, k), append(w.bodies, nil)
		}
		told := 0
		w.o.Progress = func(float64) { told++ }
		err := w.all(t.Context())
		var e *Error
		require.ErrorAs(t, err, &e, c.name)
		assert.Equal(t, NoPerson, e.Problem, c.name)
		assert.Equal(t, c.looks, w.f.Looks(), c.name)
		assert.Equal(t, c.looks, told, "%s: whoever waits sees that it goes on", c.name)
	}
}
