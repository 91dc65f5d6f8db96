package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os/exec"

	"ecart/cmd/internal/trial/scene"
)

// A clip of a leap around its peak, painted in a simple way for speed: three dots in front of a
// moving texture, as a camera sees them that follows the athlete. There is no body and no hall; the
// dots move as they do on the body of the package scene.
const (
	paintW, paintH = 704, 480
	paintRate      = 60        // frames a second
	paintShutter   = 1 / 240.0 // s
	paintNoise     = 2.5       // levels of 255, each colour
	paintLens      = 0.6       // px, standard deviation of the lens's blur
	dotRadius      = 0.025     // m
	aboutPeak      = 11        // frames on each side of the peak
	moments        = 8         // while the shutter is open
	jitters        = 48        // places within a pixel for each moment, with the lens's blur
)

// dotPaths gives the places of three dots in the picture over time, two for each frame.
type dotPaths struct {
	from   float64 // s
	places [3][][2]float64
	radius [3]float64 // px
	pan    float64    // px a second, of the background
}

const pathStep = 1 / (2.0 * paintRate)

// at returns the place of a dot, by a cubic through the four nearest places (Lagrange).
func (w *dotPaths) at(k int, t float64) (x, y float64) {
	f := (t - w.from) / pathStep
	i := max(1, min(int(f), len(w.places[k])-3))
	u := f - float64(i)
	c := [4]float64{-u * (u - 1) * (u - 2) / 6, (u + 1) * (u - 1) * (u - 2) / 2, -(u + 1) * u * (u - 2) / 2, (u + 1) * u * (u - 1) / 6}
	for n, weight := range c {
		p := w.places[k][i-1+n]
		x += weight * p[0]
		y += weight * p[1]
	}
	return x, y
}

// opening returns the angle at the first dot between the other two, through the lower side, degrees.
func (w *dotPaths) opening(t float64) float64 {
	hx, hy := w.at(0, t)
	fx, fy := w.at(1, t)
	bx, by := w.at(2, t)
	// for a leap to the right, the lower side is clockwise from the front leg to the back leg, with y down
	a := math.Atan2(by-hy, bx-hx) - math.Atan2(fy-hy, fx-hx)
	return math.Mod(a/degree+720, 360)
}

// maximum returns where f is largest between two times, and its value there; f has one maximum.
func maximum(f func(t float64) float64, from, to float64) (at, value float64) {
	for step := (to - from) / 40; step > 1e-6; step /= 10 {
		value = math.Inf(-1)
		for t := from; t <= to; t += step {
			if v := f(t); v > value {
				at, value = t, v
			}
		}
		from, to = at-step, at+step
	}
	return at, value
}

// ground is a background texture in linear light that repeats.
type ground struct {
	w, h int
	pix  [][3]float32
}

// newGround draws a random wall of planks with stains.
func newGround(d dice) *ground {
	g := &ground{w: 512, h: paintH}
	g.pix = make([][3]float32, g.w*g.h)
	base := [3]float64{d.uniform(0.35, 0.75), 0, 0}
	base[1], base[2] = base[0]*d.uniform(0.9, 1.02), base[0]*d.uniform(0.75, 1.02)
	type wave struct{ kx, ky, phase, height float64 }
	var waves []wave
	for range 24 { // a whole number of waves across, so that the texture repeats
		waves = append(waves, wave{float64(d.IntN(40)), d.uniform(-40, 40), d.uniform(0, 2*math.Pi), d.uniform(0, 0.012)})
	}
	plank := 16 << d.IntN(3)
	for y := range g.h {
		for x := range g.w {
			v := 1.0
			for _, s := range waves {
				v += s.height * math.Sin(2*math.Pi*(s.kx*float64(x)/float64(g.w)+s.ky*float64(y)/float64(g.h))+s.phase)
			}
			if x%plank < 2 {
				v *= 0.8
			}
			for n := range 3 {
				g.pix[y*g.w+x][n] = float32(v * base[n])
			}
		}
	}
	return g
}

// dotColours are the colours of the dots, in linear light.
var dotColours = [3][3]float64{light(0xd0, 0x1e, 0xf0), light(0x28, 0xdc, 0x28), light(0x1e, 0x6e, 0xff)}

