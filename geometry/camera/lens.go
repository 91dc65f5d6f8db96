package camera

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// LensParameters is how many parameters a lens has: fx, fy, cx, cy, k1, k2,
// p1, p2, k3, in this order everywhere.
const LensParameters = 9

// Lens is a pinhole camera with the distortion model of Brown and Conrady,
// coefficients in OpenCV's order. With x = X/Z, y = Y/Z (y down) and
// r^2 = x^2 + y^2:
//
//	x' = x (1 + k1 r^2 + k2 r^4 + k3 r^6) + 2 p1 x y + p2 (r^2 + 2 x^2)
//	y' = y (1 + k1 r^2 + k2 r^4 + k3 r^6) + p1 (r^2 + 2 y^2) + 2 p2 x y
//	pixel = (fx x' + cx, fy y' + cy)
type Lens struct {
	Width, Height  int           // of the upright pictures that it applies to, px
	Fx, Fy, Cx, Cy float64       // px
	Dist           [5]float64    // k1, k2, p1, p2, k3
	Covariance     *mat.SymDense // of the nine parameters; nil: unknown
}

// ErrBeyondLens says that no ray through the lens reaches a pixel: the distortion
// model does not extend that far out.
var ErrBeyondLens = errors.New("the lens does not show anything there")

// Bend distorts a normalised point (x, y) with the coefficients k1, k2, p1, p2, k3. It
// returns the distorted point and its Jacobian by x and y.
func Bend(dist *[5]float64, x, y float64) (xd, yd float64, j [2][2]float64) {
	k1, k2, p1, p2, k3 := dist[0], dist[1], dist[2], dist[3], dist[4]
	r2 := x*x + y*y
	radial := 1 + r2*(k1+r2*(k2+r2*k3))
	slope := k1 + r2*(2*k2+3*r2*k3) // d radial / d r2
	xd = x*radial + 2*p1*x*y + p2*(r2+2*x*x)
	yd = y*radial + p1*(r2+2*y*y) + 2*p2*x*y
	j[0][0] = radial + 2*x*x*slope + 2*p1*y + 6*p2*x
	j[0][1] = 2*x*y*slope + 2*p1*x + 2*p2*y
	j[1][0] = j[0][1]
	j[1][1] = radial + 2*y*y*slope + 6*p1*y + 2*p2*x
	return xd, yd, j
}

// Distort returns the pixel at which the lens shows what a pinhole of the same focal
// length would show at px.
func (l *Lens) Distort(px geometry.Point) geometry.Point {
	xd, yd, _ := Bend(&l.Dist, (px.X-l.Cx)/l.Fx, (px.Y-l.Cy)/l.Fy)
	return geometry.Point{X: l.Fx*xd + l.Cx, Y: l.Fy*yd + l.Cy}
}

// Undistort returns the pixel at which a pinhole of the same focal length would show
// what the lens shows at px: the inverse of Distort, by Newton's method, to 1e-10 px.
// It fails with ErrBeyondLens where the distortion function folds over, that is, is no
// longer invertible.
func (l *Lens) Undistort(px geometry.Point) (geometry.Point, error) {
	x, y, _, err := l.straighten(px)
	return geometry.Point{X: l.Fx*x + l.Cx, Y: l.Fy*y + l.Cy}, err
}

// straighten returns the undistorted point in normalised coordinates and the Jacobian of
// the distortion there.
func (l *Lens) straighten(px geometry.Point) (x, y float64, j [2][2]float64, err error) {
	const (
		maxSteps  = 50
		tolerance = 1e-13 // in units of the focal length
	)
	u, v := (px.X-l.Cx)/l.Fx, (px.Y-l.Cy)/l.Fy
	x, y = u, v
	for range maxSteps {
		xd, yd, j := Bend(&l.Dist, x, y)
		ex, ey := u-xd, v-yd
		det := j[0][0]*j[1][1] - j[0][1]*j[1][0]
		// past the fold the image is mirrored: no real ray arrives there
		if !(det > 0) || j[0][0]+j[1][1] <= 0 {
			return x, y, j, ErrBeyondLens
		}
		dx, dy := (ex*j[1][1]-ey*j[0][1])/det, (ey*j[0][0]-ex*j[1][0])/det
		// limit the step to half the radius, so that a far corner does not step across
		// the fold
		if step, limit := math.Hypot(dx, dy), 0.5*math.Hypot(x, y)+0.05; step > limit {
			dx, dy = dx*limit/step, dy*limit/step
		}
		x, y = x+dx, y+dy
		if math.Abs(dx)+math.Abs(dy) < tolerance {
			_, _, j = Bend(&l.Dist, x, y)
			return x, y, j, nil
		}
	}
	return x, y, j, ErrBeyondLens
}

