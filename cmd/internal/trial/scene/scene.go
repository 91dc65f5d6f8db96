// Package scene renders takes whose true angles are known: the demo, and the
// ground truth of the tests. It shares no code with the measuring side.
//
// # Axes
//
// World coordinates are metres on the plane of motion's own axes: X along the
// motion, Y up (the floor is Y = 0), Z towards the camera; the plane of motion
// is Z = 0. Angles are radians in Go and degrees in files and in names that
// end in Deg. Pixels are continuous, the centre of the top-left pixel is
// (0, 0), x right, y down. A camera turns by R = Rz(Roll) Rx(Pitch) Ry(Yaw).
//
// # Use
//
//	s, err := scene.Named("leap")            // Names lists the named scenes
//	picture, truth := s.Frame(41)            // a picture and its ground truth
//	truth = s.Truth(41)                      // the same without drawing
//	at, deg := s.Peak()                      // the widest angle, between frames
//	ct, err := s.WriteClip(ctx, "leap.mp4", scene.ClipOptions{})
//	clip, marks := demotake.Files()              // the embedded clip of ecart demo
//
// A scene can also be built from its parts: a [Body], a [Motion] (or [Held], a
// pose that does not move), a [Camera], a [Hall] and [Sticker]s:
//
//	b := scene.NewBody(1.52)
//	s := &scene.Scene{
//		Body:   b,
//		Motion: scene.Leap{Peak: 163 * math.Pi / 180}.Motion(b),
//		Camera: scene.LookAt(1920, 1080, 2430, scene.Vec{Y: 1.05}, 6),
//		Hall:   scene.PlainHall(),
//		FPS:    60, Frames: 90, Measure: "hip-split",
//	}
//	s.Camera.Yaw = 8 * math.Pi / 180
//
// For many takes without pictures, [Body.Joints] and [Camera.Project] are
// enough: Joints gives the landmarks in space and, by [Joints.Angles], the true
// angle of each measure.
//
// Body proportions are those of Drillis and Contini (1966) as reprinted in
// handbooks of biomechanics; given from memory.
package scene

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strings"
)

//go:generate go run ./generate

// Scene is one take: an athlete who moves, a camera and a hall. Set the fields
// before the first picture. A Scene draws with every core and is not for use by
// two goroutines at once.
type Scene struct {
	Name     string
	About    string // a short description of what it shows
	Body     Body
	Motion   Motion // nil: no athlete, only boards
	Stickers []Sticker
	others   []figure // people besides the athlete
	flyers   []flyer
	Boards   []*Board

	Camera  Camera
	Hall    Hall
	FPS     float64 // frames a second
	Frames  int
	Shutter float64 // exposure time, s; 0: no motion blur
	Readout float64 // s from the first row to the last (rolling shutter); 0: all rows at once
	Shake   Shake
	Light   Light
	Noise   Noise
	Seed    uint64

	Measure string // key of the measure whose peak is the peak of the take; see [Joints.Angles]

	emptyHall  *stage  // drawn once
	peakJoints *Joints // at the peak
}

// figure is another person in the picture.
type figure struct {
	body   Body
	motion Motion
}

// Check returns an error that names the first invalid field; nil if there is none.
func (s *Scene) Check() error {
	if err := s.Camera.check(); err != nil {
		return err
	}
	switch {
	case s.Motion == nil && len(s.Boards) == 0:
		return errors.New("scene: no motion, and no board either")
	case s.Motion != nil && !(s.Body.Stature > 0):
		return fmt.Errorf("scene: stature %g m: it must be above 0", s.Body.Stature)
	case !(s.Hall.WallZ < 0):
		return fmt.Errorf("scene: wall at z = %g m: it must be behind the athlete, below 0", s.Hall.WallZ)
	case !(s.FPS > 0):
		return fmt.Errorf("scene: %g frames a second: it must be above 0", s.FPS)
	case s.Frames < 1:
		return fmt.Errorf("scene: %d frames: there must be at least one", s.Frames)
	case s.Shutter < 0 || s.Readout < 0:
		return errors.New("scene: shutter and readout must not be below 0")
	}
	for _, b := range s.Boards {
		if b.Columns < 2 || b.Rows < 2 || !(b.Square > 0) {
			return fmt.Errorf("scene: a board of %d by %d corners, %g m squares: at least 2 by 2, above 0", b.Columns, b.Rows, b.Square)
		}
	}
	for _, k := range s.Stickers {
		if _, _, ok := (Joints{}).find(k.Landmark); !ok {
			return fmt.Errorf("scene: no landmark %q for a sticker", k.Landmark)
		}
	}
	return nil
}

