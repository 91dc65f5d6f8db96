package scene

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
)

// startingAt is a motion whose time 0 is at start.
type startingAt struct {
	Motion
	start float64 // s
}

// At returns the pose at a time.
func (m startingAt) At(t float64) Pose { return m.Motion.At(t + m.start) }

// the colours of stickers and skin and the exposure times (s) that a sketch is drawn from
var (
	stickerColours = []uint32{magenta, green, blue, orange, 0xf2c91c, 0xe02828, 0x18c8c8, 0xff6fa8, 0xb4e61e, 0xe8823a}
	skins          = []uint32{0xbd9074, 0xe0b090, 0x8d5a3c, 0xd9a066, 0x5f3d2a}
	shutters       = []float64{1.0 / 60, 1.0 / 120, 1.0 / 250, 1.0 / 500, 1.0 / 1000}
)

// leastRadius is the least radius of a sketch's smallest sticker in the picture, px.
const leastRadius = 3.5

// NewSketch returns a take of about one second whose parameters are all drawn from a seed: motion,
// sizes, colours, background, obstacles, light, shutter and the phone's processing.
func NewSketch(seed uint64) *Sketch {
	d := sketchDraw{rand.New(rand.NewPCG(seed, 0x5ced))}
	b := NewBody(d.evenly(1.30, 1.75))
	b.Skin, b.Leotard = d.colour(skins), d.colour(append(slices.Clone(stickerColours), 0x27364a, 0x1e1e22, 0x5a2a3a, 0x3f6f5f))
	s := &Sketch{Scene: &Scene{Name: "sketch", Body: b, FPS: 60, Seed: seed + 1, Hall: Hall{WallZ: -3}}}
	if d.chance(0.25) {
		s.FPS = 30
	}
	what := d.motion(s)
	d.camera(s)
	d.light(s)
	d.phone(s)
	more := d.obstacles(s)
	kind := wallKind(d.IntN(int(wallKinds)))
	hues := []uint32{}
	for _, k := range s.Stickers {
		hues = append(hues, k.Colour)
	}
	decoys := d.chance(0.25)
	if decoys {
		more = append(more, "decoys")
	}
	s.Wall = func() *Wall { return d.wall(s, kind, hues, decoys) }
	s.About = strings.Join(append([]string{what, [wallKinds]string{"painted wall", "planks", "leaves", "mats"}[kind],
		fmt.Sprintf("1/%.0f s", 1/s.Shutter), fmt.Sprintf("readout %.0f ms", 1000*s.Readout)}, more...), ", ")
	return s
}

// wall draws the background, with two patches that look like stickers if decoys is true.
func (d sketchDraw) wall(s *Sketch, kind wallKind, hues []uint32, decoys bool) *Wall {
	_, horizon, _ := s.Camera.Project(Vec{Z: s.Hall.WallZ})
	perMetre := s.Camera.Focal / (s.Camera.Distance - s.Hall.WallZ)
	k := newWall(d.Rand, s.Camera.Width, s.Camera.Height, perMetre, horizon, kind, hues, &s.Lamps)
	if decoys {
		for range 2 {
			c := hexToLinear(d.colour(hues)).times(s.Lamps.lightOn(Vec{Z: 1}))
			size := s.Stickers[0].RadiusMM / 1000 * s.Camera.Focal / s.Camera.Distance * d.evenly(0.7, 1.3)
			k.patch(d.evenly(0.1, 0.9)*float64(k.w), d.evenly(0.1, 0.9)*float64(k.h), size, size, 0, c)
		}
	}
	return k
}

// sketchDraw draws a sketch's parameters.
type sketchDraw struct{ *rand.Rand }

func (d sketchDraw) evenly(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }
func (d sketchDraw) chance(p float64) bool         { return d.Float64() < p }
func (d sketchDraw) colour(from []uint32) uint32   { return from[d.IntN(len(from))] }
func (d sketchDraw) turn(sd float64) float64       { return clamp(d.NormFloat64(), -2.5, 2.5) * sd }
func (d sketchDraw) direction(yaw, pitch float64) Vec {
	sy, cy := math.Sincos(yaw)
	sp, cp := math.Sincos(pitch)
	return Vec{sy * cp, sp, cy * cp}
}

