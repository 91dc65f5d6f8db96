package takes

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/vision/calibrate"
	"ecart/vision/calibrate/photographs"
	"ecart/vision/see"
	"ecart/vision/see/seetest"
	"ecart/vision/take"
)

func TestMain(m *testing.M) { os.Exit(seetest.Tests{M: m}.Run()) }

// photographed returns real photographs of a real board with 9 x 6 inner corners.
func photographed(t *testing.T) []calibrate.Picture {
	t.Helper()
	paths, err := photographs.Board(t.Context())
	require.NoError(t, err)
	var child see.Child
	defer child.Close()
	var out []calibrate.Picture
	for _, p := range paths {
		tk, err := take.Open(context.Background(), p)
		require.NoError(t, err)
		f, err := tk.Frame(context.Background(), 0)
		require.NoError(t, err)
		seen, err := calibrate.Look(t.Context(), &child, filepath.Base(p), f.Image(), realBoard)
		require.NoError(t, err)
		require.NoError(t, tk.Close())
		require.NotNil(t, seen.Corners, p)
		out = append(out, seen)
	}
	return out
}

var realBoard = calibrate.Board{Columns: 9, Rows: 6, SquareMm: 25}

// boardAngle is an angle between three corners of a board: steps in columns and
// rows from the corner in the middle to the two others.
type boardAngle struct {
	a, b [2]int
	deg  float64
}

// boardAngles are 90, 45, atan(1/2) and 180 degrees, read clockwise from a to b as
// the board is seen.
var boardAngles = []boardAngle{
	{[2]int{3, 0}, [2]int{0, 3}, 90},
	{[2]int{3, 0}, [2]int{3, 3}, 45},
	{[2]int{4, 0}, [2]int{4, 2}, math.Atan2(1, 2) * 180 / math.Pi},
	{[2]int{3, 0}, [2]int{-3, 0}, 180},
}

// posed is an angle at a corner of one picture.
type posed struct {
	boardAngle
	v, a, b geometry.Point // px
	trunk   geometry.Point // px, on the other side
}

// pose puts the angle somewhere on the board, turned by quarters, away from the
// board's four outer corners, which give the plane.
func (g boardAngle) pose(rng *rand.Rand, p calibrate.Picture) posed {
	outer := func(c, r int) bool { return (c == 0 || c == 8) && (r == 0 || r == 5) }
	for {
		a, b := g.a, g.b
		for range rng.IntN(4) {
			a, b = [2]int{-a[1], a[0]}, [2]int{-b[1], b[0]}
		}
		c, r := rng.IntN(9), rng.IntN(6)
		at := func(d [2]int) (geometry.Point, bool) {
			x, y := c+d[0], r+d[1]
			if x < 0 || y < 0 || x > 8 || y > 5 || outer(x, y) {
				return geometry.Point{}, false
			}
			return p.Corners[9*y+x], true
		}
		v, ok0 := at([2]int{})
		pa, ok1 := at(a)
		pb, ok2 := at(b)
		if !ok0 || !ok1 || !ok2 {
			continue
		}
		// the trunk points away from the middle of the angle
		side := pa.Sub(v).Unit().Add(pb.Sub(v).Unit())
		if g.deg == 180 {
			side = pa.Sub(v).Perp().Scale(1 / pa.Sub(v).Norm()) // either side will do
		}
		trunk := v.Add(side.Unit().Scale(-30))
		return posed{g, v, pa, pb, trunk}
	}
}

// between returns the angle from one line to the other as the points lie, degrees.
func between(v, a, b geometry.Point, about float64) float64 {
	d := geometry.Between(a.Sub(v), b.Sub(v)).Degrees()
	if about == 180 {
		return math.Mod(d+360, 360)
	}
	return math.Abs(d)
}

// bare returns the figures of a reading without a body: nothing is uncertain but where
// the marks are, by sd px each way.
func bare(sd float64) *reading.Priors {
	p := reading.DefaultPriors()
	p.Placement.SDPx = sd
	for _, part := range []any{&p.Landmark, &p.Depth, &p.Plane} {
		silence(reflect.ValueOf(part).Elem())
	}
	return p
}

// silence makes every figure in a part of the priors almost 0.
func silence(v reflect.Value) {
	const nothing = 1e-9
	switch v.Kind() {
	case reflect.Float64:
		v.SetFloat(nothing)
	case reflect.Struct:
		for i := range v.NumField() {
			silence(v.Field(i))
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			if v.Type().Elem().Kind() == reflect.Float64 {
				v.SetMapIndex(k, reflect.ValueOf(nothing).Convert(v.Type().Elem()))
			}
		}
	}
}

