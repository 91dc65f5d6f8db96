package sheet

import (
	"image"
	"image/color"
	"math"

	xdraw "golang.org/x/image/draw"
	"golang.org/x/image/math/f64"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
)

// rotatedLevel returns the input rotated about the picture's middle so that the line marked as
// level or plumb is level or plumb. It reports false if none was marked. The angle does not
// change.
func rotatedLevel(in Input) (Input, bool) {
	if in.Level == nil {
		return in, false
	}
	a, b := in.Level[0], in.Level[1]
	if math.Hypot(b[0]-a[0], b[1]-a[1]) < 1 {
		return in, false
	}
	// deviation from the nearer of level and plumb, radians, clockwise in the picture
	off := math.Remainder(math.Atan2(b[1]-a[1], b[0]-a[0]), math.Pi/2)
	size := in.Picture.Bounds().Size()
	cx, cy := float64(size.X-1)/2, float64(size.Y-1)/2
	sin, cos := math.Sincos(-off)
	turn := func(x, y float64) (float64, float64) {
		return cx + cos*(x-cx) - sin*(y-cy), cy + sin*(x-cx) + cos*(y-cy)
	}

	in.Picture = rotatedPicture(in.Picture, sin, cos)

	r := *in.Reading
	r.Marks = nil
	for _, k := range in.Reading.Marks {
		k.X, k.Y = turn(k.X, k.Y)
		k.Covariance = rotatedCovariance(k.Covariance, sin, cos)
		r.Marks = append(r.Marks, k)
	}
	for i, l := range in.Reading.Lines {
		r.Lines[i].FromX, r.Lines[i].FromY = turn(l.FromX, l.FromY)
		r.Lines[i].ToX, r.Lines[i].ToY = turn(l.ToX, l.ToY)
	}
	in.Reading = &r
	var covers []figure.Cover
	for _, c := range in.Covers {
		covers = append(covers, c.Moved(turn))
	}
	in.Covers = covers
	in.Level = &[2]reading.Pixel{}
	in.Level[0][0], in.Level[0][1] = turn(a[0], a[1])
	in.Level[1][0], in.Level[1][1] = turn(b[0], b[1])
	return in, true
}

// rotatedPicture returns img rotated about its middle, in its own size, from (0, 0). It is computed part by part.
func rotatedPicture(img image.Image, sin, cos float64) large.Picture {
	b := img.Bounds()
	// The transform uses coordinates from the outer edge of the picture.
	ex, ey := float64(b.Dx())/2, float64(b.Dy())/2
	mx, my := float64(b.Min.X), float64(b.Min.Y)
	turn := f64.Aff3{
		cos, -sin, ex - cos*(ex+mx) + sin*(ey+my),
		sin, cos, ey - sin*(ex+mx) - cos*(ey+my),
	}
	part := func(out *image.RGBA) {
		xdraw.Draw(out, out.Rect, image.NewUniform(color.NRGBA{0xfb, 0xfa, 0xf5, 0xff}), image.Point{}, xdraw.Src)
		src, ok := img.(large.Source)
		if !ok {
			xdraw.BiLinear.Transform(out, turn, img, b, xdraw.Over, nil)
			return
		}
		// The source of this part lies in a square about its middle, rotated back.
		x, y := float64(out.Rect.Min.X+out.Rect.Max.X)/2-ex, float64(out.Rect.Min.Y+out.Rect.Max.Y)/2-ey
		mid := image.Pt(int(mx+ex+cos*x+sin*y), int(my+ey-sin*x+cos*y))
		reach := int(math.Hypot(float64(out.Rect.Dx()), float64(out.Rect.Dy()))/2) + 4
		from := image.Rect(mid.X-reach, mid.Y-reach, mid.X+reach, mid.Y+reach).Intersect(b)
		if !from.Empty() {
			xdraw.BiLinear.Transform(out, turn, src.Region(from), from, xdraw.Over, nil)
		}
	}
	return large.Picture{Rect: image.Rectangle{Max: b.Size()}, Part: func(r image.Rectangle) *image.RGBA {
		out := image.NewRGBA(r)
		for y := r.Min.Y; y < r.Max.Y; y += tile {
			for x := r.Min.X; x < r.Max.X; x += tile {
				part(out.SubImage(image.Rect(x, y, x+tile, y+tile).Intersect(r)).(*image.RGBA))
			}
		}
		return out
	}}
}

// tile is the side of the squares in which a picture is rotated, in pixels. For each, at most two million
// pixels are converted.
const tile = 1024

// rotatedCovariance returns R c R' for a rotation R.
func rotatedCovariance(c [2][2]float64, sin, cos float64) [2][2]float64 {
	xx, xy, yy := c[0][0], (c[0][1]+c[1][0])/2, c[1][1]
	off := (xx-yy)*sin*cos + xy*(cos*cos-sin*sin)
	return [2][2]float64{{cos*cos*xx - 2*sin*cos*xy + sin*sin*yy, off}, {off, sin*sin*xx + 2*sin*cos*xy + cos*cos*yy}}
}
