package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// plane is a homography, row by row.
type plane [9]float64

func (h *plane) apply(p geometry.Point) geometry.Point {
	w := h[6]*p.X + h[7]*p.Y + h[8]
	return geometry.Point{X: (h[0]*p.X + h[1]*p.Y + h[2]) / w, Y: (h[3]*p.X + h[4]*p.Y + h[5]) / w}
}

// homography fits the homography from points to points by the direct linear
// transformation, with both sets centred on their mean and scaled to a mean distance of
// sqrt 2 from it (Hartley 1997, In defense of the eight-point algorithm). It reports
// false if there is none.
func homography(from, to []geometry.Point) (plane, bool) {
	a, ta := centred(from)
	b, tb := centred(to)
	m := mat.NewDense(2*len(a), 9, nil)
	for i := range a {
		x, y, u, v := a[i].X, a[i].Y, b[i].X, b[i].Y
		m.SetRow(2*i, []float64{x, y, 1, 0, 0, 0, -u * x, -u * y, -u})
		m.SetRow(2*i+1, []float64{0, 0, 0, x, y, 1, -v * x, -v * y, -v})
	}
	var svd mat.SVD
	if !svd.Factorize(m, mat.SVDThinV) {
		return plane{}, false
	}
	var v mat.Dense
	svd.VTo(&v)
	h := mat.NewDense(3, 3, mat.Col(nil, 8, &v))
	var inv, out mat.Dense
	if inv.Inverse(tb) != nil {
		return plane{}, false
	}
	out.Product(&inv, h, ta)
	var p plane
	copy(p[:], out.RawMatrix().Data)
	for _, v := range p {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return plane{}, false
		}
	}
	return p, true
}

// centred centres points on their mean and scales them to a mean distance of sqrt 2. t
// is the same transformation for homogeneous coordinates.
func centred(p []geometry.Point) (out []geometry.Point, t *mat.Dense) {
	var mx, my, d float64
	n := float64(len(p))
	for _, q := range p {
		mx, my = mx+q.X/n, my+q.Y/n
	}
	for _, q := range p {
		d += math.Hypot(q.X-mx, q.Y-my) / n
	}
	s := math.Sqrt2 / d
	for _, q := range p {
		out = append(out, geometry.Point{X: s * (q.X - mx), Y: s * (q.Y - my)})
	}
	return out, mat.NewDense(3, 3, []float64{s, 0, -s * mx, 0, s, -s * my, 0, 0, 1})
}
