package figure

import (
	"image"
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A bare picture has the picture's own pixels except under the covers, where the result
// does not depend on the picture.
func TestBare(t *testing.T) {
	img := image.NewRGBA(image.Rect(3, 5, 643, 485)) // its corner is not (0, 0)
	for i := range img.Pix {
		img.Pix[i] = byte(i*7 + i/641)
	}
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = 255
	}
	part := image.Rect(100, 60, 500, 360)
	out, err := Bare(img, Options{Width: part.Dx(), Part: part})
	require.NoError(t, err)
	require.Equal(t, part.Size(), out.Bounds().Size())
	for _, p := range []image.Point{{0, 0}, {399, 299}, {200, 150}, {17, 280}} {
		want := img.RGBAAt(3+part.Min.X+p.X, 5+part.Min.Y+p.Y)
		assert.Equal(t, want, color.RGBAModel.Convert(out.At(out.Bounds().Min.X+p.X, out.Bounds().Min.Y+p.Y)), "%v", p)
	}

	c, err := CoverAt(300, 200, 40)
	require.NoError(t, err)
	one, err := Bare(img, Options{Width: 800, Part: part, Covers: []Cover{c}})
	require.NoError(t, err)
	for y := 165; y < 236; y++ {
		for x := 265; x < 336; x++ {
			if (x-300)*(x-300)+(y-200)*(y-200) < 35*35 {
				img.SetRGBA(3+x, 5+y, color.RGBA{0, 255, 0, 255})
			}
		}
	}
	other, err := Bare(img, Options{Width: 800, Part: part, Covers: []Cover{c}})
	require.NoError(t, err)
	assert.Equal(t, one.(*image.RGBA).Pix, other.(*image.RGBA).Pix)

	for _, bad := range []Options{{Width: 3}, {Part: image.Rect(600, 0, 700, 100)}} {
		_, err := Bare(img, bad)
		assert.Error(t, err)
	}
	_, err = Bare(nil, Options{})
	assert.Error(t, err)
}
