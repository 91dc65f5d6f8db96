package camera

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// Plane maps pixels to the plane of a rectangle of known size whose four corners are
// visible, by the homography through the corners.
//
// Coordinates in the plane have the unit of the rectangle's size, X along its width, Y
// up its height and the origin at its centre.
type Plane struct {
	width, height float64
	to            [9]float64 // plane to pixel, row by row, homogeneous
	from          [9]float64 // pixel to plane
}

// NewPlane returns the plane of a rectangle of the given size whose corners appear at
// the given pixels: top left, top right, bottom right, bottom left. It
// checks nothing and allocates nothing; see [CheckCorners].
func NewPlane(corners [4]geometry.Point, width, height float64) Plane {
	// map of the unit square to the quadrilateral (Heckbert 1989, Fundamentals of
	// Texture Mapping and Image Warping, 2.2.3; from memory)
	a, b, c, d := corners[0], corners[1], corners[2], corners[3]
	sx, sy := a.X-b.X+c.X-d.X, a.Y-b.Y+c.Y-d.Y
	dx1, dy1, dx2, dy2 := b.X-c.X, b.Y-c.Y, d.X-c.X, d.Y-c.Y
	det := dx1*dy2 - dx2*dy1
	g, h := (sx*dy2-dx2*sy)/det, (dx1*sy-sx*dy1)/det
	// columns of the map of (u, v, 1), u right and v down in [0, 1]
	u := [3]float64{b.X - a.X + g*b.X, b.Y - a.Y + g*b.Y, g}
	v := [3]float64{d.X - a.X + h*d.X, d.Y - a.Y + h*d.Y, h}
	o := [3]float64{a.X, a.Y, 1}
	p := Plane{width: width, height: height}
	for i := range 3 { // u = X/width + 1/2, v = 1/2 - Y/height
		p.to[3*i] = u[i] / width
		p.to[3*i+1] = -v[i] / height
		p.to[3*i+2] = o[i] + u[i]/2 + v[i]/2
	}
	m := &p.to
	p.from = [9]float64{ // the adjugate is enough: homogeneous coordinates have no scale
		m[4]*m[8] - m[5]*m[7], m[2]*m[7] - m[1]*m[8], m[1]*m[5] - m[2]*m[4],
		m[5]*m[6] - m[3]*m[8], m[0]*m[8] - m[2]*m[6], m[2]*m[3] - m[0]*m[5],
		m[3]*m[7] - m[4]*m[6], m[1]*m[6] - m[0]*m[7], m[0]*m[4] - m[1]*m[3],
	}
	return p
}

func apply(m *[9]float64, p geometry.Point) (q geometry.Point, w float64) {
	w = m[6]*p.X + m[7]*p.Y + m[8]
	return geometry.Point{X: (m[0]*p.X + m[1]*p.Y + m[2]) / w, Y: (m[3]*p.X + m[4]*p.Y + m[5]) / w}, w
}

// At returns the point of the plane seen at the pixel.
func (p *Plane) At(pixel geometry.Point) geometry.Point { q, _ := apply(&p.from, pixel); return q }

// Pixel returns the pixel at which a point of the plane is seen.
func (p *Plane) Pixel(at geometry.Point) geometry.Point { q, _ := apply(&p.to, at); return q }

// slopes returns the derivative of Pixel by the point, px per unit of the plane.
func (p *Plane) slopes(at geometry.Point) [2][2]float64 {
	q, w := apply(&p.to, at)
	m := &p.to
	return [2][2]float64{
		{(m[0] - q.X*m[6]) / w, (m[1] - q.X*m[7]) / w},
		{(m[3] - q.Y*m[6]) / w, (m[4] - q.Y*m[7]) / w},
	}
}

// Scale returns the size of a unit of the plane at a point in it, in px: the square root
// of the area in the picture of a unit square there.
func (p *Plane) Scale(at geometry.Point) float64 {
	j := p.slopes(at)
	return math.Sqrt(math.Abs(j[0][0]*j[1][1] - j[0][1]*j[1][0]))
}

// Tilt returns the angle between the line of sight and the plane's normal, from the
// foreshortening at the rectangle's centre: 0 is seen square on, 90 degrees edge-on.
func (p *Plane) Tilt() geometry.Angle {
	j := p.slopes(geometry.Point{})
	s := j[0][0]*j[0][0] + j[0][1]*j[0][1] + j[1][0]*j[1][0] + j[1][1]*j[1][1]
	d := j[0][0]*j[1][1] - j[0][1]*j[1][0]
	r := math.Sqrt(math.Max(0, s*s/4-d*d))
	return geometry.Angle(math.Atan2(math.Sqrt(2*r), math.Sqrt(math.Max(0, s/2-r))))
}