// Straightened is an undistorted pixel with its derivatives by the distorted pixel
// (2 x 2) and by each of the nine parameters.
type Straightened struct {
	At         geometry.Point
	ByPixel    [2][2]float64
	Parameters [LensParameters]geometry.Vec
}

// Differentiate is Undistort with derivatives, by implicit differentiation: with
// the pixel u(x; q) = fx x'(x; k) + cx held, dx = -(du/dx)^-1 du/dq. The point
// returned is in the pixels of the pinhole with the parameters at their means,
// so that a change of focal length appears only as a change of the ray's direction.
func (l *Lens) Differentiate(px geometry.Point) (Straightened, error) {
	x, y, j, err := l.straighten(px)
	if err != nil {
		return Straightened{}, err
	}
	out := Straightened{At: geometry.Point{X: l.Fx*x + l.Cx, Y: l.Fy*y + l.Cy}}
	det := j[0][0]*j[1][1] - j[0][1]*j[1][0]
	// inverse of the Jacobian of normalised coordinates
	inv := [2][2]float64{{j[1][1] / det, -j[0][1] / det}, {-j[1][0] / det, j[0][0] / det}}
	f := [2]float64{l.Fx, l.Fy}
	for a := range 2 {
		for b := range 2 {
			out.ByPixel[a][b] = f[a] * inv[a][b] / f[b]
		}
	}
	r2 := x*x + y*y
	xd, yd, _ := Bend(&l.Dist, x, y)
	// by is the derivative of the distorted pixel, in focal lengths, by each parameter
	by := [LensParameters][2]float64{
		{xd / l.Fx, 0}, {0, yd / l.Fy}, {1 / l.Fx, 0}, {0, 1 / l.Fy},
		{x * r2, y * r2}, {x * r2 * r2, y * r2 * r2},
		{2 * x * y, r2 + 2*y*y}, {r2 + 2*x*x, 2 * x * y},
		{x * r2 * r2 * r2, y * r2 * r2 * r2},
	}
	for k, d := range by {
		out.Parameters[k] = geometry.Vec{
			X: -l.Fx * (inv[0][0]*d[0] + inv[0][1]*d[1]),
			Y: -l.Fy * (inv[1][0]*d[0] + inv[1][1]*d[1]),
		}
	}
	return out, nil
}

// Scale returns the lens for pictures of another size and the same aspect ratio: the
// same camera, with its pictures resized. Pixel (0, 0) is the centre of the corner
// pixel, so the picture's corner at (-0.5, -0.5) stays fixed. Another aspect ratio is
// an error.
func (l *Lens) Scale(width, height int) (*Lens, error) {
	if l.Width == width && l.Height == height {
		return l, nil
	}
	sx, sy := float64(width)/float64(l.Width), float64(height)/float64(l.Height)
	// sizes in whole pixels put the ratio off by up to one pixel in the shorter side
	if math.Abs(sx/sy-1) > 1/float64(min(width, height, l.Width, l.Height)) {
		return nil, fmt.Errorf("the lens is for pictures of %d x %d and not for %d x %d, which has another shape", l.Width, l.Height, width, height)
	}
	s := *l
	s.Width, s.Height = width, height
	s.Fx, s.Fy = l.Fx*sx, l.Fy*sy
	s.Cx, s.Cy = (l.Cx+0.5)*sx-0.5, (l.Cy+0.5)*sy-0.5
	if l.Covariance != nil {
		c := mat.NewSymDense(LensParameters, nil)
		by := [LensParameters]float64{sx, sy, sx, sy, 1, 1, 1, 1, 1}
		for i := range LensParameters {
			for k := i; k < LensParameters; k++ {
				c.SetSym(i, k, l.Covariance.At(i, k)*by[i]*by[k])
			}
		}
		s.Covariance = c
	}
	return &s, nil
}
