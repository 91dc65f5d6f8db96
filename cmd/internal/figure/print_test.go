package figure

import (
	"image"
	"image/color"
	"math"
	"testing"

	"ecart/cmd/internal/draw"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	xdraw "golang.org/x/image/draw"
)

// luminance is the relative luminance of WCAG 2.2.
func luminance(c color.NRGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestWordsStandOutFromPaper(t *testing.T) {
	// The formula first: black on white is 21 to 1 by WCAG's own definition, and
	// #767676 is widely given as the lightest grey that passes 4.5 on white.
	white := color.NRGBA{255, 255, 255, 255}
	require.InDelta(t, 21, contrast(color.NRGBA{A: 255}, white), 1e-9)
	require.Greater(t, contrast(color.NRGBA{0x76, 0x76, 0x76, 255}, white), 4.5)
	require.Less(t, contrast(color.NRGBA{0x77, 0x77, 0x77, 255}, white), 4.5)

	const least = 4.5 // success criterion 1.4.3
	for name, c := range map[string]color.NRGBA{"ink": draw.Ink, "faint": draw.Faint, "asked": draw.Asked, "asked on a picture": askedOnPicture, "measured": draw.Measured} {
		assert.GreaterOrEqual(t, contrast(c, draw.Paper), least, name)
	}
	// On a picture text has a halo of 92 % paper; the worst background is black.
	mix := func(v uint8) uint8 { return uint8(0.92 * float64(v)) }
	halo := color.NRGBA{mix(draw.Paper.R), mix(draw.Paper.G), mix(draw.Paper.B), 255}
	for name, c := range map[string]color.NRGBA{"ink": draw.Ink, "asked on a picture": askedOnPicture} {
		assert.GreaterOrEqual(t, contrast(c, halo), least, "%s on a black picture", name)
	}
}

// In grey and at phone size the bands differ in darkness.
func TestBandsInGreyPrint(t *testing.T) {
	// the smallest visible difference of grey in a print, about 3 % of the 255 levels
	const apart = 8
	const from, to = 100.0, 200.0
	s := split(1920, 1080, 8, 9.6, 1).skill("split leap", 180, false, []float64{0, 15, 30, 45, 60}, "0.05", "0.10", "0.15", "0.30", "0.50")
	img, err := Ruler(s.r, Options{RangeDeg: [2]float64{from, to}})
	require.NoError(t, err)

	small := image.NewRGBA(image.Rect(0, 0, 400, 400*img.Bounds().Dy()/img.Bounds().Dx()))
	xdraw.CatmullRom.Scale(small, small.Bounds(), img, img.Bounds(), xdraw.Src, nil)
	grey := func(x, y int) float64 { return float64(color.GrayModel.Convert(small.At(x, y)).(color.Gray).Y) }

	// the strip of the bands is found by the mean of its rows: it is the darkest strip of
	// full width
	w := float64(DefaultWidth)
	margin := 0.9 * 13.2 / 400 * w
	col := func(deg float64) int { return int((margin + (w-2*margin)*(deg-from)/(to-from)) * 400 / w) }
	text := 13.2 / 400 * w
	y0 := margin + (2+draw.CurveHigh+draw.OverNotch)*text
	top, bottom := int(y0*400/w)+2, int((y0+draw.BandHigh*text)*400/w)-2
	require.Greater(t, bottom, top+5)

	var dark []float64
	for _, b := range [][2]float64{{183, 196}, {168, 177}, {152, 160}, {137, 148}, {122, 133}, {104, 118}} {
		sum, n := 0.0, 0.0
		for x := col(b[0]); x <= col(b[1]); x++ {
			for y := top; y <= bottom; y++ {
				sum += grey(x, y)
				n++
			}
		}
		dark = append(dark, sum/n)
	}
	for i := 1; i < len(dark); i++ {
		assert.Greater(t, dark[i-1]-dark[i], float64(apart), "band %d against the one before: %v", i, dark)
	}
}
