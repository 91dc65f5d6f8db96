package sticker

import (
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// shareOf is the share of a pixel by its definition: the mean over points of its square and over the
// streak of the normal distribution function of how deep each point lies, in blurs. How fast the rim
// is crossed there, B d / |B d| along its normal, is taken from the outline as it stands.
func shareOf(o, stands outline, x, y float64) float64 {
	const square, streak = 8, 240
	sum, count := 0.0, 0.0
	from := func(o *outline, x, y, off float64) (m *mat.SymDense, e *mat.VecDense) {
		m, e = mat.NewSymDense(2, []float64{o.b[0], o.b[1], o.b[1], o.b[2]}), new(mat.VecDense)
		e.MulVec(m, mat.NewVecDense(2, []float64{x - o.at.X - off*o.long*o.way.X, y - o.at.Y - off*o.long*o.way.Y}))
		return m, e
	}
	for n := range streak {
		off := (float64(n)+0.5)/streak - 0.5
		for a := range square {
			for b := range square {
				px, py := x+(float64(a)+0.5)/square-0.5, y+(float64(b)+0.5)/square-0.5
				_, e := from(&o, px, py, off)
				m, e0 := from(&stands, px, py, off)
				var g mat.VecDense
				g.MulVec(m, e0)
				depth := (1 - mat.Norm(e, 2)) * mat.Norm(e0, 2) / mat.Norm(&g, 2)
				sum += 0.5 * math.Erfc(-depth/o.blur/math.Sqrt2)
				count++
			}
		}
	}
	return sum / count
}

// evaluated are the share and its slopes in pixels of a box about the outline, and whether each is on
// the rim.
func evaluated(o outline, half int) *fitter {
	var t fitter
	t.set(o)
	t.scale = o.radius()
	t.near = geometry.Point{X: math.Round(o.at.X), Y: math.Round(o.at.Y)}
	t.box = around(o.at, half)
	t.take(1e6, t.band())
	t.shares()
	return &t
}

var outlines = []outline{
	{at: geometry.Point{X: 3010.3, Y: 1502.8}, b: [3]float64{1.0 / 9, 0, 1.0 / 9}, blur: 0.4, way: geometry.Vec{X: 1}},
	{at: geometry.Point{X: 20.1, Y: 21.4}, b: [3]float64{1.0 / 12, 0.02, 1.0 / 9}, blur: 1.1, way: geometry.Vec{X: 0.6, Y: 0.8}, long: 2.2},
	{at: geometry.Point{X: 20.1, Y: 21.4}, b: [3]float64{1.0 / 8, -0.01, 1.0 / 10}, blur: 0.9, way: geometry.Vec{X: -0.28, Y: 0.96}, long: 9},
}

// Shares and slopes are those of the definition, its integrals taken point by point.
func TestShares(t *testing.T) {
	const (
		near  = 4e-3 // of the places for square and streak, up to 1.6 blurs apart, and of the ends cut off the normal distribution
		slope = 0.02 // the same for a derivative, as a part of the largest one
		drawn = 0.1  // that by the streak's length, which a few places stand for
		step  = 1e-3
	)
	rnd := rand.New(rand.NewPCG(7, 8))
	for n, o := range outlines {
		f := evaluated(o, 18)
		p := &f.pixels
		require.Positive(t, p.rim)
		require.Equal(t, 37*37, p.n)
		for range 25 {
			i := rnd.IntN(p.n)
			x, y := float64(f.box.Min.X)+float64(p.col[i]), float64(f.box.Min.Y)+float64(p.row[i])
			assert.InDelta(t, shareOf(o, o, x, y), p.column(columnShare)[i], near, "outline %d at %.0f, %.0f", n, x, y)
			if i >= p.rim {
				continue
			}
			for k := range shapeCount {
				a, b := o, o
				by := step
				switch k {
				case byX:
					a.at.X, b.at.X = a.at.X+step, b.at.X-step
				case byY:
					a.at.Y, b.at.Y = a.at.Y+step, b.at.Y-step
				case byBlur:
					a.blur, b.blur = o.blur*math.Exp(step), o.blur*math.Exp(-step)
				case byLong:
					if a.long += step; o.long < step { // no streak is shorter than none
						continue
					}
					b.long -= step
				default:
					a.b[k-byB11] += step / f.scale
					b.b[k-byB11] -= step / f.scale
				}
				want := (shareOf(a, o, x, y) - shareOf(b, o, x, y)) / (2 * by)
				of := p.column(columnSlope + k)[:p.rim]
				part := slope
				if k == byLong {
					part = drawn
				}
				assert.InDelta(t, want, of[i], part*float64(max(slices.Max(of), -slices.Min(of))), "outline %d at %.0f, %.0f, derivative %d", n, x, y, k)
			}
		}
	}
}

// scattered is a fit half way: outline, light, places and noise at random.
func scattered() (*fitter, rimLight) {
	f := evaluated(outlines[1], 17)
	rnd := rand.New(rand.NewPCG(3, 4))
	f.noise = noise{inside: 0.05, around: 0.03, rim: 0.08, alongX: 0.6, alongY: 0.3}
	f.light = [6]float64{1.02, 0.05, -0.03, 0.01, -0.02, 0.04}
	f.origin = f.at
	p := &f.pixels
	m, at := p.column(columnShare), p.column(columnPlace)
	for i := range at {
		at[i] = m[i] + float32(0.05*rnd.NormFloat64())
		if rnd.IntN(9) == 0 { // something else
			at[i] += 0.6 * rnd.Float32()
		}
	}
	return f, f.lit()
}

// derivatives are those of pixel i by all parameters, its error, and its variance without robustness.
func derivatives(f *fitter, i int) (j []float64, err, variance float64) {
	p := &f.pixels
	x := float64(f.box.Min.X) + float64(p.col[i]) - f.origin.X
	y := float64(f.box.Min.Y) + float64(p.row[i]) - f.origin.Y
	u, v, m := x/f.scale, y/f.scale, float64(p.column(columnShare)[i])
	c := f.light
	in, out := c[0]+c[1]*u+c[2]*v, c[3]+c[4]*u+c[5]*v
	for k := range shapeCount {
		d := 0.0
		if i < p.rim {
			d = (in - out) * float64(p.column(columnSlope + k)[i])
		}
		j = append(j, d)
	}
	j = append(j, m, m*u, m*v, 1-m, (1-m)*u, (1-m)*v)
	return j, float64(p.column(columnPlace)[i]) - out - (in-out)*m, f.noise.variance(m)
}

// hampel is the weight of a pixel that lies e standard deviations off.
func hampel(e float64) float64 {
	switch e = math.Abs(e); {
	case e <= 3:
		return 1
	case e <= 6:
		return 3 / e
	case e <= 12:
		return 3 / e * (12 - e) / 6
	}
	return 0
}

const singlePrecision = 2e-5 // of sums over hundreds of pixels, of their largest

// The normal equations are the sums that they are said to be.
func TestSums(t *testing.T) {
	f, l := scattered()
	var h [allCount][allCount]float64
	var g [allCount]float64
	p := &f.pixels
	p.sum(&l, &h, &g)
	want, right := mat.NewSymDense(allCount, nil), mat.NewVecDense(allCount, nil)
	full := mat.NewVecDense(allCount, nil) // what right is the small difference of
	for i := range p.n {
		j, e, v := derivatives(f, i)
		k := hampel(e / math.Sqrt(v))
		assert.InDelta(t, k, p.column(columnKeep)[i], 1e-4)
		assert.InDelta(t, e, p.column(columnErr)[i], 1e-5)
		row := mat.NewVecDense(allCount, j)
		want.SymRankOne(want, k/v, row)
		right.AddScaledVec(right, k/v*e, row)
		for a := range j {
			j[a] = math.Abs(j[a])
		}
		full.AddScaledVec(full, k/v*math.Abs(e), row)
	}
	for a := range allCount {
		assert.InDelta(t, right.AtVec(a), g[a], singlePrecision*full.AtVec(a), "right side %d", a)
		for b := a; b < allCount; b++ {
			assert.InDelta(t, want.At(a, b), h[a][b], singlePrecision*math.Sqrt(want.At(a, a)*want.At(b, b)), "%d %d", a, b)
		}
	}
}

// Neighbours hang together by the sum of their products over that of the squares.
func TestHang(t *testing.T) {
	f, l := scattered()
	var h [allCount][allCount]float64
	var g [allCount]float64
	p := &f.pixels
	p.sum(&l, &h, &g)
	box := map[image.Point]float64{}
	for i := range p.n {
		_, e, v := derivatives(f, i)
		box[image.Point{X: int(p.col[i]), Y: int(p.row[i])}] = math.Sqrt(float64(p.column(columnKeep)[i])/v) * e
	}
	var square, right, below float64
	for at, e := range box {
		square += e * e
		right += e * box[at.Add(image.Point{X: 1})]
		below += e * box[at.Add(image.Point{Y: 1})]
	}
	x, y := p.hang(&l, f.box.Dx(), f.box.Dy())
	assert.InDelta(t, right/square, x, 1e-4)
	assert.InDelta(t, below/square, y, 1e-4)
}

// The covariance is the double sum over all pairs of pixels.
func TestPulls(t *testing.T) {
	f, l := scattered()
	var h [allCount][allCount]float64
	var g [allCount]float64
	p := &f.pixels
	p.sum(&l, &h, &g)
	rnd := rand.New(rand.NewPCG(9, 9))
	var rows [pulled][allCount]float64
	for k := range rows {
		for a := range rows[k] {
			rows[k][a] = rnd.NormFloat64()
		}
	}
	of, cross := p.pull(&l, &rows, &f.noise, f.box.Dx(), f.box.Dy())
	pulls := make([][pulled]float64, p.n)
	for i := range pulls {
		j, _, v := derivatives(f, i)
		for k := range rows {
			for a := range j {
				pulls[i][k] += rows[k][a] * j[a] * float64(p.column(columnWeight)[i]) * math.Sqrt(v)
			}
		}
	}
	var want [pulled]float64
	across := 0.0
	for i := range pulls {
		for j := range pulls {
			rho := math.Pow(f.noise.alongX, math.Abs(float64(p.col[i]-p.col[j]))) * math.Pow(f.noise.alongY, math.Abs(float64(p.row[i]-p.row[j])))
			for k := range want {
				want[k] += pulls[i][k] * pulls[j][k] * rho
			}
			across += pulls[i][0] * pulls[j][1] * rho
		}
	}
	for k := range want {
		assert.InEpsilon(t, want[k], of[k], 1e-3, "quantity %d", k)
	}
	assert.InDelta(t, across, cross, 1e-3*math.Sqrt(want[0]*want[1]))
}

// What the loops work out is the same, to the last bit, in every instruction set.
func TestSameInEveryInstructionSet(t *testing.T) {
	defer plainLoops(false)
	img := randomPixels(60, 50)
	worked := func(plain bool) []any {
		plainLoops(plain)
		var out []any
		for _, o := range outlines {
			out = append(out, evaluated(o, 18).pixels)
		}
		f, l := scattered()
		var h [allCount][allCount]float64
		var g [allCount]float64
		f.pixels.sum(&l, &h, &g)
		of, cross := f.pixels.pull(&l, &[pulled][allCount]float64{{1}, {0, 1}, {0, 0, 1}, {7: 1}, {12: 1}}, &f.noise, f.box.Dx(), f.box.Dy())
		alongX, alongY := f.pixels.hang(&l, f.box.Dx(), f.box.Dy())
		w := window{shift: [2]float32{0.5, 0.1}}
		w.load(Still(img), img.Rect)
		scores := make([]float32, len(w.light))
		best := (&target{hue: hueOf(0.3, 0.1, 0.4), near: 0.02, bright: 0.3}).scores(w.light, scores)
		return append(out, f.pixels, h, g, of, cross, alongX, alongY, w.light, scores, best)
	}
	assert.Equal(t, worked(false), worked(true))
}
