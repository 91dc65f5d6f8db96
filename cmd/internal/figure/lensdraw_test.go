package figure

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
)

// barrel returns a simulated lens with the radial distortion k r^2, with r = 1 at the corner of the picture.
func barrel(w, h int, k float64) Lens {
	c := geometry.Point{X: float64(w-1) / 2, Y: float64(h-1) / 2}
	far := math.Hypot(c.X, c.Y)
	n := Lens{
		Name: "phone", Width: w, Height: h, Across: 9, Columns: 12, Rows: 12 * h / w, Centre: c, Reach: 0.6 * far,
		Bend: func(p geometry.Point) geometry.Point {
			v := p.Sub(c)
			return c.Add(v.Scale(1 + k*v.Dot(v)/(far*far)))
		},
	}
	n.Counts = make([]int, n.Columns*n.Rows)
	for i := range 3 {
		var board []geometry.Point
		for row := range 6 {
			for col := range 9 {
				p := geometry.Point{X: float64(w) * (0.15 + 0.1*float64(i) + 0.05*float64(col)), Y: float64(h) * (0.2 + 0.1*float64(i) + 0.06*float64(row))}
				board = append(board, p)
				n.Counts[int(p.Y*float64(n.Rows)/float64(h))*n.Columns+int(p.X*float64(n.Columns)/float64(w))]++
			}
		}
		n.Boards = append(n.Boards, board)
	}
	for i := range 41 {
		r := far * float64(i) / 40
		s := math.Pow(r/far, 3)
		n.Curve = append(n.Curve, LensShift{r, k * far * s, 0.002 * far * s * s})
	}
	return n
}

func TestGoldenLens(t *testing.T) {
	got, err := DrawLens(barrel(1920, 1080, -0.1), Options{Width: 480})
	require.NoError(t, err)
	golden(t, "lens", got)
}

// A slight distortion is exaggerated, a strong one is not, and the drawing stays in the
// frame.
func TestBendIsSeen(t *testing.T) {
	for k, want := range map[float64]float64{-0.1: 1, -0.01: 5, 0.004: 10, 0.0004: 50} {
		n := barrel(1920, 1080, k)
		assert.Equal(t, want, n.times(box{0, 0, 400, 225}), "%g", k)
	}
}

func TestRingOf(t *testing.T) {
	var grid []geometry.Point
	for y := range 3 {
		for x := range 4 {
			grid = append(grid, geometry.Point{X: float64(x), Y: float64(y)})
		}
	}
	ring := ringOf(grid, 4)
	require.Len(t, ring, 10, "all but the two inner ones")
	for i, p := range ring {
		assert.Equal(t, 1.0, p.Sub(ring[(i+1)%len(ring)]).Norm(), "each is beside the next")
	}
	assert.Nil(t, ringOf(grid[:2], 4))
}

func TestLensOfAnyKind(t *testing.T) {
	tall, odd := barrel(1080, 1920, 0.02), barrel(640, 480, -0.3)
	odd.Boards, odd.Curve, odd.Name = nil, nil, "a lens with a very long name that goes on and on"
	odd.Bend = func(geometry.Point) geometry.Point { return geometry.Point{X: math.NaN(), Y: math.Inf(1)} }
	for _, n := range []Lens{tall, odd} {
		for _, w := range []int{MinWidth, 900} {
			img, err := DrawLens(n, Options{Width: w})
			require.NoError(t, err)
			assert.Equal(t, w, img.Bounds().Dx())
			second, err := DrawLens(n, Options{Width: w})
			require.NoError(t, err)
			assert.Equal(t, img.(*image.RGBA).Pix, second.(*image.RGBA).Pix)
		}
	}
	var e *fault.Error
	_, err := DrawLens(Lens{}, Options{})
	require.ErrorAs(t, err, &e)
	_, err = DrawLens(tall, Options{Width: 3})
	require.ErrorAs(t, err, &e)
}
