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
//	s, err := scene.Named("leap")            // Names lists what there is
//	picture, truth := s.Frame(41)            // a picture, and what is true in it
//	truth = s.Truth(41)                      // the same without drawing
//	at, deg := s.Peak()                      // the widest angle, between frames
//	ct, err := s.WriteClip(ctx, "leap.mp4", scene.ClipOptions{})
//	clip, marks := demotake.Files()              // the embedded clip of ecart demo
//
// A scene of one's own is a plain struct: a [Body], a [Motion] (or [Held], a
// pose that does not move), a [Camera], a [Hall] and [Sticker]s:
//
//	b := scene.NewBody(1.52)
//	s := &scene.Scene{
//		Body:   b,
//		Motion: scene.Leap{Peak: 163 * math.Pi / 180}.Of(b),
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
// Body proportions are those of Drillis and Contini (1966) as handbooks of
// biomechanics reprint them; they are given here from memory.
package scene

//go:generate go run ./generate
