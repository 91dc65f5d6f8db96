package calibrate

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"ecart/vision/see"
	"ecart/vision/see/seetest"
)

func TestMain(m *testing.M) { os.Exit(seetest.Tests{M: m}.Run()) }

// child is one child program for all tests of this package.
var child see.Child

// opencv holds results of OpenCV 4.6.0 (Debian 12) for the lenses and boards that the
// tests draw from the same seeds: cv::projectPoints; cv::undistortPoints, iterated to
// 1e-12; cv::calibrateCamera without flags, to 1e-14. They are stored in testdata since
// gocv does not have all of these functions.
type opencv struct {
	Projections []struct {
		Lens           lens
		Points         [][3]float64 // in the camera's frame: x right, y down, z forwards
		Bent, Straight [][2]float64 // px
	}
	Fits        []opencvFit
	Photographs opencvFit // left01 to left14, corners as this package finds them
}

type opencvFit struct {
	Parameters, Deviations [parameters]float64 // fx fy cx cy k1 k2 p1 p2 k3
	RMS                    float64             // px
}

func fromOpenCV(t *testing.T) *opencv {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "opencv.json"))
	require.NoError(t, err)
	var o opencv
	require.NoError(t, json.Unmarshal(text, &o))
	require.Len(t, o.Projections, 60)
	require.Len(t, o.Fits, 5)
	return &o
}
