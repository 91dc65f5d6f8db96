package scene

import (
	"math"
	"reflect"
	"runtime"
	"sync"
)

// stage is what is drawn once for a camera that stands still: the empty hall.
type stage struct {
	camera Camera
	hall   Hall
	room   *room

	light []float32 // 3 for each pixel, linear
	floor []float32 // X and Z for each pixel, NaN where it is not floor
	bytes []uint8   // light as sRGB, 4 for each pixel
}

// hallSamples is how many rays on each side of a pixel draw the empty hall.
const hallSamples = 4

// stage returns the empty hall, drawn anew only where it or the camera changed.
func (s *Scene) stage() *stage {
	if k := s.set; k != nil && k.camera == s.Camera && reflect.DeepEqual(k.hall, s.Hall) {
		return k
	}
	k := &stage{camera: s.Camera, hall: s.Hall, room: s.Hall.ready()}
	s.set = k
	if s.moving() {
		return k // drawn anew in every frame
	}
	w, h := s.Camera.Width, s.Camera.Height
	k.light, k.floor, k.bytes = make([]float32, 3*w*h), make([]float32, 2*w*h), make([]uint8, 4*w*h)
	v := s.Camera.view()
	inBands(h, 8, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range w {
				i := y*w + x
				c, f := k.room.pixel(&v, float64(x), float64(y), hallSamples)
				k.light[3*i], k.light[3*i+1], k.light[3*i+2] = float32(c.r), float32(c.g), float32(c.b)
				k.floor[2*i], k.floor[2*i+1] = f[0], f[1]
				k.bytes[4*i], k.bytes[4*i+1], k.bytes[4*i+2], k.bytes[4*i+3] = encode(float32(c.r)), encode(float32(c.g)), encode(float32(c.b)), 255
			}
		}
	})
	return k
}

// moving says whether the empty hall looks different in every frame.
func (s *Scene) moving() bool { return s.Shake.Turn != 0 || s.Shake.Shift != 0 }

// flatEnough is how alike four rays of a pixel must be for more rays not to
// matter: a hundredth of white, under three of 255 steps.
const flatEnough = 0.01

// pixel averages n by n rays over a pixel, fewer where they are alike, and says
// where the floor is in it.
func (r *room) pixel(v *view, x, y float64, n int) (c rgb, floor [2]float32) {
	if n > 2 {
		var alike bool
		if c, floor, alike = r.rays(v, x, y, 2); alike {
			return c, floor
		}
	}
	c, floor, _ = r.rays(v, x, y, n)
	return c, floor
}

func (r *room) rays(v *view, x, y float64, n int) (c rgb, floor [2]float32, alike bool) {
	floor = [2]float32{nan32, nan32}
	lo, hi := grey(math.Inf(1)), grey(math.Inf(-1))
	for j := range n {
		for i := range n {
			dir := v.ray(x+(float64(i)+0.5)/float64(n)-0.5, y+(float64(j)+0.5)/float64(n)-0.5)
			s := r.look(v.from, dir)
			c = c.add(s.light)
			lo = rgb{min(lo.r, s.light.r), min(lo.g, s.light.g), min(lo.b, s.light.b)}
			hi = rgb{max(hi.r, s.light.r), max(hi.g, s.light.g), max(hi.b, s.light.b)}
			if s.floor {
				floor = [2]float32{float32(s.x), float32(s.z)}
			}
		}
	}
	alike = hi.r-lo.r < flatEnough && hi.g-lo.g < flatEnough && hi.b-lo.b < flatEnough
	return c.mul(1 / float64(n*n)), floor, alike
}

var nan32 = float32(math.NaN())

// inBands shares out [0, n) in bands of rows among the cores.
func inBands(n, band int, work func(from, to int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+band-1)/band) {
		wg.Go(func() {
			for from := range next {
				work(from, min(n, from+band))
			}
		})
	}
	for from := 0; from < n; from += band {
		next <- from
	}
	close(next)
	wg.Wait()
}
