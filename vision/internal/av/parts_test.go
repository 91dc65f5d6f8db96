package av

import (
	"fmt"
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// even is a picture of one colour, in codes of eight bits, with a square of another.
func even(form Picture, back, spot [3]int, at image.Rectangle) *Picture {
	p := noise(form, 1)
	for i := range p.planes() {
		w, h := p.planeSize(i)
		r := at
		if i > 0 {
			r = image.Rect(at.Min.X>>p.ShiftX, at.Min.Y>>p.ShiftY, at.Max.X>>p.ShiftX, at.Max.Y>>p.ShiftY)
		}
		for y := range h {
			for x := range w {
				v := back[i]
				if (image.Point{X: x, Y: y}).In(r) {
					v = spot[i]
				}
				if p.Depth == 8 {
					p.Planes[i][y*p.Stride[i]+x] = byte(v)
				} else {
					p.Planes[i][y*p.Stride[i]+2*x] = byte(v << (p.Depth - 8))
					p.Planes[i][y*p.Stride[i]+2*x+1] = byte(v << (p.Depth - 8) >> 8)
				}
			}
		}
	}
	return p
}

// In codes, BT.709: a grey wall, and a red that is nothing like it.
var wallCode, redCode = [3]int{120, 128, 128}, [3]int{80, 100, 220}

func reddish(r, g, b uint8) bool { return int(r) > int(g)+80 && int(r) > int(b)+80 }

// A thing of the colour is found wherever it lies, and kept with what lies about it to the very bytes;
// what is far from it is grey.
func TestPartsKeepWhatHasTheColour(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		form := Picture{
			Layout: YUV, Width: rapid.IntRange(300, 420).Draw(rt, "w"), Height: rapid.IntRange(300, 420).Draw(rt, "h"),
			Depth: rapid.SampledFrom([]int{8, 10, 12}).Draw(rt, "depth"), Space: SpaceBT709,
			ShiftX: rapid.IntRange(0, 2).Draw(rt, "sx"), ShiftY: rapid.IntRange(0, 1).Draw(rt, "sy"),
			Siting: Siting(rapid.IntRange(0, 6).Draw(rt, "siting")),
		}
		least, margin := rapid.IntRange(8, 20).Draw(rt, "least"), rapid.IntRange(0, 40).Draw(rt, "margin")
		x, y := rapid.IntRange(0, form.Width-least).Draw(rt, "x"), rapid.IntRange(0, form.Height-least).Draw(rt, "y")
		red := image.Rect(x, y, x+least, y+least)
		whole := even(form, wallCode, redCode, red)
		kept := whole.Parts(&Colours{Like: reddish, Margin: margin, Least: least})
		require.NotNil(rt, kept)
		defer kept.Release()
		assert.Less(rt, kept.Bytes(), whole.Bytes()/2)

		o := Orientation(rapid.IntRange(1, 8).Draw(rt, "orientation"))
		want, got := image.NewRGBA(whole.Upright(o)), image.NewRGBA(whole.Upright(o))
		whole.Convert(want, o)
		kept.Convert(got, o)
		copied := image.NewRGBA(whole.Upright(o))
		kept.Copy().Convert(copied, o)
		assert.Equal(rt, got.Pix, copied.Pix)
		part := image.NewRGBA(image.Rect(x/2, y/2, x/2+70, y/2+50))
		kept.Convert(part, o)

		// chroma of a pixel is that of samples up to four pixels away
		near := red.Inset(-margin + 4)
		const square, step, samples = 32, 8, 4
		far := red.Inset(-(margin+step+square-1)/square*square - square - samples)
		for ux := range got.Rect.Dx() {
			for uy := range got.Rect.Dy() {
				px, py := exifStored(o, ux, uy, form.Width, form.Height)
				at := image.Point{X: px, Y: py}
				if at.In(near) {
					require.Equal(rt, want.RGBAAt(ux, uy), got.RGBAAt(ux, uy), "stored pixel %v", at)
				}
				if !at.In(far) {
					c := got.RGBAAt(ux, uy)
					require.True(rt, c.R == c.G && c.G == c.B, "stored pixel %v is %v", at, c)
				}
				if (image.Point{X: ux, Y: uy}).In(part.Rect) {
					require.Equal(rt, got.RGBAAt(ux, uy), part.RGBAAt(ux, uy))
				}
			}
		}
	})
}

// Nothing is gained by keeping most of a picture in parts, and grey pictures have none.
func TestPartsOfWhatIsAllAlike(t *testing.T) {
	all := func(_, _, _ uint8) bool { return true }
	colour := even(Picture{Layout: YUV, Width: 320, Height: 200, Depth: 8, ShiftX: 1, ShiftY: 1}, wallCode, wallCode, image.Rectangle{})
	assert.Nil(t, colour.Parts(&Colours{Like: all, Least: 8}))
	grey := noise(Picture{Layout: Grey, Width: 320, Height: 200, Depth: 8}, 1)
	assert.Nil(t, grey.Parts(&Colours{Like: all, Least: 8}))
	none := colour.Parts(&Colours{Like: reddish, Least: 8})
	require.NotNil(t, none)
	assert.Zero(t, none.Bytes())
	out := image.NewRGBA(none.Upright(1))
	none.Convert(out, 1)
	assert.Equal(t, out.RGBAAt(0, 0), out.RGBAAt(319, 199))
	none.Release()
}

// Raw clips may have samples beyond their depth. They count as the largest of that depth.
func TestSamplesBeyondTheirDepth(t *testing.T) {
	for _, depth := range []int{9, 10, 12, 14} {
		form := Picture{Layout: YUV, Width: 64, Height: 64, Depth: depth, ShiftX: 1, ShiftY: 1, Space: SpaceBT709}
		beyond, largest := noise(form, 1), noise(form, 1)
		for i := range beyond.planes() {
			for n := 0; n < len(beyond.Planes[i]); n += 2 {
				beyond.Planes[i][n], beyond.Planes[i][n+1] = 0xff, 0xff
				top := 1<<depth - 1
				largest.Planes[i][n], largest.Planes[i][n+1] = byte(top), byte(top>>8)
			}
		}
		got, want := image.NewRGBA(beyond.Upright(1)), image.NewRGBA(beyond.Upright(1))
		beyond.Convert(got, 1)
		largest.Convert(want, 1)
		assert.Equal(t, want.Pix, got.Pix, "%d bits", depth)
		parts := beyond.Parts(&Colours{Like: reddish, Least: 8})
		require.NotNil(t, parts)
		parts.Release()
	}
}

func BenchmarkParts1080p(b *testing.B) {
	for _, depth := range []int{8, 10} {
		b.Run(fmt.Sprint(depth, " bit"), func(b *testing.B) {
			p := even(Picture{Layout: YUV, Width: 1920, Height: 1080, Depth: depth, ShiftX: 1, ShiftY: 1}, wallCode, redCode, image.Rect(400, 400, 420, 420))
			of := &Colours{Like: reddish, Margin: 24, Least: 16}
			for b.Loop() {
				p.Parts(of).Release()
			}
		})
	}
}
