package sticker

import (
	"image"
	"math"
)

// A picture is compared with the one before by the mean luma of a few blocks on a few rows.
const (
	cutRows    = 9
	cutColumns = 32
)

// gist is the mean luma of the blocks of a picture.
type gist [cutRows * cutColumns]float64

// cutter tells where another shot begins.
type cutter struct {
	last  gist
	seen  float64 // pictures so far
	usual float64 // difference between neighbours of late
}

// Two pictures are of different shots where what they show has little to do with each other:
// their blocks correlate by less than alike, and differ by far more than neighbours did of late.
// A change of light leaves the correlation as it is, and a moving camera moves what is seen by a
// part of a block.
const (
	alike       = 0.5
	cutLeast    = 8.0 // of 255
	cutTimes    = 4.0
	usualMemory = 0.15
)

// gistOf reads a picture by way of a row of memory.
func gistOf(p Picture, row *image.RGBA) (g gist) {
	b := p.Bounds()
	width := b.Dx()
	row.Pix = sized(row.Pix, 4*width)
	row.Stride = 4 * width
	for r := range cutRows {
		y := b.Min.Y + (2*r+1)*b.Dy()/(2*cutRows)
		row.Rect = image.Rect(b.Min.X, y, b.Max.X, y+1)
		p.Fill(row)
		for k := range cutColumns {
			x0, x1 := k*width/cutColumns, (k+1)*width/cutColumns
			sum := 0
			for x := x0; x < x1; x += 2 {
				sum += int(row.Pix[4*x]) + 2*int(row.Pix[4*x+1]) + int(row.Pix[4*x+2])
			}
			g[r*cutColumns+k] = float64(sum) / float64(4*max((x1-x0+1)/2, 1))
		}
	}
	return g
}

// next reports whether the picture belongs to another shot than the one before it.
func (c *cutter) next(now *gist) bool {
	last := c.last
	c.last = *now
	c.seen++
	if c.seen == 1 {
		return false
	}
	differ, corr := compare(&last, now)
	if c.seen == 2 { // what is usual is not known before, and a camera may swing from the start
		c.usual = differ
		return false
	}
	cut := corr < alike && differ > cutLeast && differ > cutTimes*c.usual
	c.usual += usualMemory * (math.Min(differ, 2*c.usual+1) - c.usual)
	return cut
}

// compare returns the mean difference of two pictures' blocks, and their correlation.
func compare(a, b *gist) (differ, corr float64) {
	n := float64(len(a))
	var ma, mb float64
	for i := range a {
		ma += a[i] / n
		mb += b[i] / n
		differ += math.Abs(a[i]-b[i]) / n
	}
	var aa, ab, bb float64
	for i := range a {
		x, y := a[i]-ma, b[i]-mb
		aa += x * x
		ab += x * y
		bb += y * y
	}
	// flat pictures correlate as far as they are the same
	const flat = 4 // of 255, squared
	return differ, (ab + flat*n) / math.Sqrt((aa+flat*n)*(bb+flat*n))
}
