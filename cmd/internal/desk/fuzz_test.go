package desk

import (
	"math"
	"testing"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/geometry/camera"
)

// hinted checks that an error has a hint.
func hinted(t *testing.T, err error) {
	h, ok := err.(interface{ Hint() string })
	if !ok || h.Hint() == "" || err.Error() == "" {
		t.Fatalf("an error that says too little: %v", err)
	}
}

func FuzzParseLens(f *testing.F) {
	l := &camera.Lens{Width: 1920, Height: 1080, Fx: 1500, Fy: 1501, Cx: 960, Cy: 540, Dist: [5]float64{-0.1, 0.02}}
	data, _ := l.File(0.2, 10)
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ParseLens("f", data)
		if err != nil {
			hinted(t, err)
			return
		}
		if p, err := l.Undistort(geometry.Point{X: 1, Y: 1}); err == nil && (math.IsNaN(p.X) || math.IsNaN(p.Y)) {
			t.Fatal("no number")
		}
	})
}

func FuzzParseColours(f *testing.F) {
	f.Add("hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff")
	f.Add("hip=#d01ef0,hip=")
	f.Fuzz(func(t *testing.T, list string) {
		seeds, err := parseColours(list)
		if err != nil {
			hinted(t, err)
			return
		}
		for _, s := range seeds {
			if s.Name == "" || s.Colour == nil {
				t.Fatalf("let through: %+v", s)
			}
		}
	})
}

func FuzzSeeds(f *testing.F) {
	f.Add([]byte(`{"schema": "ecart/marks/1", "frame": 43, "marks": [{"landmark": "hip", "x": 965, "y": 470}, {"landmark": "hip", "x": 966, "y": 470}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := reading.ParseMarks("f", data)
		if err != nil {
			hinted(t, err)
			return
		}
		seen := map[string]bool{}
		for _, s := range Seeds(m) {
			if seen[s.Name] || s.Frame < 0 || math.IsNaN(s.At.X) || math.IsInf(s.At.Y, 0) {
				t.Fatalf("let through: %+v", s)
			}
			seen[s.Name] = true
		}
	})
}
