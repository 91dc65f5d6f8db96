package large

import (
	"image"
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plate is a picture that records the largest number of pixels requested at once.
type plate struct {
	*image.RGBA
	most int
}

func (p *plate) Region(r image.Rectangle) *image.RGBA {
	p.most = max(p.most, r.Dx()*r.Dy())
	out := image.NewRGBA(r)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		copy(out.Pix[out.PixOffset(r.Min.X, y):][:4*r.Dx()], p.Pix[p.PixOffset(r.Min.X, y):])
	}
	return out
}

func newPlate(w, h int) *plate {
	p := &plate{RGBA: image.NewRGBA(image.Rect(0, 0, w, h))}
	for y := range h {
		for x := range w {
			p.SetRGBA(x, y, color.RGBA{uint8(x*x + y), uint8(x ^ y), uint8(7 * y), 255})
		}
	}
	return p
}

// TestStripsAreTheSame checks that conversion in strips gives the same bytes as conversion at once.
func TestStripsAreTheSame(t *testing.T) {
	for _, size := range [][2]int{{640, 480}, {641, 479}, {333, 777}, {64, 1000}, {1000, 7}} {
		p := newPlate(size[0], size[1])
		for _, r := range []image.Rectangle{p.Rect, image.Rect(13, 3, size[0]-1, size[1]), image.Rect(-5, -5, 5000, 5000)} {
			for _, width := range []int{16, 60, 100, 320, 640} {
				in := r.Intersect(p.Rect)
				want := Shrunk(p, r, width)
				for _, strip := range []int{1, 999, 20_000} {
					got := scaled(halvedTimes(p, in, halvings(in, width), strip, strip), width)
					require.Equal(t, want.Rect, got.Rect)
					require.Equal(t, want.Pix, got.Pix, "%v %v %d %d", size, r, width, strip)
				}
			}
		}
	}
}

func TestShrunk(t *testing.T) {
	p := newPlate(64, 48)
	for _, width := range []int{64, 640} {
		assert.Equal(t, p.Pix, Shrunk(p, p.Rect, width).Pix, "nothing is made larger")
	}
	h := Shrunk(p, p.Rect, 32)
	assert.Equal(t, image.Pt(32, 24), h.Rect.Size())
	for _, at := range []image.Point{{0, 0}, {31, 23}, {7, 11}} {
		for c := range 3 {
			sum := 2
			for _, q := range []image.Point{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
				sum += int(p.Pix[p.PixOffset(2*at.X+q.X, 2*at.Y+q.Y)+c])
			}
			assert.Equal(t, byte(sum/4), h.Pix[h.PixOffset(at.X, at.Y)+c])
		}
	}
	assert.Equal(t, image.Pt(20, 15), Shrunk(p, p.Rect, 20).Rect.Size())
	one := newPlate(1, 1)
	assert.Equal(t, image.Pt(1, 1), Shrunk(one, one.Rect, 16).Rect.Size())
}

// TestTowards checks that a large picture is scaled down in strips with exact bounds, and that a small one is
// returned unchanged.
func TestTowards(t *testing.T) {
	p := newPlate(5003, 3001)
	r := image.Rect(1, 2, 5003, 3001)
	out, shown := Towards(p, r, 1000)
	assert.Equal(t, image.Rect(1, 2, 5001, 2998), shown, "whole blocks of 4 by 4")
	assert.Equal(t, image.Pt(1250, 749), out.Rect.Size())
	assert.LessOrEqual(t, p.most, Strip)
	at := image.Pt(700, 500)
	sum := 0
	for y := range 4 {
		for x := range 4 {
			sum += int(p.Pix[p.PixOffset(1+4*at.X+x, 2+4*at.Y+y)+1])
		}
	}
	assert.InDelta(t, float64(sum)/16, float64(out.Pix[out.PixOffset(at.X, at.Y)+1]), 1, "rounded twice")

	out, shown = Towards(p, image.Rect(10, 20, 910, 720), 100)
	assert.Equal(t, image.Rect(10, 20, 910, 720), shown)
	assert.Equal(t, shown, out.Rect)
}

// TestPicture checks At, Region and Bounds.
func TestPicture(t *testing.T) {
	p := newPlate(40, 30)
	l := Of(p)
	assert.Equal(t, p.Rect, l.Bounds())
	assert.Equal(t, color.Color(p.RGBAAt(7, 9)), l.At(7, 9))
	assert.Equal(t, color.Color(color.RGBA{}), l.At(40, 9))
	assert.Equal(t, image.Rect(30, 20, 40, 30), l.Region(image.Rect(30, 20, 50, 50)).Rect)
}

// TestStrips checks that strips cover all of a rectangle once.
func TestStrips(t *testing.T) {
	next := 3
	r := image.Rect(1, 3, 5001, 6003)
	Strips(r, func(s image.Rectangle) {
		assert.Equal(t, next, s.Min.Y)
		assert.Equal(t, [2]int{1, 5001}, [2]int{s.Min.X, s.Max.X})
		assert.LessOrEqual(t, s.Dx()*s.Dy(), Strip)
		next = s.Max.Y
	})
	assert.Equal(t, r.Max.Y, next)
}

// BenchmarkShrunk scales a 1080p frame down, as the page does with each frame.
func BenchmarkShrunk(b *testing.B) {
	p := newPlate(1920, 1080)
	for b.Loop() {
		Shrunk(p, p.Rect, 480)
	}
}
