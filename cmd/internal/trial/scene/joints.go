package scene

import (
	"maps"
	"math"
	"strings"
)

// Joints are the landmarks of a posed body in space: the axis of each joint,
// and the direction the body faces. The hip is the joint's axis; a sticker is on
// the skin over it, at the greater trochanter.
type Joints struct {
	at       [2][landmarks]Vec
	Facing   Vec  // direction the pelvis faces
	Front    Side // the leg in front: the one flexed further
	frontArm Side // the arm in front
}

// Joints returns the landmarks of the body in a pose.
func (b Body) Joints(p Pose) Joints { return joints(b.skeleton(p), p) }

func joints(s skeleton, p Pose) Joints {
	j := Joints{Facing: s.facing, Front: Left, frontArm: Left}
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
		j.frontArm = Right
	}
	return j
}

// Near is the side whose hip has the larger Z, so is nearer to the camera; the right
// one if they are equal.
func (j Joints) Near() Side {
	if j.at[Left][hip].Z > j.at[Right][hip].Z {
		return Left
	}
	return Right
}

// turnSign is +1 if the body's front is clockwise of its trunk seen from +Z, as for
// a body that stands and faces +X; otherwise -1.
func (j Joints) turnSign() float64 {
	trunk := j.at[Left][shoulder].Add(j.at[Right][shoulder]).Sub(j.at[Left][hip]).Sub(j.at[Right][hip])
	if trunk.X*j.Facing.Y-trunk.Y*j.Facing.X > 0 {
		return -1
	}
	return 1
}

// FacingName is the direction the body faces, seen by a camera square to the plane
// of motion: right, left, up, down, camera or away, whichever is nearest.
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
// toe or ribs, with the prefix left-, right-, front- or back-. A name without a
// prefix is the nearer side's. False if there is no such landmark.
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
		front = j.frontArm
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

// sidedNames are the names of all landmarks with left- and right-.
func sidedNames() []string {
	var names []string
	for _, n := range landmarkNames {
		names = append(names, "left-"+n, "right-"+n)
	}
	return names
}

// vec2 is a vector in the plane of motion.
type vec2 struct{ x, y float64 }

// inPlane is the vector from a to b in the plane of motion.

func inPlane(a, b Vec) vec2 { return vec2{b.X - a.X, b.Y - a.Y} }