// motion draws the motion and the stickers. It returns a description.
func (d sketchDraw) motion(s *Sketch) string {
	b := s.Body
	kinds := []string{"leap", "leap", "switch leap", "switch leap", "straddle", "handstand"}
	kind := kinds[d.IntN(len(kinds))]
	length, start := d.evenly(0.85, 1.15), 0.0
	on := []string{"hip", "front-ankle", "back-ankle"}
	switch kind {
	case "leap", "switch leap":
		o := Leap{
			Peak: d.evenly(120, 190) * degree, PeakAt: d.evenly(0.5, 0.62), TakeOff: d.evenly(0.36, 0.42),
			Flight: d.evenly(0.5, 0.62), Leftwards: d.chance(0.5), Left: d.chance(0.5), Switch: kind == "switch leap",
		}
		if o.Switch {
			o.PeakAt = d.evenly(0.62, 0.68)
		}
		s.Motion, s.Measure = o.Motion(b), "hip-split"
		start = o.TakeOff + o.PeakAt*o.Flight - d.evenly(0.4, 0.65)*length
	case "straddle":
		o := Straddle{Peak: d.evenly(90, 165) * degree, PeakAt: d.evenly(0.46, 0.6)}
		s.Motion, s.Measure = o.Motion(b), "leg-separation"
		start, on = d.evenly(0, 0.25), []string{"left-hip", "left-ankle", "right-ankle"}
	default:
		o := Handstand{Shoulder: d.evenly(155, 190) * degree, Swing: d.evenly(-26, -8) * degree}
		s.Motion, s.Measure = o.Motion(b), "shoulder-flexion"
		start, on = d.evenly(0, 0.4), []string{"right-shoulder", "right-wrist", "right-hip"}
	}
	s.Motion = startingAt{s.Motion, max(0, start)}
	s.Frames = int(length * s.FPS)

	// 12 to 40 mm across, with 5 % variation; two or three may have one colour
	across := d.evenly(12, 40)
	square, gloss := d.chance(0.35), 0.0
	if d.chance(0.4) {
		gloss = d.evenly(0.3, 1)
	}
	colours := slices.Clone(stickerColours)
	d.Shuffle(len(colours), func(i, j int) { colours[i], colours[j] = colours[j], colours[i] })
	alike := 1
	if d.chance(0.45) {
		alike = 2 + d.IntN(2)
	}
	for i, name := range on {
		k := Sticker{Landmark: name, RadiusMM: across / 2 * d.evenly(0.95, 1.05), Colour: colours[i], Square: square, Gloss: gloss}
		if i >= len(on)-alike {
			k.Colour = colours[len(on)-1]
		}
		if d.chance(0.5) {
			k.RoundMM = max(1.6*k.RadiusMM, d.evenly(35, 120))
		}
		s.Stickers = append(s.Stickers, k)
	}
	what := fmt.Sprintf("%s, %.0f mm", kind, across)
	if square {
		what += " square"
	}
	if gloss > 0 {
		what += " glossy"
	}
	if alike > 1 {
		what += fmt.Sprintf(", %d alike", alike)
	}
	return what
}

// camera draws the picture's size and the camera, so close that the smallest sticker has at least
// leastRadius.
func (d sketchDraw) camera(s *Sketch) {
	least := math.Inf(1)
	for _, k := range s.Stickers {
		least = min(least, k.RadiusMM/1000)
	}
	need := leastRadius / least // px/m
	sizes := [][2]int{{960, 540}, {960, 540}, {1280, 720}, {1280, 720}, {1920, 1080}}
	size := sizes[d.IntN(len(sizes))]
	const tall = 1.5 // m of height that a picture shows at least
	for need > float64(size[1])/tall && size[1] < 1080 {
		size = [2]int{size[0] * 4 / 3, size[1] * 4 / 3}
		if size[1] != 720 {
			size = [2]int{1920, 1080}
		}
	}
	most := max(need, float64(size[1])/tall)
	perMetre := d.evenly(max(need, 0.7*most), most)
	at, _ := s.Peak()
	hips := s.Motion.At(at).Hips
	aim := Vec{X: hips.X + d.evenly(-0.2, 0.2), Y: 0.5*hips.Y + 0.5 + d.evenly(-0.1, 0.1)}
	if d.chance(0.3) { // a limb may leave the picture and come back
		aim.Y -= d.evenly(0.2, 0.5)
	}
	distance := d.evenly(4, 8)
	c := LookAt(size[0], size[1], perMetre*distance, aim, distance)
	c.Yaw, c.Pitch, c.Roll = d.turn(6*degree), d.turn(2*degree), d.turn(1*degree)
	s.Camera = c
	if d.chance(0.5) {
		s.Shake = Shake{Turn: d.evenly(0.001, 0.005), Shift: 0.004, Seed: s.Seed + 11}
	}
}

