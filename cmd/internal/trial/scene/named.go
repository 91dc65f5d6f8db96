package scene

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
)

// named are the named scenes: a description, and a function that builds the scene
// with its random parameters from a draw.
var named = map[string]struct {
	about string
	build func(variantDraw) *Scene
}{
	"leap":      {"the demo: a split leap seen from 8 degrees aside, a sharp phone on a tripod", demoLeap},
	"plain":     {"a split leap in a plain hall, as a phone takes it at 60 frames a second", plainLeap},
	"mats":      {"the same before mats in the stickers' hues", matsLeap},
	"bent":      {"the same with stickers bent round the limbs, light on one side", bentLeap},
	"light":     {"the same while the light changes", lightLeap},
	"passer":    {"the same while a second person walks behind", passerLeap},
	"crossing":  {"a switch leap, two stickers of one colour on ankles that cross in flight", crossingLeap},
	"hidden":    {"the same, one sticker behind a ball for ten frames", hiddenLeap},
	"hand":      {"the same from a camera in the hand", handLeap},
	"rolling":   {"the same through a bending lens and a rolling shutter", rollingLeap},
	"handstand": {"a handstand whose shoulder angle sways and settles", handstandScene},
	"straddle":  {"a straddle jump from the front", straddleScene},
	"board":     {"pictures of a checkerboard through a bending lens", boardScene},
}

// Names lists the named scenes in order.
func Names() []string {
	var names []string
	for n := range named {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

// Named returns a new copy of a named scene.
func Named(name string) (*Scene, error) { return Variant(name, 0) }

// Variant returns a named scene with random parameters drawn from a seed: the value
// and the time of the peak (so that it falls anywhere between two frames), the
// camera's position and rotation, the athlete's size, noise and shake. Seed 0 is the
// scene as [Named] returns it.
func Variant(name string, seed uint64) (*Scene, error) {
	n, ok := named[name]
	if !ok {
		return nil, fmt.Errorf("scene: no scene %q; there are %s", name, strings.Join(Names(), ", "))
	}
	s := n.build(variantDraw{seed: seed, r: rand.New(rand.NewPCG(seed, uint64(len(name))))})
	s.Name, s.About = name, n.about
	return s, nil
}

// variantDraw draws a scene's parameters; for seed 0 it gives the default ones.
type variantDraw struct {
	seed uint64
	r    *rand.Rand
}

// between draws from the uniform distribution on [lo, hi]; it is usual for seed 0.
func (d variantDraw) between(lo, usual, hi float64) float64 {
	v := lo + (hi-lo)*d.r.Float64()
	if d.seed == 0 {
		return usual
	}
	return v
}

// the colours of stickers in the named scenes
const (
	magenta = 0xd01ef0
	green   = 0x28dc28
	blue    = 0x1e6eff
	orange  = 0xff8a14
)

func hexColour(c uint32) string { return fmt.Sprintf("#%06x", c) }

// phone sets what is typical of a phone's clip: 60 frames a second, a shutter of
// 1/240 s, a little visible noise.
func (s *Scene) phone(seed uint64) *Scene {
	s.FPS, s.Shutter = 60, 1.0/240
	s.Noise = Noise{Read: 0.004, Shot: 0.010}
	s.Seed = seed + 1
	return s
}

// tripod is a phone's camera at twice the zoom, about 6 m away, that looks at a point
// high metres over the strip.
func tripod(d variantDraw, high float64) Camera {
	c := LookAt(1920, 1080, 2430, Vec{Y: high}, d.between(5.6, 6, 6.8))
	c.Focal *= c.Distance / 6
	c.Yaw = d.between(-12, 8, 12) * degree
	c.Pitch = d.between(-1, 1.4, 3) * degree
	c.Roll = d.between(-1.5, 0, 1.5) * degree
	return c
}

func demoLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Shutter, s.Noise = 1.0/480, Noise{Read: 0.003, Shot: 0.008}
	return s
}

func plainLeap(d variantDraw) *Scene { return leapWith(d, func(*Leap) {}) }

// leapWith is the plain scene with a changed leap.
func leapWith(d variantDraw, change func(*Leap)) *Scene {
	b := NewBody(d.between(1.40, 1.52, 1.68))
	o := Leap{
		Peak: d.between(125, 163, 188) * degree, PeakAt: d.between(0.49, 0.57, 0.62),
		TakeOff: d.between(0.36, 0.38, 0.42), Flight: d.between(0.54, 0.58, 0.62), Middle: -0.15,
	}
	change(&o)
	s := &Scene{
		Body: b, Motion: o.Motion(b), Camera: tripod(d, 1.06), Hall: PlainHall(), Frames: 90, Measure: "hip-split",
		Stickers: []Sticker{{Landmark: "hip", Colour: magenta}, {Landmark: "front-ankle", Colour: green}, {Landmark: "back-ankle", Colour: blue}},
	}
	return s.phone(d.seed)
}

func matsLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Hall.Bars = false
	s.Hall.Mats = []Mat{
		{Min: Vec{-3.6, 0, -3.15}, Max: Vec{-1.9, 1.9, -2.95}, Colour: 0xb92bd3},
		{Min: Vec{-1.6, 0, -3.15}, Max: Vec{0.1, 1.9, -2.95}, Colour: 0x3cc83c},
		{Min: Vec{0.4, 0, -3.15}, Max: Vec{2.1, 1.9, -2.95}, Colour: 0x3a78ee},
		{Min: Vec{2.4, 0, -3.1}, Max: Vec{3.9, 0.6, -2.3}, Colour: 0x2fb84a, Layers: 3},
	}
	return s
}

func bentLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Stickers[0].RoundMM = d.between(90, 110, 140)
	ankle := d.between(38, 45, 55)
	s.Stickers[1].RoundMM, s.Stickers[2].RoundMM = ankle, ankle
	return s
}

func lightLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Light = Light{Dim: 0.42, Warm: 0.22, Sweep: 0.25, Beat: d.between(0.6, 0.8, 1.4)}
	return s
}

func passerLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	o := NewBody(1.66)
	o.Skin, o.Leotard, o.Hair = 0xd3a88c, 0x6d2f7c, 0x8a6a3c
	s.others = []figure{{o, walk{b: o, from: Vec{X: 1.6, Z: -1.7}, speed: d.between(-1.7, -1.3, -1.0), phase: 0.7}}}
	return s
}

func crossingLeap(d variantDraw) *Scene {
	s := leapWith(d, func(o *Leap) { o.Switch, o.PeakAt, o.Flight = true, 0.64, o.Flight+0.04 })
	s.Stickers = []Sticker{{Landmark: "hip", Colour: magenta}, {Landmark: "front-ankle", Colour: green}, {Landmark: "back-ankle", Colour: green}}
	return s
}

// hiddenLeap has a ball that passes in front of the front ankle, at a speed that hides
// the sticker for ten frames.
func hiddenLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	at, _ := s.Peak()
	ankle := func(t float64) Vec { p, _ := s.Body.Joints(s.Motion.At(t)).At("front-ankle"); return p }
	const dt, radius, before = 0.02, 0.105, 0.35
	const hiddenSpan = 12 // frames hidden on a straight path; the ankle's path is curved
	p := ankle(at)
	v := ankle(at + dt).Sub(ankle(at - dt)).Mul(1 / (2 * dt))
	// the sticker is wholly hidden over a path of 2 (ball's radius - sticker's radius), both
	// at the sticker's depth
	eye := s.Camera.Position()
	nearer := (eye.Z - p.Z - before) / (eye.Z - p.Z)
	rel := 2 * (radius/nearer - defaultRadius) / (hiddenSpan / s.FPS)
	meet := eye.Add(p.Sub(eye).Mul(nearer))
	speed := v.Add(Vec{X: -rel}).Mul(nearer)
	s.flyers = []flyer{{from: meet.Sub(speed.Mul(at)), speed: speed, radius: radius, colour: 0xc9c2b2}}
	return s
}

func handLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Shake = Shake{Turn: 0.004, Shift: 0.006, Seed: d.seed + 11}
	return s
}

func rollingLeap(d variantDraw) *Scene {
	s := plainLeap(d)
	s.Readout = d.between(0.006, 0.012, 0.016)
	s.Camera.Lens = Lens{d.between(-0.25, -0.18, 0.1), 0.06, 0.0006, -0.0004, 0}
	return s
}

func handstandScene(d variantDraw) *Scene {
	b := NewBody(d.between(1.40, 1.52, 1.68))
	s := &Scene{
		Body: b, Camera: tripod(d, 1.02), Hall: PlainHall(), Frames: 120, Measure: "shoulder-flexion",
		Motion: Handstand{Shoulder: d.between(160, 176, 190) * degree, Swing: d.between(-24, -16, -8) * degree}.Motion(b),
		Stickers: []Sticker{
			{Landmark: "right-wrist", Colour: orange}, {Landmark: "right-shoulder", Colour: blue},
			{Landmark: "right-hip", Colour: magenta}, {Landmark: "right-ankle", Colour: green},
		},
	}
	// kicked up towards +X the belly looks to -X and the right side stays near
	return s.phone(d.seed)
}

func straddleScene(d variantDraw) *Scene {
	b := NewBody(d.between(1.40, 1.52, 1.68))
	s := &Scene{
		Body: b, Camera: tripod(d, 1.06), Hall: PlainHall(), Frames: 75, Measure: "leg-separation",
		Motion: Straddle{Peak: d.between(90, 140, 165) * degree, PeakAt: d.between(0.46, 0.54, 0.6)}.Motion(b),
		Stickers: []Sticker{
			{Landmark: "left-hip", Colour: magenta}, {Landmark: "right-hip", Colour: orange},
			{Landmark: "left-ankle", Colour: green}, {Landmark: "right-ankle", Colour: blue},
		},
	}
	return s.phone(d.seed)
}

// boardPictures is the number of pictures of the scene "board".
const boardPictures = 14

// boardScene is a board held before the camera at many tilts and places, one a
// second, as for a calibration.
func boardScene(d variantDraw) *Scene {
	c := LookAt(1920, 1080, d.between(1300, 1460, 1700), Vec{Y: 1.2}, 1)
	c.CX += d.between(-20, 9, 20)
	c.CY += d.between(-20, -6, 20)
	c.Lens = Lens{d.between(-0.28, -0.21, 0.08), d.between(0, 0.07, 0.1), 0.0007, -0.0005, 0}
	hand := rand.New(rand.NewPCG(d.seed, 54))
	var poses []BoardPose
	for i := range boardPictures {
		even := func(reach float64) float64 { return reach * (2*hand.Float64() - 1) }
		// on a spiral over the picture, so that its corners are covered too
		s, co := math.Sincos(2.4 * float64(i))
		out := 0.95 * math.Sqrt(float64(i)/boardPictures)
		far := 0.56 + 0.10*hand.Float64()
		reachX := max(0, 0.5*1920/c.Focal*far-0.145)
		reachY := max(0, 0.5*1080/c.Focal*far-0.09)
		poses = append(poses, BoardPose{
			At:  Vec{X: out * co * reachX, Y: 1.2 + out*s*reachY, Z: 1 - far},
			Yaw: even(34) * degree, Pitch: even(30) * degree, Roll: even(14) * degree,
		})
	}
	s := &Scene{
		Camera: c, Hall: PlainHall(), FPS: 1, Frames: boardPictures, Seed: d.seed + 1,
		Noise: Noise{Read: 0.004, Shot: 0.010},
		Boards: []*Board{{Columns: 9, Rows: 6, Square: 0.024, Path: func(t float64) BoardPose {
			return poses[max(0, min(boardPictures-1, int(math.Round(t))))]
		}}},
	}
	return s
}
