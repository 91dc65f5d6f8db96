package reading

import (
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
)

// Widest is where in a clip the angle of a measure is widest, as the pose network proposes it. A
// reading of a frame near it says by it what the frame missed.
type Widest struct {
	Measure string  `json:"measure"`
	Frame   float64 `json:"frame"`     // of the moment, between frames
	SD      float64 `json:"sd_frames"` // its standard deviation
	// Fall is how fast the angle falls about the moment: n frames from it the angle is smaller by
	// Fall/2 n^2 degrees.
	Fall float64 `json:"fall_deg"`
	// Reach is how far from the moment that holds, in frames, on both sides.
	Reach float64 `json:"reach_frames"`
}

// Check returns the error of figures that no clip has; name is the file's.
func (w *Widest) Check(name string) error {
	if _, known := geometry.Lookup(w.Measure); !known {
		return fault.New(fmt.Sprintf("the widest moment in %q is of the unknown measure %q", name, w.Measure), `leave "widest" out, or take the file that 'ecart propose' wrote`)
	}
	if !(w.Frame >= 0 && w.Frame <= mostFrame && w.SD > 0 && w.SD <= mostFrame && w.Fall > 0 && w.Fall <= 360 && w.Reach > 0 && w.Reach <= mostFrame) {
		return fault.New(fmt.Sprintf("the widest moment in %q has figures that are none: frame %v ± %v, fall %v, reach %v", name, w.Frame, w.SD, w.Fall, w.Reach),
			`leave "widest" out, or take the file that 'ecart propose' wrote`)
	}
	return nil
}

// missed is what the request's frame missed of the widest moment that its marks tell, the moment being
// off by up to two standard deviations; nil if they do not tell it.
func (q *Request) missed() *Moment {
	if q.Marks == nil || q.Marks.Widest == nil || q.Still || q.Skill != nil && q.Skill.AtMost {
		return nil
	}
	w := q.Marks.Widest
	off := math.Abs(float64(q.Take.Frame) - w.Frame)
	if w.Measure != q.Measure.Name || off > w.Reach {
		return nil
	}
	// how fast the angle falls is known better than the moment: of 206 frames of 28 drawn clips this held 202
	at := func(off float64) float64 { return w.Fall / 2 * off * off }
	return &Moment{LeastDeg: at(math.Max(0, off-2*w.SD)), MostDeg: math.Max(leastMissed, at(off+2*w.SD)), How: "the frames around it, as the pose network proposes"}
}
