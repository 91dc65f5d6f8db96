package figure

import (
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/large"

	xdraw "golang.org/x/image/draw"
)

// inParts is a picture that is read in parts; most is the size of the largest part, in pixels.
type inParts struct {
	*image.RGBA
	most int
}

func (p *inParts) Region(r image.Rectangle) *image.RGBA {
	p.most = max(p.most, r.Dx()*r.Dy())
	out := image.NewRGBA(r)
	xdraw.Draw(out, r, p.RGBA, r.Min, xdraw.Src)
	return out
}

// TestLargePictures: a picture that is scaled down in parts shows every point in the same place as one
// that is drawn as a whole, and nothing from under a cover.
func TestLargePictures(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 5003, 3502)) // no multiple of two halvings
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			i := img.PixOffset(x, y)
			img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = uint8(x/20), uint8(y/14), uint8(128+(x/50^y/50)%2*100), 255
		}
	}
	p := &inParts{RGBA: img}
	for name, part := range map[string]image.Rectangle{"the whole": {}, "a part": image.Rect(7, 11, 4905, 3403)} {
		opt := Options{Width: 640, Part: part}
		whole, err := Bare(img, opt)
		require.NoError(t, err)
		parts, err := Bare(large.Of(p), opt)
		require.NoError(t, err)
		require.Equal(t, whole.Bounds(), parts.Bounds(), name)
		a, b := whole.(*image.RGBA).Pix, parts.(*image.RGBA).Pix
		for c := range 2 { // red and green are linear ramps: one level is at least 2.6 pixels of the print
			for i := c; i < len(a); i += 4 {
				require.InDelta(t, int(a[i]), int(b[i]), 1, "%s: pixel %d", name, i/4)
			}
		}
		assert.Less(t, p.most, 2*large.Strip, name)
	}

	c, err := CoverAt(2500, 1700, 200)
	require.NoError(t, err)
	opt := Options{Width: 640, Covers: []Cover{c}}
	one, err := Bare(large.Of(p), opt)
	require.NoError(t, err)
	for y := 1500; y <= 1900; y++ {
		for x := 2300; x <= 2700; x++ {
			if (x-2500)*(x-2500)+(y-1700)*(y-1700) <= 200*200 {
				i := img.PixOffset(x, y)
				img.Pix[i], img.Pix[i+1], img.Pix[i+2] = 255, 0, 255
			}
		}
	}
	other, err := Bare(large.Of(p), opt)
	require.NoError(t, err)
	assert.Equal(t, one.(*image.RGBA).Pix, other.(*image.RGBA).Pix, "what lies under a cover shows")
}
