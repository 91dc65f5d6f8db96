package scene

// Finish is a phone's processing of a picture.
type Finish struct {
	Denoise float64 // luma is averaged over those of 3 by 3 pixels that differ by less than this, in levels of 255; 0 for none
	Smooth  int     // how often the chroma is smoothed with (1 2 1) / 4 in each direction
	Sharpen float64 // factor of the unsharp mask over 5 by 5 pixels, which makes halos beside edges; 0 for none
}

// developer collects the rows of a picture as luma and chroma in full range: 0 to 255, chroma about 0.
type developer struct {
	w, h      int
	y, cb, cr []float32 // chroma for every second column of every row
}

func newDeveloper(w, h int) *developer {
	return &developer{w, h, make([]float32, w*h), make([]float32, w/2*h), make([]float32, w/2*h)}
}

// levels is the sRGB curve, 0 to 255, for light in steps of 1/16384 from 0 to 1.
const levelSteps = 16384

var levels = func() (table [levelSteps + 1]float32) {
	for i := range table {
		table[i] = float32(255 * srgbCurve(float64(i)/levelSteps))
	}
	return table
}()

func level(v float64) float32 { return levels[int(clamp(v, 0, 1)*levelSteps+0.5)] }

// the weights of luma and the divisors of chroma of BT.709
const (
	lumaR, lumaG, lumaB = 0.2126, 0.7152, 0.0722
	divB, divR          = 1.8556, 1.5748
)

// row adds a row of light. It may be called for different rows in parallel.
func (d *developer) row(y int, light []rgb) {
	to := d.y[y*d.w : (y+1)*d.w]
	cb, cr := make([]float32, d.w), make([]float32, d.w)
	for x, c := range light {
		r, g, b := level(c.r), level(c.g), level(c.b)
		l := lumaR*r + lumaG*g + lumaB*b
		to[x], cb[x], cr[x] = l, (b-l)/divB, (r-l)/divR
	}
	// every second column, after the filter (1 2 1) / 4
	for i := range d.w / 2 {
		x := 2 * i
		a, b := max(0, x-1), min(d.w-1, x+1)
		d.cb[y*(d.w/2)+i] = (cb[a] + 2*cb[x] + cb[b]) / 4
		d.cr[y*(d.w/2)+i] = (cr[a] + 2*cr[x] + cr[b]) / 4
	}
}

// finish processes the picture and converts it to limited range.
func (d *developer) finish(f *Finish) *Picture {
	w, h := d.w, d.h
	p := &Picture{Width: w, Height: h, Y: make([]uint8, w*h), Cb: make([]uint8, w/2*(h/2)), Cr: make([]uint8, w/2*(h/2))}
	luma := d.y
	if f.Denoise > 0 {
		luma = denoise(luma, w, h, float32(f.Denoise))
	}
	if f.Sharpen > 0 {
		luma = sharpen(luma, w, h, float32(f.Sharpen))
	}
	for i, v := range luma {
		p.Y[i] = quantise(16 + v*219/255)
	}
	for n, plane := range [2][]float32{d.cb, d.cr} {
		half := make([]float32, w/2*(h/2))
		for y := range h / 2 {
			for x := range w / 2 {
				half[y*(w/2)+x] = (plane[2*y*(w/2)+x] + plane[(2*y+1)*(w/2)+x]) / 2
			}
		}
		for range f.Smooth {
			half = binomial(half, w/2, h/2)
		}
		to := p.Cb
		if n == 1 {
			to = p.Cr
		}
		for i, v := range half {
			to[i] = quantise(128 + v*224/255)
		}
	}
	return p
}

func quantise(v float32) uint8 { return uint8(min(max(v+0.5, 0), 255)) }

// denoise averages a pixel with those of its eight neighbours that differ from it by less than reach
// levels, which keeps edges (a sigma filter).
func denoise(in []float32, w, h int, reach float32) []float32 {
	out := make([]float32, w*h)
	inBands(h, bandRows, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range w {
				v := in[y*w+x]
				sum, n := float32(0), float32(0)
				for j := max(0, y-1); j <= min(h-1, y+1); j++ {
					for i := max(0, x-1); i <= min(w-1, x+1); i++ {
						if u := in[j*w+i]; u-v < reach && v-u < reach {
							sum += u
							n++
						}
					}
				}
				out[y*w+x] = sum / n
			}
		}
	})
	return out
}

// sharpen adds by times the difference between a picture and its blur over 5 by 5 (an unsharp mask).
func sharpen(in []float32, w, h int, by float32) []float32 {
	blur := binomial(binomial(in, w, h), w, h)
	for i, v := range in {
		blur[i] = v + by*(v-blur[i])
	}
	return blur
}

// binomial blurs with (1 2 1) / 4 in each direction.
func binomial(in []float32, w, h int) []float32 {
	mid, out := make([]float32, w*h), make([]float32, w*h)
	inBands(h, bandRows, func(from, to int) {
		for y := from; y < to; y++ {
			a := in[y*w : (y+1)*w]
			for x := range w {
				mid[y*w+x] = (a[max(0, x-1)] + 2*a[x] + a[min(w-1, x+1)]) / 4
			}
		}
	})
	inBands(h, bandRows, func(from, to int) {
		for y := from; y < to; y++ {
			a, b, c := mid[max(0, y-1)*w:], mid[y*w:], mid[min(h-1, y+1)*w:]
			for x := range w {
				out[y*w+x] = (a[x] + 2*b[x] + c[x]) / 4
			}
		}
	})
	return out
}
