package sticker

import (
	"fmt"
	"math"

	"ecart/geometry"
)

// see takes in a mark.
func (e *end) see(i int, m *Mark) {
	if e.seen == 0 {
		e.box = [4]float64{m.At.X, m.At.Y, m.At.X, m.At.Y}
	}
	e.box = [4]float64{math.Min(e.box[0], m.At.X), math.Min(e.box[1], m.At.Y), math.Max(e.box[2], m.At.X), math.Max(e.box[3], m.At.Y)}
	e.noise = math.Max(e.noise, math.Sqrt(math.Max(m.Cov[0][0], m.Cov[1][1])))
	e.seen++
	e.last, e.leaving = i, false
}

// outside reports whether a sticker that is expected at a place has left the picture, at least in
// part.
func (j *job) outside(at geometry.Point, r float64) bool {
	return at.X < 1.5*r || at.Y < 1.5*r || at.X > float64(j.bounds.Dx())-1.5*r || at.Y > float64(j.bounds.Dy())-1.5*r
}

const (
	goneFor = 0.5 // s without a sticker before its end that a clip must have for it to count as never found again
	stillPx = 1.0 // how far a sticker that does not move may seem to, px
)

// verdict says what the clip as a whole lacks, when all frames have been handed out.
func (j *job) verdict() error {
	n := j.clip.Frames()
	moved := false
	for k := range j.ends {
		e := &j.ends[k]
		moved = moved || math.Hypot(e.box[2]-e.box[0], e.box[3]-e.box[1]) > stillPx+8*e.noise
		if e.last < n-1 && !e.leaving && j.interval(e.last, n-1) > goneFor {
			return &Error{Problem: NeverFound, Seed: j.seeds[k].Name, Frame: e.last,
				what: fmt.Sprintf("%q was last seen in frame %d and not found again", j.seeds[k].Name, e.last),
				hint: fmt.Sprintf("look at frame %d: if the sticker is there later on, point at it there", e.last+1)}
		}
	}
	if !moved {
		return &Error{Problem: Motionless, what: "nothing moves in this clip: no sticker goes farther than its own uncertainty",
			hint: "if that is as it should be, read one frame of it as a still"}
	}
	return nil
}
