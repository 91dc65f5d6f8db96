package reading

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
)

// Moment is what a reading of one frame may have missed of a movement: at the movement's widest
// moment (its smallest, if a skill asks for at most an angle) the angle lies LeastDeg to MostDeg
// beyond that of the frame, degrees, 0 or more. It is one-sided and not part of the reading's
// interval, which is that of the angle in the frame.
type Moment struct {
	LeastDeg float64 `json:"least_deg"`
	MostDeg  float64 `json:"most_deg"`
	How      string  `json:"how"` // how it is known
}

// moment is what the request's frame may have missed; nil if the peak of a clip is read.
func (q *Request) moment() *Moment {
	switch {
	case q.Movement != nil:
		return nil
	case q.Moment != nil:
		m := *q.Moment
		return &m
	}
	if m := q.missed(); m != nil {
		return m
	}
	return q.Priors.moment(q.Still)
}

// moment is the prior of what a single frame may have missed.
func (p *Priors) moment(still bool) *Moment {
	if still {
		return &Moment{MostDeg: p.Moment.StillDeg, How: "a still, taken when somebody pressed the button"}
	}
	return &Moment{MostDeg: p.Moment.ClipDeg, How: "a frame that somebody picked"}
}

// Missed is what the reading may have missed of its movement; nil if its interval includes that.
// Readings of earlier versions do not contain it and get the prior; those of frame 0 may be of a
// still.
func (r *Reading) Missed() *Moment {
	if r.Moment != nil || !slices.Contains(r.NotIncluded, SourceTiming) {
		return r.Moment
	}
	return MissedIn(r.Take)
}

// MissedIn is the prior of what a single frame of a take may have missed.
func MissedIn(t Take) *Moment { return usual().moment(t.Frame == 0 && t.TimeS == 0) }

// MissedWords says by how much the widest moment may exceed the reading; "" for nil.
func (m *Moment) MissedWords() string {
	if m == nil {
		return ""
	}
	if m.LeastDeg > 0 {
		return fmt.Sprintf("the widest moment shows %.1f to %.1f° more", m.LeastDeg, m.MostDeg)
	}
	return fmt.Sprintf("the widest moment may show up to %.2g° more", m.MostDeg)
}

// leastMissed is the smallest uncertainty, degrees, of an estimate from the surrounding frames: the
// difference between two frames read from the same marks is not known better.
const leastMissed = 0.5

// MissedBeside estimates what the frame missed, from a track of it and the surrounding frames. q is
// the request that reads the frame. The result is nil if the track has no peak.
func MissedBeside(q Request, t *Track, frame int) *Moment {
	i, ok := t.At(frame)
	if !ok {
		return nil
	}
	samples, err := Series(q, t)
	if err != nil {
		return nil
	}
	p, err := FindPeak(samples, q.Skill != nil && q.Skill.AtMost)
	if err != nil || math.IsNaN(t.Frames[i].AngleDeg) {
		return nil
	}
	own := 0.0
	for _, s := range samples {
		if s.Frame == frame {
			own = s.SDDeg
		}
	}
	missed := math.Abs(p.AngleDeg - t.Frames[i].AngleDeg)
	if beyond := p.AngleDeg > t.Frames[i].AngleDeg; beyond == (q.Skill != nil && q.Skill.AtMost) {
		missed = 0 // the frame's own scatter is larger than what it missed
	}
	// two standard deviations either way
	u := 2 * math.Hypot(own, math.Hypot(p.FitSDDeg, p.TimingSDDeg))
	return &Moment{LeastDeg: math.Max(0, missed-u), MostDeg: missed + math.Max(u, leastMissed), How: "the frames around it, in which the stickers were followed"}
}

// Widest is the moment of a clip at which the angle of a measure is widest, as the pose network
// proposes it. Readings of frames near it derive from it what they missed.
type Widest struct {
	Measure string  `json:"measure"`
	Frame   float64 `json:"frame"`     // of the moment, between frames
	SD      float64 `json:"sd_frames"` // its standard deviation
	// Fall is how fast the angle falls around the moment: n frames from it the angle is smaller by
	// Fall/2 n^2 degrees.
	Fall float64 `json:"fall_deg"`
	// Reach is how far from the moment Fall holds, in frames, on both sides.
	Reach float64 `json:"reach_frames"`
}

// Check returns an error for figures that no clip has; name names the file in it.
func (w *Widest) Check(name string) error {
	if _, known := geometry.Lookup(w.Measure); !known {
		return fault.New(fmt.Sprintf("the widest moment in %q is of the unknown measure %q", name, w.Measure), `leave "widest" out, or take the file that `+fault.Operation("propose marks")+` wrote`)
	}
	if !(w.Frame >= 0 && w.Frame <= mostFrame && w.SD > 0 && w.SD <= mostFrame && w.Fall > 0 && w.Fall <= 360 && w.Reach > 0 && w.Reach <= mostFrame) {
		return fault.New(fmt.Sprintf("the widest moment in %q has figures that are none: frame %v ± %v, fall %v, reach %v", name, w.Frame, w.SD, w.Fall, w.Reach),
			`leave "widest" out, or take the file that `+fault.Operation("propose marks")+` wrote`)
	}
	return nil
}

// missed returns what the request's frame missed of the widest moment in its marks, which may be off by
// two standard deviations; nil if the marks have none, or the frame is out of its reach.
func (q *Request) missed() *Moment {
	if q.Marks == nil || q.Marks.Widest == nil || q.Still || q.Skill != nil && q.Skill.AtMost {
		return nil
	}
	w := q.Marks.Widest
	off := math.Abs(float64(q.Take.Frame) - w.Frame)
	if w.Measure != q.Measure.Name || off > w.Reach {
		return nil
	}
	// Fall is known better than the moment: this range held for 202 of 206 frames of 28 drawn clips
	at := func(off float64) float64 { return w.Fall / 2 * off * off }
	return &Moment{LeastDeg: at(math.Max(0, off-2*w.SD)), MostDeg: math.Max(leastMissed, at(off+2*w.SD)), How: "the frames around it, as the pose network proposes"}
}
