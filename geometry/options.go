package geometry

import (
	"fmt"
	"slices"
)

// Options is what a measure may need beside the marks.
type Options struct {
	Leg    Leg    // which part of the leg to read; "" is Whole
	Side   Side   // which side's marks to use where several would serve
	Facing Facing // which way the chest faces in the picture
}

// Leg is the line along which a leg is read.
type Leg string

// The two lines.
const (
	Whole Leg = "whole" // hip to ankle
	Thigh Leg = "thigh" // hip to knee
)

// Side is the prefix of a landmark's name: the athlete's own left or right, not the
// picture's, or the leg's role in a split, front or back.
type Side string

// The sides and roles.
const (
	Left  Side = "left"
	Right Side = "right"
	Front Side = "front"
	Back  Side = "back"
)

var sides = []Side{Left, Right, Front, Back}

func (s Side) prefix() string {
	if s == "" {
		return ""
	}
	return string(s) + "-"
}

// Facing is the way the chest faces in the picture: left or right for an upright
// or inverted body, up or down for one that lies or hangs level, camera or away
// for one seen from the front or from behind.
type Facing string

// The ways to face.
const (
	FacingLeft   Facing = "left"
	FacingRight  Facing = "right"
	FacingUp     Facing = "up"
	FacingDown   Facing = "down"
	FacingCamera Facing = "camera"
	FacingAway   Facing = "away"
)

// inPlane lists the facings that are directions in the picture plane.
var inPlane = []struct {
	facing Facing
	to     Vec
}{
	{FacingLeft, Vec{-1, 0}}, {FacingRight, Vec{1, 0}}, {FacingUp, Vec{0, 1}}, {FacingDown, Vec{0, -1}},
}

// direction returns the direction in which the chest faces, if it lies in the picture
// plane.
func (f Facing) direction() (Vec, bool) {
	for _, d := range inPlane {
		if d.facing == f {
			return d.to, true
		}
	}
	return Vec{}, false
}

// toCamera returns +1 for FacingCamera and -1 for FacingAway; false for the others.
func (f Facing) toCamera() (float64, bool) {
	switch f {
	case FacingCamera:
		return 1, true
	case FacingAway:
		return -1, true
	}
	return 0, false
}

// check returns an [*OptionError] for a value that is not one of the constants.
func (o Options) check(measure string) error {
	known := func(option, value string, choices ...string) error {
		if value == "" || slices.Contains(choices, value) {
			return nil
		}
		return &OptionError{Measure: measure, Option: option, Value: value, Choices: choices,
			fact: fmt.Sprintf("%s %q is not known", option, value)}
	}
	if err := known("leg", string(o.Leg), "whole", "thigh"); err != nil {
		return err
	}
	if err := known("side", string(o.Side), "left", "right", "front", "back"); err != nil {
		return err
	}
	return known("facing", string(o.Facing), "left", "right", "up", "down", "camera", "away")
}
