package av

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// fixed converts to the 16.16 fixed-point numbers of a display matrix.
func fixed(v float64) int32 { return int32(math.Round(v * 65536)) }

// TestFromMatrix applies each matrix to the pixel centres of a small picture by the formula of
// ISO/IEC 14496-12 8.3.2 (as doc comment of FromMatrix) and compares where EXIF's numbering puts
// them.
func TestFromMatrix(t *testing.T) {
	const w, h = 5, 3
	seen := map[Orientation]bool{}
	for _, m := range [][4]float64{
		{1, 0, 0, 1}, {-1, 0, 0, 1}, {-1, 0, 0, -1}, {1, 0, 0, -1},
		{0, 1, 1, 0}, {0, 1, -1, 0}, {0, -1, -1, 0}, {0, -1, 1, 0},
	} {
		a, b, c, d := m[0], m[1], m[2], m[3]
		o, exact := FromMatrix([9]int32{fixed(a), fixed(b), 0, fixed(c), fixed(d), 0, fixed(17), 0, 1 << 30})
		assert.True(t, exact)
		seen[o] = true
		// The translation brings the shown picture to the origin.
		left := math.Min(0, math.Min(a*w, math.Min(c*h, a*w+c*h)))
		top := math.Min(0, math.Min(b*w, math.Min(d*h, b*w+d*h)))
		for q := range h {
			for p := range w {
				pc, qc := float64(p)+0.5, float64(q)+0.5
				x, y := int(math.Floor(a*pc+c*qc-left)), int(math.Floor(b*pc+d*qc-top))
				sp, sq := exifStored(o, x, y, w, h)
				assert.Equal(t, [2]int{p, q}, [2]int{sp, sq}, "matrix %v as orientation %d", m, o)
			}
		}
	}
	assert.Len(t, seen, 8)
}

func TestFromMatrixInexact(t *testing.T) {
	turn := func(degrees float64) [9]int32 {
		s, c := math.Sincos(degrees * math.Pi / 180)
		return [9]int32{fixed(c), fixed(s), 0, fixed(-s), fixed(c), 0, 0, 0, 1 << 30}
	}
	o, exact := FromMatrix(turn(100))
	assert.Equal(t, Orientation(6), o)
	assert.False(t, exact)
	_, exact = FromMatrix([9]int32{})
	assert.False(t, exact)
	o, exact = FromMatrix([9]int32{0, fixed(2), 0, fixed(-2), 0, 0, 0, 0, 1 << 30}) // scaled
	assert.Equal(t, Orientation(6), o)
	assert.True(t, exact)
}
