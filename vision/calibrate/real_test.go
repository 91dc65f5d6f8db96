package calibrate

import (
	"image"
	_ "image/jpeg"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/calibrate/photographs"
)

// realPictures returns the board found in photographs of a real board.
func realPictures(t *testing.T) []Picture {
	t.Helper()
	paths, err := photographs.Board(t.Context())
	require.NoError(t, err)
	var out []Picture
	for _, p := range paths {
		f, err := os.Open(p)
		require.NoError(t, err)
		img, _, err := image.Decode(f)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		seen, err := Look(t.Context(), &child, filepath.Base(p), img, Board{Columns: 9, Rows: 6, SquareMm: 25})
		require.NoError(t, err)
		out = append(out, seen)
	}
	return out
}

// In photographs of a real board every board is found, the residual is below 0.2 px,
// that of OpenCV's own finder and fit, and each parameter agrees with that of OpenCV's
// calibrateCamera from the same corners to two combined standard uncertainties.
func TestRealPhotographs(t *testing.T) {
	ps := realPictures(t)
	r, err := Estimate(ps, nine)
	require.NoError(t, err)
	for _, v := range r.Pictures {
		assert.True(t, v.Used && v.Retake == "", "%s: %s", v.Name, v.Retake)
	}
	assert.Less(t, r.ResidualPx, 0.2)
	cv := fromOpenCV(t).Photographs
	for i, p := range r.Parameters {
		assert.InDelta(t, cv.Parameters[i], p.Value, 2*math.Hypot(p.Standard, cv.Deviations[i]), p.Name)
		t.Logf("%s %.5f ± %.5f, OpenCV %.5f ± %.5f", p.Name, p.Value, p.Standard, cv.Parameters[i], cv.Deviations[i])
	}
	t.Logf("residual %.3f px, a corner %.3f px, disagreement %.2f", r.ResidualPx, r.CornerPx, r.Disagreement)
	// left_intrinsics.yml, in the package of the photographs, states for this camera
	// 535.9 px and k1 -0.266, estimated with a fixed ratio of the focal lengths
	assert.InDelta(t, 535.9, r.Lens.Fx, 5)
	assert.InDelta(t, -0.266, r.Lens.Dist[0], 0.03)
}

// Two halves of the photographs give the same lens: each parameter to three standard
// uncertainties of the difference.
func TestHalvesAgree(t *testing.T) {
	ps := realPictures(t)
	var halves [2][]Picture
	for i, p := range ps {
		halves[i%2] = append(halves[i%2], p)
	}
	a, err := Estimate(halves[0], nine)
	require.NoError(t, err)
	b, err := Estimate(halves[1], nine)
	require.NoError(t, err)
	for i := range a.Parameters {
		d := math.Abs(a.Parameters[i].Value - b.Parameters[i].Value)
		assert.Less(t, d, 3*math.Hypot(a.Parameters[i].Standard, b.Parameters[i].Standard), a.Parameters[i].Name)
	}
}
