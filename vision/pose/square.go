package pose

import (
	"image"
	"math"

	"ecart/geometry"
	"ecart/vision/pose/model"
)

// inner is the side of the network's input picture, px.
const inner = model.Side

// Picture is a picture that can be read in parts. A *take.Frame is one.
type Picture interface {
	Bounds() image.Rectangle
	// Fill writes the picture's pixels into dst, whose bounds are in coordinates of the picture.
	// Pixels outside the picture stay as they are.
	Fill(dst *image.RGBA)
}

// square is a square part of a picture, turned clockwise, as seen, by turn.
type square struct {
	centre geometry.Point // px
	side   float64        // px
	turn   geometry.Angle
}

// picture converts a place in the square, 0 to inner px, into one in the picture, px.
func (q square) picture(p geometry.Point) geometry.Point {
	k := q.side / inner
	x, y := (p.X-inner/2)*k, (p.Y-inner/2)*k
	sin, cos := math.Sincos(float64(q.turn))
	return geometry.Point{X: q.centre.X + x*cos - y*sin, Y: q.centre.Y + x*sin + y*cos}
}

// varied returns the k-th of nine squares about this one, larger or smaller and shifted by a
// thirtieth of the side. The network's result on a square is wholly wrong at times, and right on a
// slightly different one. So looks at neighbouring frames use different squares and do not
// share such an error. On the narrow square the network shortens the legs and seldom takes the left
// one for the right: it serves to tell the sides (keepSides), and gives no places if there are enough others (smoothed).
func (q square) varied(k int) square {
	k = (k%9 + 9) % 9
	q.side *= [3]float64{1.1, 0.85, 1}[k%3]
	q.centre.X += float64(k/3-1) * q.side / 30
	q.centre.Y += float64(k%2) * q.side / 30
	return q
}

// bounds returns the upright rectangle about the square, px.
func (q square) bounds() image.Rectangle {
	half := q.side / 2 * (math.Abs(math.Sin(float64(q.turn))) + math.Abs(math.Cos(float64(q.turn))))
	return image.Rect(int(math.Floor(q.centre.X-half))-1, int(math.Floor(q.centre.Y-half))-1, int(math.Ceil(q.centre.X+half))+2, int(math.Ceil(q.centre.Y+half))+2)
}

// cut returns the square as the network's input: red, green and blue of inner x inner
// pixels, black outside the picture. Pixels are interpolated bilinearly; a square of twice that
// side or more is first reduced by averaging, against aliasing.
func (q square) cut(p Picture) []byte {
	by := max(1, int(q.side/inner))
	part := shrink(p, q.bounds(), by)
	out := make([]byte, 0, 3*inner*inner)
	w, h := part.width, part.height
	for y := range inner {
		for x := range inner {
			at := q.picture(geometry.Point{X: float64(x), Y: float64(y)})
			u, v := part.place(at)
			i, j := int(math.Floor(u)), int(math.Floor(v))
			if i < -1 || j < -1 || i >= w || j >= h {
				out = append(out, 0, 0, 0)
				continue
			}
			fx, fy := u-float64(i), v-float64(j)
			var sum [3]float64
			for k, weight := range [4]float64{(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy} {
				a, b := i+k&1, j+k>>1
				if a < 0 || b < 0 || a >= w || b >= h {
					continue
				}
				c := part.rgb[3*(b*w+a):]
				sum[0] += weight * float64(c[0])
				sum[1] += weight * float64(c[1])
				sum[2] += weight * float64(c[2])
			}
			out = append(out, byte(sum[0]+0.5), byte(sum[1]+0.5), byte(sum[2]+0.5))
		}
	}
	return out
}

// reduced is a part of a picture, reduced by a whole factor.
type reduced struct {
	at            image.Point // the picture's pixel at the top left
	by            int         // pixels of the picture to one reduced pixel, along each side
	width, height int         // reduced pixels
	rgb           []byte      // 3 bytes a reduced pixel, row by row
}

// place converts a place in the picture, px, into reduced pixels.
func (r *reduced) place(p geometry.Point) (x, y float64) {
	off := float64(r.by-1) / 2
	return (p.X - float64(r.at.X) - off) / float64(r.by), (p.Y - float64(r.at.Y) - off) / float64(r.by)
}

// original converts a place in reduced pixels into one in the picture, px.
func (r *reduced) original(x, y float64) geometry.Point {
	off := float64(r.by-1) / 2
	return geometry.Point{X: float64(r.at.X) + off + x*float64(r.by), Y: float64(r.at.Y) + off + y*float64(r.by)}
}

// shrink averages blocks of by x by pixels in the part of the picture within r. It reads
// the picture in bands, so that the pixels of a large one are never all in memory.
func shrink(p Picture, r image.Rectangle, by int) *reduced {
	r = r.Intersect(p.Bounds())
	out := &reduced{at: r.Min, by: by, width: (r.Dx() + by - 1) / by, height: (r.Dy() + by - 1) / by}
	out.rgb = make([]byte, 3*out.width*out.height)
	if len(out.rgb) == 0 {
		return out
	}
	rows := max(1, bandPixels/(r.Dx()*by)) // reduced rows of a band
	sums := make([]uint32, 3*out.width)
	for top := 0; top < out.height; top += rows {
		band := image.NewRGBA(image.Rect(r.Min.X, r.Min.Y+top*by, r.Max.X, min(r.Max.Y, r.Min.Y+(top+rows)*by)))
		p.Fill(band)
		for row := top; row < min(top+rows, out.height); row++ {
			clear(sums)
			y0, y1 := (row-top)*by, min((row-top+1)*by, band.Rect.Dy())
			for y := y0; y < y1; y++ {
				line := band.Pix[y*band.Stride:][:4*r.Dx()]
				for x := 0; x < r.Dx(); x++ {
					s := sums[3*(x/by):][:3]
					s[0] += uint32(line[4*x])
					s[1] += uint32(line[4*x+1])
					s[2] += uint32(line[4*x+2])
				}
			}
			for x := range out.width {
				n := uint32((y1 - y0) * min(by, r.Dx()-x*by))
				for k := range 3 {
					out.rgb[3*(row*out.width+x)+k] = byte((sums[3*x+k] + n/2) / n)
				}
			}
		}
	}
	return out
}

// bandPixels is the number of pixels of a band.
const bandPixels = 4 << 20