// Time is the stamp of a frame in seconds: the middle of the exposure of the
// picture's middle row.
func (s *Scene) Time(frame int) float64 { return float64(frame) / s.FPS }

// rowTime is the middle of a row's exposure, s.
func (s *Scene) rowTime(frame int, row float64) float64 {
	h := float64(s.Camera.Height)
	return s.Time(frame) + s.Readout*(row-(h-1)/2)/h
}

// cameraAt is the camera at a time, with the shake of a hand-held one.
func (s *Scene) cameraAt(t float64) Camera { return s.Shake.move(s.Camera, t) }

// Frame draws a frame and returns it with its ground truth. It panics if
// [Scene.Check] returns an error.
func (s *Scene) Frame(i int) (image.Image, Truth) {
	if err := s.Check(); err != nil {
		panic(err.Error())
	}
	return s.draw(i), s.Truth(i)
}

// Still draws a body in a pose in the plain hall: frame 0 of a scene that does
// not move.
func Still(b Body, p Pose, c Camera, stickers []Sticker, measure string) (image.Image, Truth) {
	return still(b, p, c, stickers, measure).Frame(0)
}

// StillTruth returns the ground truth of Still without drawing it.
func StillTruth(b Body, p Pose, c Camera, measure string) Truth {
	return still(b, p, c, nil, measure).Truth(0)
}

func still(b Body, p Pose, c Camera, stickers []Sticker, measure string) *Scene {
	return &Scene{
		Name: "still", Body: b, Motion: Held(p), Stickers: stickers, Camera: c, Hall: PlainHall(),
		FPS: 1, Frames: 1, Measure: measure,
	}
}

// Peak returns the time, s, and the value, degrees, of the largest angle of the
// scene's measure within the take. The time is not rounded to a frame. Both are
// NaN if the scene has no such measure.
func (s *Scene) Peak() (at, deg float64) {
	if s.Motion == nil {
		return math.NaN(), math.NaN()
	}
	angle := func(t float64) float64 {
		a, ok := s.Body.Joints(s.Motion.At(t)).Angles()[s.Measure]
		if !ok {
			return math.NaN()
		}
		return a
	}
	if math.IsNaN(angle(0)) {
		return math.NaN(), math.NaN()
	}
	return highest(angle, 0, s.Time(s.Frames-1))
}

// stickerJoint is where a sticker stays: a role or a bare name is settled once, at the
// peak of the measure.
func (s *Scene) stickerJoint(i int) (Side, int) {
	name := s.Stickers[i].Landmark
	role, _, _ := strings.Cut(name, "-")
	if role == "left" || role == "right" {
		side, kind, _ := Joints{}.find(name)
		return side, kind
	}
	if s.peakJoints == nil {
		at, deg := s.Peak()
		if math.IsNaN(deg) {
			at = 0
		}
		j := s.Body.Joints(s.Motion.At(at))
		s.peakJoints = &j
	}
	side, kind, _ := s.peakJoints.find(name)
	return side, kind
}

// Shake is the movement of a hand-held camera: smooth random rotations and shifts
// about its mean pose. The zero Shake is a tripod.
type Shake struct {
	Turn  float64 // standard deviation of each turn, rad; 0.003 is a steady hand
	Shift float64 // standard deviation of each shift, m
	Seed  uint64
}

