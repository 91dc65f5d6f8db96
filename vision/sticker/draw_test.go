package sticker

import (
	"image"
	"math"
	"math/rand/v2"
)

// The pictures of the tests are painted here by counting points under each pixel. This code shares nothing
// with the code under test.

type dot struct {
	x, y   float64 // centre
	a, b   float64 // half axes
	turn   float64 // of the first axis, rad
	vx, vy float64 // travel while the shutter is open, px
	colour [3]float64
	lit    [2]float64 // relative growth of its light over the first half axis, to the right and down
}

// paint is a scene in linear light.
type paint struct {
	w, h  int
	back  func(x, y float64) [3]float64
	dots  []dot
	cover func(x, y float64) ([3]float64, bool) // something in front
	lens  float64                               // standard deviation of the lens's blur, px
	noise float64                               // standard deviation of coded values, of 255
	grid  int                                   // points each way under a pixel that a rim crosses
	times int                                   // points in time over the exposure
}

func coded(v float64) float64 {
	if v <= 0.0031308 {
		return 255 * 12.92 * max(v, 0)
	}
	return 255 * (1.055*math.Pow(v, 1/2.4) - 0.055)
}

func decoded(v float64) float64 {
	v /= 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func rgb(c uint32) [3]float64 {
	return [3]float64{decoded(float64(c >> 16 & 255)), decoded(float64(c >> 8 & 255)), decoded(float64(c & 255))}
}

func uniform(c uint32) func(x, y float64) [3]float64 {
	v := rgb(c)
	return func(_, _ float64) [3]float64 { return v }
}

func (p paint) at(x, y, t float64) [3]float64 {
	if p.cover != nil {
		if c, ok := p.cover(x, y); ok {
			return c
		}
	}
	for _, d := range p.dots {
		dx, dy := x-d.x-t*d.vx, y-d.y-t*d.vy
		s, c := math.Sincos(d.turn)
		u, v := (c*dx+s*dy)/d.a, (c*dy-s*dx)/d.b
		if u*u+v*v <= 1 {
			k := 1 + (d.lit[0]*dx+d.lit[1]*dy)/d.a
			return [3]float64{k * d.colour[0], k * d.colour[1], k * d.colour[2]}
		}
	}
	return p.back(x, y)
}

// fine is the number of places of light along each side of a pixel.
const fine = 4

// points returns the number of points along each side that a place of light needs: one where its colour is uniform.
func (p paint) points(x, y float64) int {
	most := p.grid
	if most == 0 {
		most = 6
	}
	for _, t := range []float64{-0.5, 0, 0.5} {
		first := p.at(x, y, t)
		for _, dy := range []float64{-0.55 / fine, 0.55 / fine} {
			for _, dx := range []float64{-0.55 / fine, 0.55 / fine} {
				if p.at(x+dx, y+dy, t) != first {
					return most
				}
			}
		}
	}
	return 1
}

// light returns the linear light on each pixel, before noise and coding.
func (p paint) light() [][3]float64 {
	times := max(p.times, 1)
	margin := int(math.Ceil(4 * p.lens))
	W, H := (p.w+2*margin)*fine, (p.h+2*margin)*fine
	light := make([][3]float64, W*H)
	for py := range H {
		for px := range W {
			cx, cy := (float64(px)+0.5)/fine-0.5-float64(margin), (float64(py)+0.5)/fine-0.5-float64(margin)
			var sum [3]float64
			grid := p.points(cx, cy)
			for i := range grid {
				for j := range grid {
					x := cx + ((float64(j)+0.5)/float64(grid)-0.5)/fine
					y := cy + ((float64(i)+0.5)/float64(grid)-0.5)/fine
					for k := range times {
						c := p.at(x, y, (float64(k)+0.5)/float64(times)-0.5)
						for n := range sum {
							sum[n] += c[n]
						}
					}
				}
			}
			for n := range sum {
				sum[n] /= float64(grid * grid * times)
			}
			light[py*W+px] = sum
		}
	}
	if p.lens > 0 {
		light = blur(light, W, H, p.lens*fine, int(math.Ceil(4*p.lens*fine)))
	}
	out := make([][3]float64, p.w*p.h)
	for y := range p.h {
		for x := range p.w {
			for i := range fine {
				for j := range fine {
					c := light[((y+margin)*fine+i)*W+(x+margin)*fine+j]
					for n := range c {
						out[y*p.w+x][n] += c[n] / (fine * fine)
					}
				}
			}
		}
	}
	return out
}

// picture renders it with the same noise each time.
func (p paint) picture() Picture { return Still(p.render(rand.New(rand.NewPCG(1, 1)))) }

func (p paint) render(r *rand.Rand) *image.RGBA {
	light := p.light()
	out := image.NewRGBA(image.Rect(0, 0, p.w, p.h))
	for i, c := range light {
		for n := range 3 {
			v := coded(c[n])
			if p.noise > 0 {
				v += p.noise * r.NormFloat64()
			}
			out.Pix[4*i+n] = uint8(math.Round(min(max(v, 0), 255)))
		}
		out.Pix[4*i+3] = 255
	}
	return out
}

func blur(in [][3]float64, w, h int, sd float64, m int) [][3]float64 {
	k := make([]float64, 2*m+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-float64((i-m)*(i-m)) / (2 * sd * sd))
		sum += k[i]
	}
	pass := func(in [][3]float64, step, n, other, ostep int) [][3]float64 {
		out := make([][3]float64, len(in))
		for o := range other {
			for i := range n {
				var c [3]float64
				for j := range k {
					at := min(max(i+j-m, 0), n-1)
					for q := range c {
						c[q] += k[j] / sum * in[o*ostep+at*step][q]
					}
				}
				out[o*ostep+i*step] = c
			}
		}
		return out
	}
	return pass(pass(in, 1, w, h, w), w, h, w, 1)
}

// step advances a track by itself to frame i with its candidates cs, frames after the last one.
func (t *track) step(i int, cs []candidate, frames float64) {
	t.find(cs, frames)
	t.take(i, false)
	if t.path = nil; t.lost {
		if t.path, t.rival = t.comesBack(); t.path != nil {
			t.takeBack()
		}
	}
}