func light(r, g, b float64) [3]float64 {
	linear := func(v float64) float64 {
		if v /= 255; v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return [3]float64{linear(r), linear(g), linear(b)}
}

// levels are the sRGB levels of linear light in steps of 1/4096.
var levels = func() (t [4097]float32) {
	for i := range t {
		v := float64(i) / 4096
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		t[i] = float32(255 * v)
	}
	return t
}()

// frame paints the picture at mid-exposure t.
func (w *dotPaths) frame(d dice, g *ground, canvas [][3]float32, t float64) []byte {
	shift := w.pan * t
	whole := math.Floor(shift)
	part := float32(shift - whole)
	for y := range paintH {
		row := g.pix[y*g.w : (y+1)*g.w]
		for x := range paintW {
			i := ((x+int(whole))%g.w + g.w) % g.w
			a, b := &row[i], &row[(i+1)%g.w]
			for n := range 3 {
				canvas[y*paintW+x][n] = a[n] + part*(b[n]-a[n])
			}
		}
	}
	for k := range w.places {
		w.dot(d, k, canvas, t)
	}
	out := make([]byte, 3*paintW*paintH)
	for i := range canvas {
		for n, v := range canvas[i] {
			v := float64(levels[int(min(max(v, 0), 1)*4096)]) + paintNoise*d.NormFloat64()
			out[3*i+n] = uint8(math.Round(min(max(v, 0), 255)))
		}
	}
	return out
}

// dot paints one dot. The dot's share of each pixel is the share of light rays that meet it, where
// the rays are spread over the pixel, the lens's blur and the time that the shutter is open.
func (w *dotPaths) dot(d dice, k int, canvas [][3]float32, t float64) {
	var px, py [moments]float64
	for m := range moments {
		px[m], py[m] = w.at(k, t+((float64(m)+0.5)/moments-0.5)*paintShutter)
	}
	r := w.radius[k]
	pad := r + 0.5 + 4*paintLens
	low := func(a, b float64) int { return int(math.Floor(min(a, b) - pad)) }
	high := func(a, b float64) int { return int(math.Ceil(max(a, b) + pad)) }
	inner := r - 0.71 - 4*paintLens // within this radius every ray meets the dot
	for y := max(0, low(py[0], py[moments-1])); y <= min(paintH-1, high(py[0], py[moments-1])); y++ {
		for x := max(0, low(px[0], px[moments-1])); x <= min(paintW-1, high(px[0], px[moments-1])); x++ {
			met := 0
			for m := range moments {
				dx, dy := float64(x)-px[m], float64(y)-py[m]
				far := math.Hypot(dx, dy)
				if far < inner {
					met += jitters
				}
				if far < inner || far > pad+0.71 {
					continue
				}
				for j := range jitters {
					// in a grid of cells over the pixel, at random within the cell and by the blur
					sx := (float64(j%8)+d.Float64())/8 - 0.5 + paintLens*d.NormFloat64()
					sy := (float64(j/8)+d.Float64())/(jitters/8) - 0.5 + paintLens*d.NormFloat64()
					if (dx+sx)*(dx+sx)+(dy+sy)*(dy+sy) < r*r {
						met++
					}
				}
			}
			share := float32(met) / (moments * jitters)
			c := &canvas[y*paintW+x]
			for n := range c {
				c[n] += share * (float32(dotColours[k][n]) - c[n])
			}
		}
	}
}

// record paints the frames at the given times and codes them as H.264.
func (w *dotPaths) record(ctx context.Context, d dice, path string, times []float64) error {
	c := exec.CommandContext(ctx, "ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", fmt.Sprintf("%dx%d", paintW, paintH),
		"-r", fmt.Sprint(paintRate), "-i", "-", "-vf", "scale=out_range=limited:out_color_matrix=bt709,format=yuv420p",
		"-c:v", "libx264", "-preset", "veryfast", "-crf", fmt.Sprint(clipCRF), "-bf", "2", "-colorspace", "bt709", "-color_range", "tv", path)
	var in, complaint bytes.Buffer
	g := newGround(d)
	canvas := make([][3]float32, paintW*paintH)
	for _, t := range times {
		in.Write(w.frame(d, g, canvas, t))
	}
	c.Stdin, c.Stderr = &in, &complaint
	if err := c.Run(); err != nil {
		return fmt.Errorf("ffmpeg: %w: %s", err, complaint.String())
	}
	return nil
}

// lookAt returns a camera of the painted size in front of the body, zoomed so that a dot is as large
// as in a phone's picture taken from a few metres.
func (d dice) lookAt(middle scene.Vec) (scene.Camera, float64) {
	distance := d.uniform(nearest, farthest)
	perMetre := d.uniform(300, 340) // px
	c := scene.LookAt(paintW, paintH, perMetre*distance, middle, distance)
	c.Yaw, c.Pitch = d.normalDeg(0, classes[1].yaw), d.normalDeg(0, classes[1].pitch)
	c.Roll = d.uniform(-maxRoll, maxRoll) * degree
	return c, distance
}
