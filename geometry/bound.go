package geometry

import "math"

// maxPoints is the most points that a measure uses: two lines with no shared end.
const maxPoints = 4

// Bound is a measure matched with the marks of one frame. The sense of the angle was
// decided from those marks and stays the same for every set of points.
type Bound struct {
	names       [maxPoints]string
	n           int
	lines       [2]LineRef
	sense       float64 // +1 counter-clockwise from the first line to the second
	within      Range
	deciders    []string
	assumptions []string
}

// LineRef is one of the two lines: From and To are indices into the list of points.
// If To is -1, the line runs from From in the direction Fixed. Mirrored stands for the
// line's mirror image in the vertical through From.
type LineRef struct {
	From, To int
	Fixed    Vec
	Mirrored bool
}

// Landmarks returns the names of the marks used, in the order that points have in
// Angle, Near and Partials.
func (b *Bound) Landmarks() []string { return append([]string(nil), b.names[:b.n]...) }

// Deciders returns the names of the marks that are on neither line but decided the
// sense of the angle.
func (b *Bound) Deciders() []string { return append([]string(nil), b.deciders...) }

// Assumptions returns a sentence for each assumption made because no mark or option
// decided it.
func (b *Bound) Assumptions() []string { return append([]string(nil), b.assumptions...) }

// Lines returns the two lines.
func (b *Bound) Lines() [2]LineRef { return b.lines }

// Turn returns +1 if a positive angle opens counter-clockwise (y up) from the
// first line to the second, else -1.
func (b *Bound) Turn() int { return int(b.sense) }

// Angle returns the angle at the points, in the measure's range. It is NaN if the
// two ends of a line coincide or a coordinate is not finite.
func (b *Bound) Angle(pts []Point) Angle {
	return b.within.Wrap(b.signedAngle(pts)) + 0 // turns -0 into 0
}

// Near returns the angle at the points, unwrapped so that it lies within pi of
// about; it may lie outside the measure's range, and a magnitude may be negative.
// It is NaN where Angle is. It allocates nothing.
func (b *Bound) Near(pts []Point, about Angle) Angle { return b.signedAngle(pts).Near(about) }

// signedAngle returns the angle in [-pi, pi], positive in the sense that Bind chose.
func (b *Bound) signedAngle(pts []Point) Angle {
	return Angle(b.sense) * Between(b.vec(0, pts), b.vec(1, pts))
}

func (b *Bound) vec(line int, pts []Point) Vec {
	l := &b.lines[line]
	if l.To < 0 {
		return l.Fixed
	}
	v := pts[l.To].Sub(pts[l.From])
	if l.Mirrored {
		v.X = -v.X
	}
	return v
}

// Partials sets grad[i] to the derivative of the angle with respect to point i,
// in radians per unit of length:
//
//	d/d(to) = s Perp(v) / |v|^2,  d/d(from) = -d/d(to)
//
// summed over the two lines, with s = sense for the second line and -sense for the
// first, the sign changed for a mirrored line; a fixed direction adds nothing. They are
// NaN if the ends of a line coincide. It allocates nothing, and panics if grad is
// shorter than Landmarks.
func (b *Bound) Partials(pts []Point, grad []Vec) {
	clear(grad[:b.n])
	s := -b.sense
	for i := range b.lines {
		if l := &b.lines[i]; l.To >= 0 {
			v := pts[l.To].Sub(pts[l.From])
			n := v.Norm()
			turn := s
			if l.Mirrored { // it turns the other way
				turn = -s
			}
			g := v.Perp().Scale(1 / n).Scale(turn / n) // in two steps, since n*n overflows or underflows earlier than n
			grad[l.To] = grad[l.To].Add(g)
			grad[l.From] = grad[l.From].Sub(g)
		}
		s = -s
	}
}

// point returns the index of the named landmark in the list of points and adds it if
// it is new.
func (b *Bound) point(name string) int {
	for i := range b.n {
		if b.names[i] == name {
			return i
		}
	}
	b.names[b.n] = name
	b.n++
	return b.n - 1
}

func sign(x float64) float64 { return math.Copysign(1, x) }