// ccw is the angle from v to w, counter-clockwise with Y up, in [0, 2 pi).
func ccw(v, w vec2) float64 {
	a := math.Atan2(v.x*w.y-v.y*w.x, v.x*w.x+v.y*w.y)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// signed is the angle from v to w, counter-clockwise with Y up, in (-pi, pi].
func signed(v, w vec2) float64 {
	return math.Atan2(v.x*w.y-v.y*w.x, v.x*w.x+v.y*w.y)
}

// Angles returns the true angle of every measure in the plane of motion, in
// degrees, worked out from the landmarks in space. A key is the measure's
// name, with ":thigh" or ":whole" after it where the leg may be taken two ways,
// ":elbow" or ":wrist" likewise for the arm, ":wrist" or ":hip" for the upper end
// of off-vertical, and "left-" or "right-" (leg-rise: also "front-" and "back-")
// before it for a side. The bare name is the nearer side's, whole leg, to the
// elbow, and from the wrist. Ranges: hip-split, shoulder-flexion,
// shoulder-extension, pike and foot-point [0, 360); leg-separation, knee-bend,
// elbow-bend, leg-rise, trunk-arch, foot-sickle, hip-flexion and hip-extension (-180, 180]; uneven-legs, both
// legs from the nearer hip, [-180, 180]; off-vertical [0, 90].
func (j Joints) Angles() map[string]float64 {
	out := map[string]float64{}
	sign := j.turnSign()
	near, front := j.Near(), j.Front
	put := func(name string, rad float64) { out[name] = rad / degree }

	// through is the angle from v to w that opens towards the body's front when
	// v points down a standing body and w swings forward
	through := func(v, w vec2) float64 {
		if sign < 0 {
			v, w = w, v
		}
		return ccw(v, w)
	}

	h := j.at[near][hip]
	trunk := inPlane(h, j.at[near][shoulder])
	for _, v := range []struct {
		name string
		kind int
	}{{"hip-split:thigh", knee}, {"hip-split:whole", ankle}} {
		a, b := inPlane(h, j.at[front][v.kind]), inPlane(h, j.at[front.other()][v.kind])
		split := ccw(a, b)
		if ccw(a, trunk) < split {
			split = 2*math.Pi - split
		}
		put(v.name, split)
	}
	put("hip-split", out["hip-split:whole"]*degree)
	rise := func(leg vec2) float64 { return math.Atan2(leg.y, math.Abs(leg.x)) }
	put("uneven-legs", rise(inPlane(h, j.at[front][ankle]))-rise(inPlane(h, j.at[front.other()][ankle])))

	for side, prefix := range []string{"left-", "right-"} {
		at := j.at[side]
		down := inPlane(at[shoulder], at[hip])
		for _, v := range []struct {
			name string
			kind int
		}{{"elbow", elbow}, {"wrist", wrist}} {
			arm := inPlane(at[shoulder], at[v.kind])
			put(prefix+"shoulder-flexion:"+v.name, through(down, arm))
			put(prefix+"shoulder-extension:"+v.name, through(arm, down))
		}
		put(prefix+"shoulder-flexion-from-ribs", through(inPlane(at[shoulder], at[ribs]), inPlane(at[shoulder], at[elbow])))
		put(prefix+"trunk-arch", sign*signed(inPlane(at[hip], at[ribs]), inPlane(at[ribs], at[shoulder])))
		up := inPlane(at[hip], at[shoulder])
		put(prefix+"pike:whole", through(inPlane(at[hip], at[ankle]), up))
		put(prefix+"pike:thigh", through(inPlane(at[hip], at[knee]), up))
		thigh, shank := inPlane(at[hip], at[knee]), inPlane(at[knee], at[ankle])
		put(prefix+"knee-bend", -sign*signed(thigh, shank))
		put(prefix+"elbow-bend", sign*signed(inPlane(at[shoulder], at[elbow]), inPlane(at[elbow], at[wrist])))
		put(prefix+"foot-sickle", inwards(shank, inPlane(at[hip], j.at[Side(side).other()][hip]))*signed(shank, inPlane(at[ankle], at[toe])))
		put(prefix+"foot-point", math.Pi-sign*signed(shank, inPlane(at[ankle], at[toe])))
		put(prefix+"off-vertical:wrist", offVertical(inPlane(at[wrist], at[ankle])))
		put(prefix+"off-vertical:hip", offVertical(inPlane(at[hip], at[ankle])))
		for _, v := range []struct {
			name string
			kind int
		}{{"whole", ankle}, {"thigh", knee}} {
			leg := inPlane(at[hip], at[v.kind])
			put(prefix+"leg-rise:"+v.name, rise(leg))
			put(prefix+"hip-flexion:"+v.name, sign*signed(down, leg))
			put(prefix+"hip-extension:"+v.name, -sign*signed(down, leg))
			role := "back-"
			if Side(side) == front {
				role = "front-"
			}
			put(role+"leg-rise:"+v.name, rise(leg))
		}
	}
	put("leg-separation", j.separation())

	// bare names: the nearer side's, and the usual variant
	own := []string{"left-", "right-"}[near]
	for name, deg := range maps.Clone(out) {
		if bare, ok := strings.CutPrefix(name, own); ok {
			out[bare] = deg
		}
	}
	for measure, variant := range map[string]string{
		"shoulder-flexion": "elbow", "shoulder-extension": "elbow", "pike": "whole", "off-vertical": "wrist", "leg-rise": "whole",
		"hip-flexion": "whole", "hip-extension": "whole",
	} {
		out[measure] = out[measure+":"+variant]
	}
	for _, role := range []string{"left-", "right-", "front-", "back-"} {
		out[role+"leg-rise"] = out[role+"leg-rise:whole"]
	}
	return out
}

// inwards is +1 if a counter-clockwise rotation of the shank is towards the other leg, otherwise -1.
func inwards(shank, other vec2) float64 { return math.Copysign(1, shank.x*other.y-shank.y*other.x) }

// offVertical is the smaller angle between a line and the vertical.
func offVertical(v vec2) float64 { return math.Atan2(math.Abs(v.x), math.Abs(v.y)) }

// separation is the angle between the legs, each from its own hip to its
// ankle, negative if they are crossed. Where one hip is behind the other a crossing
// cannot be seen, and the angle is positive.
func (j Joints) separation() float64 {
	l := inPlane(j.at[Left][hip], j.at[Left][ankle])
	r := inPlane(j.at[Right][hip], j.at[Right][ankle])
	a := signed(r, l)
	width := inPlane(j.at[Right][hip], j.at[Left][hip])
	if math.Hypot(width.x, width.y) < 0.01 {
		return math.Abs(a)
	}
	down := inPlane(j.at[Right][shoulder], j.at[Right][hip])
	if down.x*width.y-down.y*width.x < 0 {
		return -a
	}
	return a
}