// Eye returns the camera's centre in the plane's coordinates (Z towards the camera) for
// a focal length in pixels and a principal point: H = K [r1 r2 t], with K the pinhole's
// matrix, has the centre -R' t. If the focal length does not fit the corners, r1 and r2
// differ in length and are not perpendicular; their geometric mean length and the
// normal of the plane they span are used then.
func (p *Plane) Eye(focal float64, principal geometry.Point) (at geometry.Point, z float64) {
	var b [3][3]float64 // columns
	for c := range 3 {
		w := p.to[6+c]
		b[c] = [3]float64{(p.to[c] - principal.X*w) / focal, (p.to[3+c] - principal.Y*w) / focal, w}
	}
	dot := func(u, v [3]float64) float64 { return u[0]*v[0] + u[1]*v[1] + u[2]*v[2] }
	r1, r2, t := b[0], b[1], b[2]
	r3 := [3]float64{r1[1]*r2[2] - r1[2]*r2[1], r1[2]*r2[0] - r1[0]*r2[2], r1[0]*r2[1] - r1[1]*r2[0]}
	g11, g12, g22 := dot(r1, r1), dot(r1, r2), dot(r2, r2)
	t1, t2 := -dot(t, r1), -dot(t, r2)
	det := g11*g22 - g12*g12
	at = geometry.Point{X: (t1*g22 - t2*g12) / det, Y: (t2*g11 - t1*g12) / det}
	unit := math.Sqrt(math.Sqrt(g11 * g22)) // length of a unit of the plane
	z = math.Abs(dot(t, r3)) / math.Sqrt(dot(r3, r3)) / unit
	return at, z
}

// PlanePoint is a point of the plane with its derivatives by the pixel (2 x 2) and by
// the pixel of each corner (right, down).
type PlanePoint struct {
	At       geometry.Point
	ByPixel  [2][2]float64
	ByCorner [4][2]geometry.Vec
}

// Differentiate is At with derivatives. With the pixel fixed, dX = -(dp/dX)^-1 dp,
// where dp is the shift of the pixel of point X when the corners shift, from the
// differentiated linear equations of the homography.
func (p *Plane) Differentiate(pixel geometry.Point) PlanePoint {
	out := PlanePoint{At: p.At(pixel)}
	j := p.slopes(out.At)
	det := j[0][0]*j[1][1] - j[0][1]*j[1][0]
	inv := [2][2]float64{{j[1][1] / det, -j[0][1] / det}, {-j[1][0] / det, j[0][0] / det}}
	out.ByPixel = inv

	// eight equations h (X, Y, 1)' - pixel * (h31 X + h32 Y + 1) = 0, two a corner
	scale := p.to[8]
	corners := [4]geometry.Point{{X: -p.width / 2, Y: p.height / 2}, {X: p.width / 2, Y: p.height / 2},
		{X: p.width / 2, Y: -p.height / 2}, {X: -p.width / 2, Y: -p.height / 2}}
	row := func(at, px geometry.Point, axis int) []float64 {
		r := make([]float64, 8)
		v := px.X
		if axis == 1 {
			v = px.Y
		}
		r[3*axis], r[3*axis+1], r[3*axis+2] = at.X, at.Y, 1
		r[6], r[7] = -v*at.X, -v*at.Y
		return r
	}
	a := mat.NewDense(8, 8, nil)
	right := mat.NewDense(8, 8, nil)
	for k, c := range corners {
		px := p.Pixel(c)
		w := (p.to[6]*c.X + p.to[7]*c.Y + p.to[8]) / scale
		for axis := range 2 {
			a.SetRow(2*k+axis, row(c, px, axis))
			right.Set(2*k+axis, 2*k+axis, w)
		}
	}
	var dh mat.Dense
	if err := dh.Solve(a, right); err != nil {
		nan := geometry.Vec{X: math.NaN(), Y: math.NaN()}
		for k := range out.ByCorner {
			out.ByCorner[k] = [2]geometry.Vec{nan, nan}
		}
		return out
	}
	w := (p.to[6]*out.At.X + p.to[7]*out.At.Y + p.to[8]) / scale
	for k := range 8 {
		var d [2]float64
		for axis := range 2 {
			for i, r := range row(out.At, pixel, axis) {
				d[axis] += r * dh.At(i, k) / w
			}
		}
		out.ByCorner[k/2][k%2] = geometry.Vec{X: -(inv[0][0]*d[0] + inv[0][1]*d[1]), Y: -(inv[1][0]*d[0] + inv[1][1]*d[1])}
	}
	return out
}
