package scene

import (
	"fmt"
	"sort"
)

func hexColour(c uint32) string { return fmt.Sprintf("#%06x", c) }

var named = map[string]func() *Scene{"leap": leapScene}

// Names lists the ready scenes.
func Names() []string {
	var names []string
	for n := range named {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// Named returns a new copy of a ready scene.
func Named(name string) (*Scene, error) {
	f, ok := named[name]
	if !ok {
		return nil, fmt.Errorf("scene: no scene %q", name)
	}
	s := f()
	s.Name = name
	return s, nil
}

// the colours of stickers in the ready scenes
const (
	magenta = 0xd01ef0
	green   = 0x28dc28
	blue    = 0x1e6eff
)

func leapScene() *Scene {
	b := NewBody(1.52)
	c := LookAt(1920, 1080, 2430, Vec{X: 0, Y: 1.06}, 6)
	c.Yaw = 8 * degree
	c.Pitch = 1.4 * degree
	return &Scene{
		Body: b, Motion: SplitLeap(b, Leap{Middle: -0.15}), Camera: c, Hall: PlainHall(),
		Stickers: []Sticker{{Landmark: "hip", Colour: magenta}, {Landmark: "front-ankle", Colour: green}, {Landmark: "back-ankle", Colour: blue}},
		FPS:      60, Frames: 90, Shutter: 1.0 / 480, Noise: Noise{Read: 0.003, Shot: 0.008},
		Measure: "hip-split", Seed: 1,
	}
}