// light draws one of three kinds of light.
func (d sketchDraw) light(s *Sketch) {
	l := Lamps{From: d.direction(d.evenly(-1.2, 1.2), d.evenly(0.2, 1.2)), Hertz: 100, Beat: d.evenly(0.8, 2)}
	if d.chance(0.3) {
		l.Hertz = 120
	}
	bright := d.evenly(0.6, 1)
	switch d.IntN(3) {
	case 0: // diffuse
		l.Sky, l.Key = [3]float64{0.75 * bright, 0.76 * bright, 0.78 * bright}, [3]float64{0.12, 0.12, 0.11}
	case 1: // from one side
		l.Sky, l.Key = [3]float64{0.28 * bright, 0.29 * bright, 0.32 * bright}, [3]float64{0.8 * bright, 0.77 * bright, 0.7 * bright}
	default: // daylight and lamps on the mains
		l.Sky, l.Key = [3]float64{0.42 * bright, 0.46 * bright, 0.54 * bright}, [3]float64{0.5 * bright, 0.42 * bright, 0.3 * bright}
		l.Flicker, l.Drift = d.evenly(0.05, 0.25), d.turn(0.12)
	}
	s.Lamps = l
}

// phone draws shutter, readout, noise and the phone's processing.
func (d sketchDraw) phone(s *Sketch) {
	s.Shutter = shutters[d.IntN(len(shutters))]
	s.Readout = d.evenly(0.007, min(0.033, 1/s.FPS))
	// a shorter exposure has less light, so more noise
	grainy := clamp(math.Sqrt(1.0/120/s.Shutter), 0.7, 2.5)
	s.Noise = Noise{Read: 0.003 * grainy, Shot: 0.007 * grainy}
	s.Finish = Finish{Smooth: d.IntN(3)}
	if d.chance(0.7) {
		s.Finish.Sharpen = d.evenly(0.4, 1.6)
	}
	if d.chance(0.6) {
		s.Finish.Denoise = d.evenly(3, 9)
	}
}

// obstacles draws a person who passes behind and a stick or limb that passes in front. It
// returns their descriptions.
func (d sketchDraw) obstacles(s *Sketch) (what []string) {
	if d.chance(0.25) {
		o := NewBody(d.evenly(1.4, 1.8))
		o.Skin, o.Leotard = d.colour(skins), d.colour(stickerColours)
		side := 1.0
		if d.chance(0.5) {
			side = -1
		}
		s.others = []figure{{o, walk{b: o, from: Vec{X: s.Camera.Target.X - 0.8*side, Z: -1.6}, speed: side * d.evenly(0.8, 1.7), phase: d.evenly(0, 6)}}}
		what = append(what, "a passer-by")
	}
	if !d.chance(0.4) {
		return what
	}
	// a stick or a limb in front of one sticker for some frames
	f := flyer{radius: d.evenly(0.012, 0.025), colour: d.colour(append(slices.Clone(woodColours), stickerColours...))}
	name := "a stick"
	if d.chance(0.5) {
		f.radius, f.colour, name = d.evenly(0.04, 0.06), d.colour(skins), "a limb"
	}
	k := s.Stickers[d.IntN(len(s.Stickers))]
	at := d.evenly(0.25, 0.75) * s.Time(s.Frames-1)
	place := func(t float64) Vec { p, _ := s.Body.Joints(s.Motion.At(t)).At(k.Landmark); return p }
	const dt, before = 0.02, 0.35 // s; m nearer to the camera
	p := place(at)
	v := place(at + dt).Sub(place(at - dt)).Mul(1 / (2 * dt))
	eye := s.Camera.Position()
	nearer := (eye.Z - p.Z - before) / (eye.Z - p.Z)
	meet := eye.Add(p.Sub(eye).Mul(nearer))
	sa, ca := math.Sincos(d.evenly(0, 2*math.Pi))
	dir := Vec{X: ca, Y: sa}
	hides := d.evenly(4, 15) / s.FPS // s
	speed := v.Mul(nearer).Add(dir.Mul(2 * (f.radius + k.RadiusMM/1000) / hides))
	f.along = Vec{X: -sa, Y: ca}.Mul(1.2)
	f.speed, f.from = speed, meet.Sub(f.along.Mul(0.5)).Sub(speed.Mul(at))
	s.flyers = append(s.flyers, f)
	return append(what, name)
}

