package take

import (
	"context"
	"image"
	"image/draw"
	"testing"

	"github.com/stretchr/testify/require"
	"gocv.io/x/gocv"

	"ecart/vision/internal/av"
)

// TestAgainstOpenCV compares the frames of a clip one by one with those of OpenCV's reader.
func TestAgainstOpenCV(t *testing.T) {
	const n = 60
	// Largest difference of the means over a block, levels. OpenCV does not interpolate chroma, which
	// averages out; its fixed-point conversion rounds to about a level.
	const alike = 2.0
	path := encode(t, "a.mp4", n, x264("keyint=20:bframes=3:colormatrix=smpte170m")...)
	other, err := gocv.VideoCaptureFile(path)
	require.NoError(t, err)
	defer other.Close()
	mat := gocv.NewMat()
	defer mat.Close()
	i := 0
	require.NoError(t, open(t, path).Stream(context.Background(), 0, func(f *Frame) error {
		require.True(t, other.Read(&mat), "frame %d", i)
		require.Equal(t, i, f.Index)
		img, err := mat.ToImage()
		require.NoError(t, err)
		want := image.NewRGBA(img.Bounds())
		draw.Draw(want, want.Rect, img, image.Point{}, draw.Src)
		got := f.Image()
		require.Equal(t, want.Rect, got.Rect)
		require.Equal(t, i, readNumber(t, &Frame{picture: picture(want, av.Picture{})}), "OpenCV's frame %d", i)
		const ramp = 8 + 4*block // below the blocks nothing is clipped to black or white
		for x := 0; x+block <= clipW; x += block {
			r := image.Rect(x, ramp, x+block, clipH)
			for c := range 3 {
				require.InDelta(t, mean(want, r, c), mean(got, r, c), alike, "frame %d, %v, channel %d", i, r, c)
			}
		}
		i++
		return nil
	}))
	require.Equal(t, n, i)
	require.False(t, other.Read(&mat), "no frame is left")
}

func mean(img *image.RGBA, r image.Rectangle, channel int) float64 {
	sum := 0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			sum += int(img.Pix[img.PixOffset(x, y)+channel])
		}
	}
	return float64(sum) / float64(r.Dx()*r.Dy())
}