// rectangle returns the board's outer corners as the corners of a rectangle: top left
// as seen, top right, bottom right, bottom left.
func rectangle(p calibrate.Picture) *reading.Rectangle {
	c := [4]geometry.Point{p.Corners[0], p.Corners[8], p.Corners[53], p.Corners[45]}
	w, h := 8*realBoard.SquareMm/1000, 5*realBoard.SquareMm/1000
	for top := c[1].Sub(c[0]); top.X <= math.Abs(top.Y); top = c[1].Sub(c[0]) {
		c = [4]geometry.Point{c[3], c[0], c[1], c[2]} // a quarter turn
		w, h = h, w
	}
	out := &reading.Rectangle{WidthM: w, HeightM: h}
	for i, q := range c {
		out.Corners[i] = reading.Pixel{q.X, q.Y}
	}
	return out
}

// read reads the angle through the lens and the plane.
func (g posed) read(t *testing.T, l *camera.Lens, plane *reading.Rectangle, sd float64) *reading.Reading {
	t.Helper()
	m := &reading.Marks{Schema: reading.MarksSchema, Plane: plane}
	for name, p := range map[string]geometry.Point{"hip": g.v, "front-ankle": g.a, "back-ankle": g.b, "shoulder": g.trunk} {
		m.Marks = append(m.Marks, reading.Placement{Landmark: name, X: p.X, Y: p.Y, SDPx: &sd})
	}
	measure, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	r, err := reading.Read(reading.Request{
		Take: reading.Take{Name: "left.jpg", WidthPx: 640, HeightPx: 480}, Still: true, Marks: m, Measure: measure,
		Options: geometry.Options{Leg: "whole"}, Priors: bare(sd), Lens: l, Seed: 1, MaxDraws: 3_000,
	})
	require.NoError(t, err)
	return r
}

// TestAnglesOnARealBoard reads known angles on real photographs, with the lens from all
// the other photographs and the plane from four corners that are not read. The
// intervals hold the truth about 95 times in 100, and each step removes more than half
// of the remaining error.
func TestAnglesOnARealBoard(t *testing.T) {
	const each = 5 // of each angle in each photograph
	ps := photographed(t)
	rng := rand.New(rand.NewPCG(7, 7))
	var raw, lens, plane float64
	in, n := 0, 0
	low, high := math.Inf(1), math.Inf(-1)
	width := 0.0
	for i, p := range ps {
		others := append(append([]calibrate.Picture{}, ps[:i]...), ps[i+1:]...)
		r, err := calibrate.Estimate(others, realBoard)
		require.NoError(t, err)
		rect := rectangle(p)
		straight := func(q geometry.Point) geometry.Point {
			s, err := r.Lens.Undistort(q)
			require.NoError(t, err)
			return s
		}
		for _, g := range boardAngles {
			for range each {
				q := g.pose(rng, p)
				got := q.read(t, r.Lens, rect, r.CornerPx)
				plainly := between(q.v, q.a, q.b, g.deg)
				raw += square(plainly - g.deg)
				lens += square(between(straight(q.v), straight(q.a), straight(q.b), g.deg) - g.deg)
				plane += square(got.AngleDeg - g.deg)
				if g.deg == 90 {
					low, high = math.Min(low, plainly), math.Max(high, plainly)
				}
				if got.IntervalDeg[0] <= g.deg && g.deg <= got.IntervalDeg[1] {
					in++
				}
				width += got.ExpandedUncertaintyDeg
				n++
			}
		}
	}
	rms := func(s float64) float64 { return math.Sqrt(s / float64(n)) }
	t.Logf("root mean square error of %d angles: raw %.2f, with the lens %.2f, with lens and plane %.2f degrees", n, rms(raw), rms(lens), rms(plane))
	t.Logf("right angles read %.1f to %.1f raw; %.1f %% of intervals hold the truth, ± %.2f degrees on average", low, high, 100*float64(in)/float64(n), width/float64(n))
	assert.Less(t, rms(plane), 0.1*rms(raw))
	assert.Less(t, rms(plane), 0.1*rms(lens))
	// the angles of one photograph share its lens, its plane and its sharpness, which
	// differs between photographs: the share scatters by about 0.02, and this is twice that
	const scatter = 0.04
	assert.InDelta(t, 0.95, float64(in)/float64(n), scatter)
}

func square(v float64) float64 { return v * v }
