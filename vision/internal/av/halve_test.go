package av

import (
	"encoding/binary"
	"fmt"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// waves returns a smooth picture within black and white: it changes by less than half a level of 255 per pixel.
func waves(form Picture) *Picture {
	p := form
	for i := range p.planes() {
		w, h := p.planeSize(i)
		n := p.rowBytes(i)
		p.Stride[i], p.Planes[i] = n, make([]byte, n*h)
		sx, sy := 1, 1
		if i > 0 {
			sx, sy = 1<<p.ShiftX, 1<<p.ShiftY
		}
		for y := range h {
			for x := range w {
				wave := math.Sin(float64(sx*x)/120+float64(i)) * math.Cos(float64(sy*y)/90)
				v := 128 + 40*wave
				if p.Depth == 8 {
					p.Planes[i][y*n+x] = byte(math.Round(v))
				} else {
					binary.NativeEndian.PutUint16(p.Planes[i][y*n+2*x:], uint16(math.Round(math.Ldexp(v, p.Depth-8))))
				}
			}
		}
	}
	return &p
}

// TestHalved compares halved pictures with block means of the converted pixels, in every orientation and at random
// sizes.
func TestHalved(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		form := Picture{
			Layout: Layout(rapid.IntRange(0, 1).Draw(rt, "layout")),
			Width:  rapid.IntRange(1, 90).Draw(rt, "w"), Height: rapid.IntRange(1, 70).Draw(rt, "h"),
			Depth: rapid.SampledFrom([]int{8, 10, 16}).Draw(rt, "depth"), Space: SpaceBT709,
			Siting: Siting(rapid.IntRange(0, 2).Draw(rt, "siting")),
		}
		if form.Layout == YUV {
			form.ShiftX = rapid.IntRange(0, 1).Draw(rt, "sx")
			form.ShiftY = rapid.IntRange(0, form.ShiftX).Draw(rt, "sy")
		}
		p := waves(form)
		whole := image.NewRGBA(p.Upright(1))
		p.Convert(whole, 1)
		times := rapid.IntRange(0, 3).Draw(rt, "times")
		small := p.Halved(times)
		w, h := p.Width, p.Height
		for range times {
			w, h = max(1, w/2), max(1, h/2)
		}
		require.Equal(rt, [2]int{w, h}, [2]int{small.Width, small.Height})
		got := image.NewRGBA(small.Upright(1))
		small.Convert(got, 1)
		bw, bh := min(1<<times, p.Width), min(1<<times, p.Height)
		off := 0.0 // of all colours, levels
		for y := range h {
			for x := range w {
				var sum [3]int
				for j := range bh {
					for i := range bw {
						c := whole.RGBAAt(x<<times+i, y<<times+j)
						sum[0], sum[1], sum[2] = sum[0]+int(c.R), sum[1]+int(c.G), sum[2]+int(c.B)
					}
				}
				c := got.RGBAAt(x, y)
				// each halving rounds luma and chroma by at most half a level, times 1.2 and 2.1 for blue; conversion
				// rounds once, and chroma lies up to a pixel off
				most := 2 + 1.65*float64(times)
				if x < 2 || y < 2 || x >= w-2 || y >= h-2 {
					most += 4 // no chroma beyond the edge: up to 4 pixels off
				}
				for k, v := range [3]byte{c.R, c.G, c.B} {
					off += float64(v) - float64(sum[k])/float64(bw*bh)
					require.InDelta(rt, float64(sum[k])/float64(bw*bh), float64(v), most, "pixel %d,%d of %dx%d, colour %d", x, y, w, h, k)
				}
			}
		}
		if w > 8 && h > 8 {
			require.InDelta(rt, 0, off/float64(3*w*h), 1, "brighter or darker as a whole")
		}
		o := Orientation(rapid.IntRange(1, 8).Draw(rt, "orientation"))
		turned := image.NewRGBA(small.Upright(o))
		small.Convert(turned, o)
		assert.Equal(rt, image.Pt(w, h) == image.Pt(h, w) || !o.swaps(), turned.Rect == got.Rect)
	})
}

// TestHalvedOfOneColour: a picture of one colour keeps it at any size and depth, and RGBA gives nil.
func TestHalvedOfOneColour(t *testing.T) {
	for _, depth := range []int{8, 10, 12, 16} {
		for _, size := range []image.Point{{1, 1}, {2, 1}, {3, 5}, {17, 33}, {640, 361}} {
			p := Picture{Layout: YUV, Width: size.X, Height: size.Y, Depth: depth, ShiftX: 1, ShiftY: 1, Space: SpaceBT709}
			for i := range p.planes() {
				_, h := p.planeSize(i)
				n := p.rowBytes(i)
				p.Stride[i], p.Planes[i] = n, make([]byte, n*h)
				for j := range p.Planes[i] {
					p.Planes[i][j] = byte(90 + 20*i)
					if depth > 8 && j%2 == 1 {
						p.Planes[i][j] = byte(1 << (depth - 9))
					}
				}
			}
			whole := image.NewRGBA(p.Upright(1))
			p.Convert(whole, 1)
			for times := range 4 {
				small := p.Halved(times)
				got := image.NewRGBA(small.Upright(1))
				small.Convert(got, 1)
				for i, v := range got.Pix {
					require.Equal(t, whole.Pix[i%4], v, fmt.Sprint(depth, size, times, i))
				}
			}
		}
	}
	assert.Nil(t, (&Picture{Layout: RGBA, Width: 4, Height: 4, Depth: 8}).Halved(1))
}
