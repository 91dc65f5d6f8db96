package scene

import (
	"maps"
	"math"
	"strings"
)

// flat is a direction in the plane of motion.
type flat struct{ x, y float64 }

func from(a, b Vec) flat { return flat{b.X - a.X, b.Y - a.Y} }

// ccw is the angle from v to w, counter-clockwise with Y up, in [0, 2 pi).
func ccw(v, w flat) float64 {
	a := math.Atan2(v.x*w.y-v.y*w.x, v.x*w.x+v.y*w.y)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// signed is the same in (-pi, pi].
func signed(v, w flat) float64 {
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
	through := func(v, w flat) float64 {
		if sign < 0 {
			v, w = w, v
		}
		return ccw(v, w)
	}

	h := j.at[near][hip]
	trunk := from(h, j.at[near][shoulder])
	for _, v := range []struct {
		name string
		kind int
	}{{"hip-split:thigh", knee}, {"hip-split:whole", ankle}} {
		a, b := from(h, j.at[front][v.kind]), from(h, j.at[front.other()][v.kind])
		split := ccw(a, b)
		if ccw(a, trunk) < split {
			split = 2*math.Pi - split
		}
		put(v.name, split)
	}
	put("hip-split", out["hip-split:whole"]*degree)
	rise := func(leg flat) float64 { return math.Atan2(leg.y, math.Abs(leg.x)) }
	put("uneven-legs", rise(from(h, j.at[front][ankle]))-rise(from(h, j.at[front.other()][ankle])))

	for side, prefix := range []string{"left-", "right-"} {
		at := j.at[side]
		down := from(at[shoulder], at[hip])
		for _, v := range []struct {
			name string
			kind int
		}{{"elbow", elbow}, {"wrist", wrist}} {
			arm := from(at[shoulder], at[v.kind])
			put(prefix+"shoulder-flexion:"+v.name, through(down, arm))
			put(prefix+"shoulder-extension:"+v.name, through(arm, down))
		}
		put(prefix+"shoulder-flexion-from-ribs", through(from(at[shoulder], at[ribs]), from(at[shoulder], at[elbow])))
		put(prefix+"trunk-arch", sign*signed(from(at[hip], at[ribs]), from(at[ribs], at[shoulder])))
		up := from(at[hip], at[shoulder])
		put(prefix+"pike:whole", through(from(at[hip], at[ankle]), up))
		put(prefix+"pike:thigh", through(from(at[hip], at[knee]), up))
		thigh, shank := from(at[hip], at[knee]), from(at[knee], at[ankle])
		put(prefix+"knee-bend", -sign*signed(thigh, shank))
		put(prefix+"elbow-bend", sign*signed(from(at[shoulder], at[elbow]), from(at[elbow], at[wrist])))
		put(prefix+"foot-sickle", inwards(shank, from(at[hip], j.at[Side(side).other()][hip]))*signed(shank, from(at[ankle], at[toe])))
		put(prefix+"foot-point", math.Pi-sign*signed(shank, from(at[ankle], at[toe])))
		put(prefix+"off-vertical:wrist", offVertical(from(at[wrist], at[ankle])))
		put(prefix+"off-vertical:hip", offVertical(from(at[hip], at[ankle])))
		for _, v := range []struct {
			name string
			kind int
		}{{"whole", ankle}, {"thigh", knee}} {
			leg := from(at[hip], at[v.kind])
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

// inwards is +1 where turning counter-clockwise from the shank leads towards the other leg, else -1.
func inwards(shank, other flat) float64 { return math.Copysign(1, shank.x*other.y-shank.y*other.x) }

// offVertical is the smaller angle between a line and the vertical.
func offVertical(v flat) float64 { return math.Atan2(math.Abs(v.x), math.Abs(v.y)) }

// separation is the angle between the legs, each from its own hip to its
// ankle, negative where they are crossed. Where the hips lie behind one another
// there is no crossing to be seen and it is positive.
func (j Joints) separation() float64 {
	l := from(j.at[Left][hip], j.at[Left][ankle])
	r := from(j.at[Right][hip], j.at[Right][ankle])
	a := signed(r, l)
	width := from(j.at[Right][hip], j.at[Left][hip])
	if math.Hypot(width.x, width.y) < 0.01 {
		return math.Abs(a)
	}
	down := from(j.at[Right][shoulder], j.at[Right][hip])
	if down.x*width.y-down.y*width.x < 0 {
		return -a
	}
	return a
}
