package scene

import (
	"math"
	"strings"
)

// Joints are the landmarks of a posed body in space: the axis of each joint,
// and the way the body faces. The hip is the joint's axis, under the greater
// trochanter; a sticker sits on the skin over it.
type Joints struct {
	at     [2][landmarks]Vec
	Facing Vec  // where the pelvis faces
	Front  Side // the leg in front: the one flexed further
	reach  Side // the arm in front
}

// Joints returns the landmarks of the body in a pose.
func (b Body) Joints(p Pose) Joints { return joints(b.skeleton(p), p) }

func joints(s skeleton, p Pose) Joints {
	j := Joints{Facing: s.facing, Front: Left, reach: Left}
	for side := range 2 {
		l, a := s.legs[side], s.arms[side]
		j.at[side] = [landmarks]Vec{
			hip: l.root, knee: l.mid, ankle: l.low, toe: l.tip,
			shoulder: a.root, elbow: a.mid, wrist: a.low,
			ribs: s.waist.Add(l.root.Sub(s.hips)),
		}
	}
	if p.Legs[Right].Flexion > p.Legs[Left].Flexion {
		j.Front = Right
	}
	if p.Arms[Right].Flexion > p.Arms[Left].Flexion {
		j.reach = Right
	}
	return j
}

// Near is the side whose hip is nearer to the camera, by Z; the right one where
// both are as near.
func (j Joints) Near() Side {
	if j.at[Left][hip].Z > j.at[Right][hip].Z {
		return Left
	}
	return Right
}

// turnSign is +1 where the body's front is clockwise of its trunk seen from +Z, as
// it is for a body that stands and faces +X; -1 the other way round.
func (j Joints) turnSign() float64 {
	trunk := j.at[Left][shoulder].Add(j.at[Right][shoulder]).Sub(j.at[Left][hip]).Sub(j.at[Right][hip])
	if trunk.X*j.Facing.Y-trunk.Y*j.Facing.X > 0 {
		return -1
	}
	return 1
}

// FacingName is where the body's front looks, seen by a square camera: right,
// left, up, down, camera or away, whichever is nearest.
func (j Joints) FacingName() string {
	f := j.Facing
	name := func(v float64, plus, minus string) string {
		if v < 0 {
			return minus
		}
		return plus
	}
	x, y, z := math.Abs(f.X), math.Abs(f.Y), math.Abs(f.Z)
	switch {
	case x >= y && x >= z:
		return name(f.X, "right", "left")
	case y >= z:
		return name(f.Y, "up", "down")
	}
	return name(f.Z, "camera", "away")
}

// At returns a landmark by its name: hip, shoulder, elbow, wrist, knee, ankle,
// toe or ribs, with left-, right-, front- or back- before it. A bare name is the
// nearer side's. False where there is no such landmark.
func (j Joints) At(name string) (Vec, bool) {
	side, kind, ok := j.find(name)
	if !ok {
		return Vec{}, false
	}
	return j.at[side][kind], true
}

func (j Joints) find(name string) (Side, int, bool) {
	side := j.Near()
	role, bare, has := strings.Cut(name, "-")
	if !has {
		role, bare = "", name
	}
	kind := -1
	for k, n := range landmarkNames {
		if n == bare {
			kind = k
		}
	}
	if kind < 0 {
		return 0, 0, false
	}
	front := j.Front
	if !isLeg(kind) {
		front = j.reach
	}
	switch role {
	case "":
	case "left":
		side = Left
	case "right":
		side = Right
	case "front":
		side = front
	case "back":
		side = front.other()
	default:
		return 0, 0, false
	}
	return side, kind, true
}

// sidedNames are the fourteen landmarks by side.
func sidedNames() []string {
	var names []string
	for _, n := range landmarkNames {
		names = append(names, "left-"+n, "right-"+n)
	}
	return names
}
