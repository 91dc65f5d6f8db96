package calibrate

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// drawn renders a board by supersampling: each pixel is the mean of samples x samples
// rays, each black or white by where it meets the board. blur is the standard deviation
// of a normal blur, px.
type drawn struct {
	w, h    int
	board   Board
	focal   float64
	pose    pose // of the board's middle
	blur    float64
	noise   float64 // grey values
	samples int
}

func (d *drawn) lens() *lens {
	return &lens{fx: d.focal, fy: d.focal, cx: float64(d.w-1) / 2, cy: float64(d.h-1) / 2}
}

// truth returns the true positions of the corners.
func (d *drawn) truth() []geometry.Point {
	var out []geometry.Point
	for _, c := range d.board.sheet() {
		out = append(out, d.lens().project(&d.pose, c.at, nil))
	}
	return out
}

func (d *drawn) image() *image.Gray {
	// the homography from the picture to the plane of the board
	var on, px []geometry.Point
	for i, p := range d.truth() {
		c := d.board.sheet()[i].at
		on, px = append(on, geometry.Point{X: c[0], Y: c[1]}), append(px, p)
	}
	back, _ := homography(px, on)
	light := make([]float64, d.w*d.h)
	n := d.samples
	for y := range d.h {
		for x := range d.w {
			sum := 0.0
			for j := range n {
				for i := range n {
					p := back.apply(geometry.Point{X: float64(x) + (float64(i)+0.5)/float64(n) - 0.5, Y: float64(y) + (float64(j)+0.5)/float64(n) - 0.5})
					sum += d.grey(p)
				}
			}
			light[y*d.w+x] = sum / float64(n*n)
		}
	}
	light = blurred(light, d.w, d.h, d.blur)
	rng := rand.New(rand.NewPCG(1, 1))
	img := image.NewGray(image.Rect(0, 0, d.w, d.h))
	for i, v := range light {
		img.Pix[i] = uint8(math.Max(0, math.Min(255, math.Round(v+d.noise*rng.NormFloat64()))))
	}
	return img
}

// grey returns the grey value at a position on the board's plane, in squares from its middle.
func (d *drawn) grey(p geometry.Point) float64 {
	const white, black, wall = 225, 30, 120
	x, y := p.X+float64(d.board.Columns+1)/2, p.Y+float64(d.board.Rows+1)/2
	c, r := int(math.Floor(x)), int(math.Floor(y))
	switch {
	case x < -1 || y < -1 || x > float64(d.board.Columns+2) || y > float64(d.board.Rows+2):
		return wall
	case c >= 0 && r >= 0 && c <= d.board.Columns && r <= d.board.Rows && square(c, r):
		return black
	}
	return white
}

func blurred(v []float64, w, h int, sd float64) []float64 {
	if sd == 0 {
		return v
	}
	reach := int(math.Ceil(4 * sd))
	var weight []float64
	total := 0.0
	for i := -reach; i <= reach; i++ {
		g := math.Exp(-float64(i*i) / (2 * sd * sd))
		weight, total = append(weight, g), total+g
	}
	pass := func(v []float64, n, count, step, jump int) []float64 {
		out := make([]float64, len(v))
		for line := range count {
			for i := range n {
				sum := 0.0
				for k, g := range weight {
					at := min(max(i+k-reach, 0), n-1)
					sum += g * v[line*jump+at*step]
				}
				out[line*jump+i*step] = sum / total
			}
		}
		return out
	}
	return pass(pass(v, w, h, 1, w), h, w, w, 1)
}

// sample returns a tilted board.
func sample() *drawn {
	return &drawn{w: 640, h: 480, board: nine, focal: 700, samples: 6, noise: 2,
		pose: pose{r: rotation(vec{0.4, -0.3, 0.2}), t: vec{0.3, -0.2, 16}}}
}

func off(t *testing.T, want, got []geometry.Point) float64 {
	t.Helper()
	require.Equal(t, len(want), len(got))
	sum := 0.0
	for i := range want {
		v := got[i].Sub(want[i])
		sum += v.Dot(v)
	}
	return math.Sqrt(sum / float64(len(want)))
}

// fine is the largest root mean square distance of the corners found from the true ones:
// the residual of a lens from good pictures is smaller.
const fine = 0.2 // px