// shakeTones is the number of sine waves that are summed for each of the six
// degrees of freedom of a hand.
const shakeTones = 5

func (k Shake) move(c Camera, t float64) Camera {
	if k.Turn == 0 && k.Shift == 0 {
		return c
	}
	// sum of sines between 0.4 and 7 Hz, weaker as they get faster
	wave := func(channel int) float64 {
		sum, power := 0.0, 0.0
		for i := range shakeTones {
			h := scramble(k.Seed*977 + uint64(channel*shakeTones+i+1)*0x9e3779b97f4a7c15)
			phase := 2 * math.Pi * float64(h>>40) / (1 << 24)
			f := 0.4 * math.Pow(7/0.4, (float64(i)+float64(h&0xffff)/65536)/shakeTones)
			a := 1 / math.Pow(1+f, 1.3)
			sum += a * math.Sin(2*math.Pi*f*t+phase)
			power += a * a / 2
		}
		return sum / math.Sqrt(power)
	}
	at := c.Position()
	c.Yaw += k.Turn * wave(0)
	c.Pitch += k.Turn * wave(1)
	c.Roll += k.Turn * wave(2)
	at = at.Add(Vec{wave(3), wave(4), wave(5)}.Mul(k.Shift))
	c.Target = at.Sub(c.Rotation()[2].Mul(c.Distance))
	return c
}

// Light is how the hall's light changes during the take. The zero Light is
// constant.
type Light struct {
	Dim   float64 // the largest loss of light: 0.4 leaves 60 %
	Warm  float64 // amplitude of the change of colour between cool and warm: 0.15 is 15 % of the blue
	Sweep float64 // the largest loss of light on one side of the picture, as a share
	Beat  float64 // period, s; 0 means 1
}

// gain is the factor of the light in a column of the picture at a time. across is
// the column as a share of the width from the middle, -0.5 to 0.5.
func (l Light) gain(t, across float64) rgb {
	if l == (Light{}) {
		return grey(1)
	}
	phase := 2 * math.Pi * t / orElse(l.Beat, 1)
	g := 1 - l.Dim*(0.5-0.5*math.Cos(phase))
	g *= 1 - l.Sweep*(0.5+0.5*math.Sin(phase+2.5*across))
	w := l.Warm * math.Sin(phase*0.7+0.6)
	return rgb{g * (1 + 0.4*w), g, g * (1 - w)}
}

// Noise is the sensor's noise, in linear light where 1 is a white wall: its
// variance is Read^2 + Shot^2 times the light. The zero Noise is none.
type Noise struct{ Read, Shot float64 }

// normals are the quantiles of the standard normal distribution at the middles of
// 2^16 equal intervals of probability. One 64-bit random number gives four draws.
var normals = func() (table [1 << 16]float32) {
	for i := range table {
		p := (float64(i) + 0.5) / float64(len(table))
		table[i] = float32(math.Sqrt2 * math.Erfinv(2*p-1))
	}
	return table
}()

// grain draws noise for one row of one frame, the same for the same seed.
type grain struct {
	state uint64
	bits  uint64
	left  int
}

func newGrain(seed uint64, frame, row int) grain {
	return grain{state: scramble(seed ^ scramble(uint64(frame)<<32|uint64(uint32(row))+0x9e3779b97f4a7c15))}
}

func (g *grain) next() float32 {
	if g.left == 0 {
		g.state += 0x9e3779b97f4a7c15
		g.bits, g.left = scramble(g.state), 4
	}
	v := normals[g.bits&0xffff]
	g.bits >>= 16
	g.left--
	return v
}

// amount is the standard deviation of the noise at a light. A table would be no
// faster.
func (n Noise) amount(light float32) float32 {
	v := n.Read*n.Read + n.Shot*n.Shot*math.Max(0, float64(light))
	return float32(math.Sqrt(v))
}