// Wall is the background of a [Sketch]: a picture a little larger than the take's, in linear light.
type Wall struct {
	w, h, margin int
	light        []float32 // 3 for each pixel
}

// wallMargin is the margin of a wall around the picture on each side, px at 1080 rows.
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

// wallKind is the pattern of a wall.
type wallKind int

const (
	painted wallKind = iota
	planks
	leaves
	mats
	wallKinds
)

// the colours that a wall is drawn from
var (
	woodColours = []uint32{0xb5793f, 0xc98f4e, 0x8a5a33, 0xd9a757}
	leafColours = []uint32{0x4f8a2e, 0x7fae35, 0x35682c, 0xd8c22a, 0xc7a31f}
	paleColours = []uint32{0xe4e2da, 0xbfc6c9, 0x8d99a3, 0xd9cdb8, 0x6f7780}
)

// newWall draws a wall of one of four kinds above the row horizon, and below it a floor of wood or of
// a mat. Mats may have the colours hues.
func newWall(r *rand.Rand, w, h int, perMetre, horizon float64, kind wallKind, hues []uint32, lamps *Lamps) *Wall {
	m := wallMargin * h / 1080
	k := &Wall{w: w + 2*m, h: h + 2*m, margin: m}
	k.light = make([]float32, 3*k.w*k.h)
	pick := func(from []uint32) uint32 { return from[r.IntN(len(from))] }
	base, wood, floor := hexToLinear(pick(paleColours)), hexToLinear(pick(woodColours)), hexToLinear(pick(woodColours))
	if r.IntN(2) == 0 {
		floor = hexToLinear(pick(append(paleColours, hues...)))
	}
	off := r.Float64() * 100
	var blocks []rgb // of mats, half a metre to two metres wide
	for range 16 {
		blocks = append(blocks, hexToLinear(pick(append(hues, paleColours...))).mul(0.6+0.3*r.Float64()))
	}
	wide := 0.5 + 1.5*r.Float64()
	shade := lamps.lightOn(Vec{Z: 1})
	inBands(k.h, bandRows, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range k.w {
				px, py := float64(x-m)/perMetre, (float64(y-m)-horizon)/perMetre // m
				var c rgb
				switch {
				case py > 0:
					c = woodGrain(floor, px+off, py*3, 0.13)
				case kind == planks:
					c = woodGrain(wood, py+off, px, 0.18)
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

// woodGrain is the colour of wood at (x, y), m: planks along y, width m wide, with a grain.
func woodGrain(c rgb, x, y, width float64) rgb {
	row := math.Floor(x / width)
	tone := 0.85 + 0.3*hash(row, 3) + 0.16*(noise(x*90, y*4+row*17)-0.5) + 0.05*(noise(x*300, y*20)-0.5)
	if in := x/width - row; in < 0.03 {
		tone *= 0.55
	}
	return c.mul(tone)
}

// leaves covers the wall with leaves, the darker ones first.
func (k *Wall) leaves(r *rand.Rand, perMetre, horizon float64, shade rgb) {
	n := int(float64(k.w) * (horizon + float64(k.margin)) / (0.055 * perMetre * 0.055 * perMetre) * 2.2)
	for i := range max(0, n) {
		long := (0.025 + 0.05*r.Float64()) * perMetre
		c := hexToLinear(leafColours[r.IntN(len(leafColours))]).times(shade).mul(0.25 + 0.85*float64(i)/float64(n))
		k.patch(r.Float64()*float64(k.w), r.Float64()*(horizon+float64(k.margin)), long, long*(0.3+0.3*r.Float64()), r.Float64()*math.Pi, c)
	}
}

// patch paints an ellipse with the half-axes long and short, px; its edge has the blur of the lens.
func (k *Wall) patch(cx, cy, long, short, turn float64, c rgb) {
	s, co := math.Sincos(turn)
	f := outline{x0: cx, y0: cy, ux: long * co, uy: long * s, vx: -short * s, vy: short * co, shape: round}
	b := f.bounds()
	for y := max(0, b.Min.Y); y < min(k.h, b.Max.Y); y++ {
		for x := max(0, b.Min.X); x < min(k.w, b.Max.X); x++ {
			cover, _, _, _, _ := f.sample(float64(x), float64(y))
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