func TestCornersAreFound(t *testing.T) {
	for name, change := range map[string]func(*drawn){
		"tilted":      func(*drawn) {},
		"square":      func(d *drawn) { d.pose.r = rotation(vec{}) },
		"turned":      func(d *drawn) { d.pose.r = rotation(vec{0.2, 0.3, 0.6}) },
		"blurred":     func(d *drawn) { d.blur = 1.2 },
		"noisy":       func(d *drawn) { d.noise = 8 },
		"tall board":  func(d *drawn) { d.board = Board{Columns: 5, Rows: 8} },
		"even board":  func(d *drawn) { d.board = Board{Columns: 8, Rows: 6} },
		"larger":      func(d *drawn) { d.w, d.h, d.focal, d.samples = 1600, 1200, 1750, 3 },
		"very large":  func(d *drawn) { d.w, d.h, d.focal, d.samples = 3000, 2250, 3300, 3 },
		"small board": func(d *drawn) { d.pose.t[2] = 40; d.pose.r = rotation(vec{0.1, 0.1, 0}) },
	} {
		t.Run(name, func(t *testing.T) {
			d := sample()
			change(d)
			got, err := Find(t.Context(), &child, d.image(), d.board)
			require.NoError(t, err)
			require.NotNil(t, got)
			assert.Less(t, off(t, d.truth(), got), fine)
		})
	}
}

// In a picture turned upside down, corners are numbered from the one that is then at the
// top left; in a mirrored picture they still run to the right and down.
func TestOrderOfCorners(t *testing.T) {
	d := sample()
	d.pose.r = rotation(vec{0.2, 0.2, 0.1})
	img := d.image()
	want := d.truth()
	turned, mirrored := image.NewGray(img.Rect), image.NewGray(img.Rect)
	for y := range d.h {
		for x := range d.w {
			turned.SetGray(d.w-1-x, d.h-1-y, img.GrayAt(x, y))
			mirrored.SetGray(d.w-1-x, y, img.GrayAt(x, y))
		}
	}
	got, err := Find(t.Context(), &child, turned, nine)
	require.NoError(t, err)
	n := len(want)
	for i, p := range want {
		q := got[n-1-i]
		assert.InDelta(t, float64(d.w-1)-p.X, q.X, 2*fine)
		assert.InDelta(t, float64(d.h-1)-p.Y, q.Y, 2*fine)
	}
	got, err = Find(t.Context(), &child, mirrored, nine)
	require.NoError(t, err)
	for i, p := range want {
		r, c := i/nine.Columns, i%nine.Columns
		q := got[r*nine.Columns+nine.Columns-1-c]
		assert.InDelta(t, float64(d.w-1)-p.X, q.X, 2*fine)
		assert.InDelta(t, p.Y, q.Y, 2*fine)
	}
}

// A picture in colour, part of a larger picture and a picture with other bounds give the
// same corners.
func TestPicturesOfAnyKind(t *testing.T) {
	d := sample()
	img := d.image()
	want, err := Find(t.Context(), &child, img, nine)
	require.NoError(t, err)
	rgba := image.NewRGBA(image.Rect(7, 9, 7+d.w, 9+d.h))
	paletted := image.NewYCbCr(img.Rect, image.YCbCrSubsampleRatio444)
	for y := range d.h {
		for x := range d.w {
			g := img.GrayAt(x, y)
			rgba.Set(7+x, 9+y, color.RGBA{g.Y, g.Y, g.Y, 255})
			paletted.Y[paletted.YOffset(x, y)], paletted.Cb[paletted.COffset(x, y)], paletted.Cr[paletted.COffset(x, y)] = g.Y, 128, 128
		}
	}
	big := image.NewGray(image.Rect(0, 0, d.w+40, d.h+60))
	for y := range d.h {
		copy(big.Pix[big.PixOffset(20, 30+y):], img.Pix[y*img.Stride:y*img.Stride+d.w])
	}
	for name, p := range map[string]image.Image{"rgba": rgba, "in parts": inParts{rgba}, "ycbcr": paletted, "part": big.SubImage(image.Rect(20, 30, 20+d.w, 30+d.h))} {
		got, err := Find(t.Context(), &child, p, nine)
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
	}
}

// inParts is a picture that converts its colours part by part.
type inParts struct{ whole *image.RGBA }

