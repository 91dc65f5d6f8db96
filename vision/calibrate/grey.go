package calibrate

import (
	"image"
	"math"

	"ecart/geometry"
)

// grey is a picture of one channel, 8 bits, row by row without gaps.
type grey struct {
	pix  []byte
	w, h int
}

// regional is a picture that converts its colours part by part, so that all of a large
// one is never held in memory.
type regional interface {
	Region(image.Rectangle) *image.RGBA
}

// toGrey converts a picture to luma with the weights of ITU-R BT.601. (0, 0) is the top
// left pixel, whatever the picture's bounds.
func toGrey(img image.Image) *grey {
	const rows = 64 // rows of a regional picture converted at once: 3 MB at a width of 12,000 px
	b := img.Bounds()
	g := &grey{make([]byte, b.Dx()*b.Dy()), b.Dx(), b.Dy()}
	switch p := img.(type) {
	case *image.Gray:
		for y := range g.h {
			copy(g.pix[y*g.w:(y+1)*g.w], p.Pix[p.PixOffset(b.Min.X, b.Min.Y+y):])
		}
	case *image.RGBA:
		g.rows(0, p)
	case regional:
		for y := 0; y < g.h; y += rows {
			g.rows(y, p.Region(image.Rect(b.Min.X, b.Min.Y+y, b.Max.X, min(b.Min.Y+y+rows, b.Max.Y))))
		}
	default:
		for y := range g.h {
			for x := range g.w {
				r, gr, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				g.pix[y*g.w+x] = luma(r>>8, gr>>8, bl>>8)
			}
		}
	}
	return g
}

// rows fills the rows from row from on with those of a picture of the same width.
func (g *grey) rows(from int, p *image.RGBA) {
	b := p.Bounds()
	for y := range b.Dy() {
		row := p.Pix[p.PixOffset(b.Min.X, b.Min.Y+y):]
		for x := range g.w {
			g.pix[(from+y)*g.w+x] = luma(uint32(row[4*x]), uint32(row[4*x+1]), uint32(row[4*x+2]))
		}
	}
}

func luma(r, g, b uint32) byte { return byte((19595*r + 38470*g + 7471*b + 1<<15) >> 16) }

// at returns the bilinearly interpolated grey value at p; NaN outside the picture.
func (g *grey) at(p geometry.Point) float64 {
	x, y := math.Floor(p.X), math.Floor(p.Y)
	i, k := int(x), int(y)
	if i < 0 || k < 0 || i+1 >= g.w || k+1 >= g.h {
		return math.NaN()
	}
	u, v := p.X-x, p.Y-y
	o := k*g.w + i
	a, b, c, d := float64(g.pix[o]), float64(g.pix[o+1]), float64(g.pix[o+g.w]), float64(g.pix[o+g.w+1])
	return (a*(1-u)+b*u)*(1-v) + (c*(1-u)+d*u)*v
}
