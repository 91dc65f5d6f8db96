package large

import "testing"

// BenchmarkShrunk makes a small picture of a frame of 1080p, as the page does of each frame.
func BenchmarkShrunk(b *testing.B) {
	p := newPlate(1920, 1080)
	for b.Loop() {
		Shrunk(p, p.Rect, 480)
	}
}