func (p inParts) Bounds() image.Rectangle { return p.whole.Bounds() }
func (p inParts) ColorModel() color.Model { return color.RGBAModel }
func (p inParts) At(int, int) color.Color { panic("one pixel at a time is too slow") }
func (p inParts) Region(r image.Rectangle) *image.RGBA {
	return p.whole.SubImage(r).(*image.RGBA)
}

func TestNoBoard(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	noise := image.NewGray(image.Rect(0, 0, 320, 240))
	for i := range noise.Pix {
		noise.Pix[i] = uint8(rng.IntN(256))
	}
	d := sample()
	cut := d.image().SubImage(image.Rect(0, 0, 330, 480)) // half of the board
	for name, img := range map[string]image.Image{
		"noise": noise, "flat": image.NewGray(image.Rect(0, 0, 320, 240)), "tiny": image.NewGray(image.Rect(0, 0, 3, 2)),
		"empty": image.NewGray(image.Rectangle{}), "thin": image.NewGray(image.Rect(0, 0, 4000, 9)), "cut off": cut,
	} {
		got, err := Find(t.Context(), &child, img, nine)
		require.NoError(t, err, name)
		assert.Nil(t, got, name)
	}
	_, err := Find(t.Context(), &child, noise, Board{Columns: 1, Rows: 50})
	refused(t, err, "1x50")
}

// The width of an edge from 10 to 90 % is 2.563 sigma, where sigma combines in quadrature
// the blur, the width of a pixel (1 / sqrt 12) and the interpolation (a little more than
// that).
func TestSharpness(t *testing.T) {
	for _, sd := range []float64{0.5, 1, 2, 3} {
		d := sample()
		d.pose.r, d.blur = rotation(vec{0, 0, 0.1}), sd
		p, err := Look(t.Context(), &child, "a", d.image(), nine)
		require.NoError(t, err)
		low, high := 2.563*math.Sqrt(sd*sd+1.0/12), 2.563*math.Sqrt(sd*sd+3.0/12)
		assert.Greater(t, p.EdgePx, low-0.1)
		assert.Less(t, p.EdgePx, high+0.1)
	}
}

func TestParseBoard(t *testing.T) {
	for s, want := range map[string]Board{"9x6": {Columns: 9, Rows: 6}, "7X5": {Columns: 7, Rows: 5}, " 10 × 8 ": {Columns: 10, Rows: 8}} {
		got, err := ParseBoard(s)
		require.NoError(t, err, s)
		assert.Equal(t, want, got)
	}
	for _, s := range []string{"", "9", "x", "9x", "9x6x2", "-9x6", "2x6", "9x2", "41x6", "9.5x6", "9x6mm", "99999999999999999999x6"} {
		_, err := ParseBoard(s)
		refused(t, err)
	}
	assert.Equal(t, "9x6", nine.String())
}

func FuzzParseBoard(f *testing.F) {
	f.Add("9x6")
	f.Add("×")
	f.Fuzz(func(t *testing.T, s string) {
		if b, err := ParseBoard(s); err == nil && b.check() != nil {
			t.Fatalf("%q gives %+v, which cannot be used", s, b)
		}
	})
}

// For any picture, the search ends without a crash, and corners found lie in the picture.
func FuzzFind(f *testing.F) {
	d := sample()
	d.w, d.h, d.focal, d.samples = 160, 120, 175, 2
	img := d.image()
	f.Add(img.Pix, uint16(160), uint8(9), uint8(6))
	f.Add([]byte{0, 255, 0, 255}, uint16(2), uint8(3), uint8(3))
	f.Fuzz(func(t *testing.T, pix []byte, w uint16, columns, rows uint8) {
		if w == 0 || len(pix) > 1<<16 {
			return
		}
		h := len(pix) / int(w)
		img := &image.Gray{Pix: pix, Stride: int(w), Rect: image.Rect(0, 0, int(w), h)}
		p, err := Look(t.Context(), &child, "f", img, Board{Columns: int(columns % 12), Rows: int(rows % 12)})
		if err != nil {
			return
		}
		for _, c := range p.Corners {
			if !(c.X > -1 && c.Y > -1 && c.X < float64(w) && c.Y < float64(h)) {
				t.Fatalf("corner at %v of a picture of %d x %d", c, w, h)
			}
		}
	})
}
