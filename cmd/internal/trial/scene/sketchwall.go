package scene

import (
	"math"
	"math/rand/v2"
)

// Wall is what a [Sketch] has behind the body: a picture somewhat larger than the take's, in linear
// light.
type Wall struct {
	w, h, margin int
	light        []float32 // 3 for each pixel
}

// wallMargin is how much larger a wall is than the picture on each side, px at 1080 rows.
const wallMargin = 100

// row fills a row of light: that of the wall at y, shifted right by dx.
func (k *Wall) row(to []rgb, y, dx float64) {
	fy := clamp(y+float64(k.margin), 0, float64(k.h-2)+0.999)
	iy := int(fy)
	v := float32(fy - float64(iy))
	x0 := float64(k.margin) - dx
	ix := int(math.Floor(x0))
	u := float32(x0 - float64(ix))
	for x := range to {
		i := max(0, min(ix+x, k.w-2))
		a, b := k.light[3*(iy*k.w+i):], k.light[3*((iy+1)*k.w+i):]
		var c [3]float64
		for n := range c {
			c[n] = float64((a[n]*(1-u)+a[n+3]*u)*(1-v) + (b[n]*(1-u)+b[n+3]*u)*v)
		}
		to[x] = rgb{c[0], c[1], c[2]}
	}
}

// wallKind is what the wall is of.
type wallKind int

const (
	painted wallKind = iota
	planks
	leaves
	mats
	wallKinds
)

// the colours of wood and of leaves
var (
	woods  = []uint32{0xb5793f, 0xc98f4e, 0x8a5a33, 0xd9a757}
	greens = []uint32{0x4f8a2e, 0x7fae35, 0x35682c, 0xd8c22a, 0xc7a31f}
	quiet  = []uint32{0xe4e2da, 0xbfc6c9, 0x8d99a3, 0xd9cdb8, 0x6f7780}
)

// newWall draws a wall: above the floor, at the row horizon, one of four kinds, and a floor of wood or
// of a mat. hues are colours that mats may have; decoys are round patches like stickers of theirs.
func newWall(r *rand.Rand, w, h int, perMetre, horizon float64, kind wallKind, hues []uint32, lamps *Lamps) *Wall {
	m := wallMargin * h / 1080
	k := &Wall{w: w + 2*m, h: h + 2*m, margin: m}
	k.light = make([]float32, 3*k.w*k.h)
	pick := func(from []uint32) uint32 { return from[r.IntN(len(from))] }
	base, wood, floor := paint(pick(quiet)), paint(pick(woods)), paint(pick(woods))
	if r.IntN(2) == 0 {
		floor = paint(pick(append(quiet, hues...)))
	}
	off := r.Float64() * 100
	var blocks []rgb // of mats, half a metre to two metres wide
	for range 16 {
		blocks = append(blocks, paint(pick(append(hues, quiet...))).mul(0.6+0.3*r.Float64()))
	}
	wide := 0.5 + 1.5*r.Float64()
	shade := lamps.on(Vec{Z: 1})
	inBands(k.h, bandRows, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range k.w {
				px, py := float64(x-m)/perMetre, (float64(y-m)-horizon)/perMetre // m
				var c rgb
				switch {
				case py > 0:
					c = grain2(floor, px+off, py*3, 0.13)
				case kind == planks:
					c = grain2(wood, py+off, px, 0.18)
				case kind == mats && py > -1.9:
					n := (px + off) / wide
					c = blocks[int(math.Floor(n))&15].mul(1 + 0.06*(noise(px*25, py*25)-0.5))
					if n-math.Floor(n) < 0.02 {
						c = c.mul(0.5)
					}
				default:
					c = base.mul(1 + 0.03*(noise(px*40, py*40)-0.5))
				}
				c = c.times(shade).mul(0.86 + 0.22*noise(px*0.5+off, py*0.5))
				i := 3 * (y*k.w + x)
				k.light[i], k.light[i+1], k.light[i+2] = float32(c.r), float32(c.g), float32(c.b)
			}
		}
	})
	if kind == leaves {
		k.leaves(r, perMetre, horizon, shade)
	}
	return k
}

// grain2 is wood: planks along y, width m wide, with a grain.
func grain2(c rgb, x, y, width float64) rgb {
	row := math.Floor(x / width)
	tone := 0.85 + 0.3*hash(row, 3) + 0.16*(noise(x*90, y*4+row*17)-0.5) + 0.05*(noise(x*300, y*20)-0.5)
	if in := x/width - row; in < 0.03 {
		tone *= 0.55
	}
	return c.mul(tone)
}

// leaves strews leaves over the wall, darker ones first.
func (k *Wall) leaves(r *rand.Rand, perMetre, horizon float64, shade rgb) {
	n := int(float64(k.w) * (horizon + float64(k.margin)) / (0.055 * perMetre * 0.055 * perMetre) * 2.2)
	for i := range max(0, n) {
		long := (0.025 + 0.05*r.Float64()) * perMetre
		c := paint(greens[r.IntN(len(greens))]).times(shade).mul(0.25 + 0.85*float64(i)/float64(n))
		k.patch(r.Float64()*float64(k.w), r.Float64()*(horizon+float64(k.margin)), long, long*(0.3+0.3*r.Float64()), r.Float64()*math.Pi, c)
	}
}

// patch paints an ellipse; its edge is as sharp as the lens.
func (k *Wall) patch(cx, cy, long, short, turn float64, c rgb) {
	s, co := math.Sincos(turn)
	f := outline{x0: cx, y0: cy, ux: long * co, uy: long * s, vx: -short * s, vy: short * co, shape: round}
	b := f.bounds()
	for y := max(0, b.Min.Y); y < min(k.h, b.Max.Y); y++ {
		for x := max(0, b.Min.X); x < min(k.w, b.Max.X); x++ {
			cover, _, _, _, _ := f.meet(float64(x), float64(y))
			if cover <= 0 {
				continue
			}
			q := k.light[3*(y*k.w+x):]
			a := float32(cover)
			q[0] += a * (float32(c.r) - q[0])
			q[1] += a * (float32(c.g) - q[1])
			q[2] += a * (float32(c.b) - q[2])
		}
	}
}
