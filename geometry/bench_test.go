package geometry_test

import (
	"math"
	"testing"

	"ecart/geometry"
)

var splitMarks = marks{"hip": {0.1, 0.9}, "shoulder": {0.1, 1.4}, "front-ankle": {0.95, 0.85}, "back-ankle": {-0.75, 0.8}}

func benchBound(b *testing.B) (geometry.Bound, []geometry.Point) {
	_, bound := read(b, "hip-split", splitMarks, geometry.Options{})
	return bound, points(&bound, splitMarks)
}

var sink geometry.Angle

func BenchmarkNear(b *testing.B) {
	bound, pts := benchBound(b)
	about := bound.Angle(pts)
	b.ReportAllocs()
	for b.Loop() {
		sink = bound.Near(pts, about)
	}
}

// BenchmarkArcTangent is a lower bound for Near: one arc tangent of the same two lines.
func BenchmarkArcTangent(b *testing.B) {
	_, pts := benchBound(b)
	for b.Loop() {
		u, v := pts[1].Sub(pts[0]), pts[2].Sub(pts[0])
		sink = geometry.Angle(math.Atan2(u.Cross(v), u.Dot(v)))
	}
}

func BenchmarkPartials(b *testing.B) {
	bound, pts := benchBound(b)
	grad := make([]geometry.Vec, len(pts))
	b.ReportAllocs()
	for b.Loop() {
		bound.Partials(pts, grad)
	}
}

func BenchmarkBind(b *testing.B) {
	m, _ := geometry.Lookup("hip-split")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Bind(splitMarks, geometry.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
