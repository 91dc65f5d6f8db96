package geometry

import "math"

// Point is a place in the plane: x right, y up, in any unit of length.
type Point struct{ X, Y float64 }

// Sub returns the vector from q to p.
func (p Point) Sub(q Point) Vec { return Vec{p.X - q.X, p.Y - q.Y} }

// Add returns the point reached from p along v.
func (p Point) Add(v Vec) Point { return Point{p.X + v.X, p.Y + v.Y} }

// Mid returns the point half-way between p and q.
func (p Point) Mid(q Point) Point { return Point{p.X/2 + q.X/2, p.Y/2 + q.Y/2} }

// finite reports whether neither coordinate is NaN or infinite.
func (p Point) finite() bool { return !math.IsNaN(p.X-p.X) && !math.IsNaN(p.Y-p.Y) }

// Vec is a displacement or direction in the plane: x right, y up.
type Vec struct{ X, Y float64 }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y} }

// Sub returns v - w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y} }

// Scale returns k v.
func (v Vec) Scale(k float64) Vec { return Vec{k * v.X, k * v.Y} }

// Dot returns the scalar product of v and w.
//
// Each product is rounded before the sum, which prevents a fused multiply-add: the
// same input gives the same bits on every processor.
func (v Vec) Dot(w Vec) float64 { return float64(v.X*w.X) + float64(v.Y*w.Y) }

// Cross returns v.X*w.Y - v.Y*w.X, which is positive where w lies
// counter-clockwise of v, and rounds like Dot.
func (v Vec) Cross(w Vec) float64 { return float64(v.X*w.Y) - float64(v.Y*w.X) }

// Norm returns the length of v, computed without intermediate overflow.
func (v Vec) Norm() float64 { return math.Hypot(v.X, v.Y) }

// Unit returns the vector of length 1 along v; the zero vector gives NaN.
func (v Vec) Unit() Vec {
	n := v.Norm()
	return Vec{v.X / n, v.Y / n}
}

// Perp returns v turned a quarter counter-clockwise.
func (v Vec) Perp() Vec { return Vec{-v.Y, v.X} }

// Line is a directed line segment, such as a body segment.
type Line struct{ From, To Point }

// Vec returns the vector along the line.
func (l Line) Vec() Vec { return l.To.Sub(l.From) }

// Length returns the line's length.
func (l Line) Length() float64 { return l.Vec().Norm() }

// Between returns the angle from a to b in (-pi, pi], counter-clockwise
// positive:
//
//	atan2(a x b, a . b)
//
// It is accurate near 0 and near pi. It is NaN if either vector is zero or not
// finite. It is not defined for lengths whose product leaves the range of float64;
// [Measure.Bind] refuses them.
func Between(a, b Vec) Angle {
	cross, dot := a.Cross(b), a.Dot(b)
	if cross == 0 && dot == 0 {
		return Angle(math.NaN())
	}
	t := Angle(math.Atan2(cross, dot))
	if t <= -halfTurn {
		return halfTurn
	}
	return t
}
