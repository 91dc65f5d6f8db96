package reading

import (
	"fmt"
	"math"
	"slices"
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
