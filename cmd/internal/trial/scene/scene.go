package scene

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strings"
)

// Scene is one take: an athlete who moves, a camera and a hall. Set the fields
// before the first picture. A Scene draws with every core and is not for use by
// two goroutines at once.
type Scene struct {
	Name     string
	About    string // what it shows, in half a sentence
	Body     Body
	Motion   Motion // nil for a hall with nothing but boards in it
	Stickers []Sticker
	others   []figure // people besides the athlete
	balls    []flyer
	Boards   []*Board

	Camera  Camera
	Hall    Hall
	FPS     float64 // frames a second
	Frames  int
	Shutter float64 // s the shutter is open; 0 freezes
	Readout float64 // s from the first row to the last one; 0 is all rows at once
	Shake   Shake
	Light   Light
	Noise   Noise
	Seed    uint64

	Measure string // the measure the take is about; see [Joints.Angles]

	set   *stage  // drawn once
	roles *Joints // at the peak
}

// figure is somebody else in the picture.
type figure struct {
	body   Body
	motion Motion
}

// Check says what is wrong with a scene, if anything is.
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

// rowTime is the middle of a row's exposure.
func (s *Scene) rowTime(frame int, row float64) float64 {
	h := float64(s.Camera.Height)
	return s.Time(frame) + s.Readout*(row-(h-1)/2)/h
}

// cameraAt is the camera at a time, shaken if it is held in a hand.
func (s *Scene) cameraAt(t float64) Camera { return s.Shake.move(s.Camera, t) }

// Frame draws a frame and says what is true in it. It panics where [Scene.Check]
// finds something wrong.
func (s *Scene) Frame(i int) (image.Image, Truth) {
	if err := s.Check(); err != nil {
		panic(err.Error())
	}
	return s.draw(i), s.Truth(i)
}

// Still draws a body in a pose in the plain hall: frame 0 of a scene that does
// not move.
func Still(b Body, p Pose, c Camera, stickers []Sticker, measure string) (image.Image, Truth) {
	s := &Scene{
		Name: "still", Body: b, Motion: Held(p), Stickers: stickers, Camera: c, Hall: PlainHall(),
		FPS: 1, Frames: 1, Measure: measure,
	}
	return s.Frame(0)
}

// Peak returns when the scene's measure is widest within the take, in seconds
// and in degrees, between frames; NaN where the scene has no such measure.
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

// stuckOn is where a sticker stays: a role or a bare name is settled once, at the
// peak of the measure.
func (s *Scene) stuckOn(i int) (Side, int) {
	name := s.Stickers[i].Landmark
	role, _, _ := strings.Cut(name, "-")
	if role == "left" || role == "right" {
		side, kind, _ := Joints{}.find(name)
		return side, kind
	}
	if s.roles == nil {
		at, deg := s.Peak()
		if math.IsNaN(deg) {
			at = 0
		}
		j := s.Body.Joints(s.Motion.At(at))
		s.roles = &j
	}
	side, kind, _ := s.roles.find(name)
	return side, kind
}
