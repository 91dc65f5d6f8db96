package scene

import "testing"

// Frames of the leap at 1080p, the empty hall drawn beforehand.
func BenchmarkFrame(b *testing.B) {
	for name, shutter := range map[string]float64{"sharp": 0, "blurred": 1.0 / 240} {
		b.Run(name, func(b *testing.B) {
			s, err := Named("leap")
			if err != nil {
				b.Fatal(err)
			}
			s.Shutter = shutter
			s.Frame(0)
			b.ResetTimer()
			for i := range b.N {
				s.draw(i % s.Frames)
			}
		})
	}
}

// The empty hall at 1080p, drawn once for a camera that stands still.
func BenchmarkHall(b *testing.B) {
	s, err := Named("leap")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.set = nil
		s.stage()
	}
}
