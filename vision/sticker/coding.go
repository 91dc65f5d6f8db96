package sticker

import "math"

// coding is by how much an encoder moves a sticker's rim beyond what its pixels tell. A coded
// picture predicts blocks from moved parts of others and stores only so much of what is left: a
// stretch of the rim, or all of it, may come out beside its place without a trace in the pixels
// about it. The part of that error which looks like another centre goes into the centre, and is
// gone from what the fit leaves over. But so does the part that looks like another ellipse; and
// the ellipse of a sticker changes slowly and evenly. Its scatter about its own course, over the
// variance that the pixels promise for it, is by how much the promise for the centre is short.
type coding struct {
	ratio, weight float64

	course [2]course // of the two numbers that make the outline an ellipse
	blocks float64   // correlation of neighbouring pixels' errors of late
}

// course follows a number that changes evenly: an alpha-beta filter, critically damped.
type course struct {
	at, slope float64
	seen      int
}

// codedLeast is set so that errors are as stated over the scenes of make cover-follow, seeds 1 and 2.
const (
	codedWeight = 30.0  // numbers for which a ratio of 1 counts, before much is known of the clip
	codedMemory = 150.0 // numbers after which what was seen counts for a third
	codedMost   = 30.0  // a number farther off is no matter of coding
	codedLeast  = 2.7   // what an encoder leaves beside its place from frame to frame is not seen to scatter
	encoders    = 0.5   // such a correlation
	courseLasts = 0.3   // s
	courseNew   = 4     // numbers before a course is one
	courseSD    = 0.003 // what the ellipse may really do
	pastPart    = 0.1   // the course's own variance, over that of one number
)

func newCoding(r *result) coding {
	return coding{ratio: 1, weight: codedWeight, blocks: (r.noise.alongX + r.noise.alongY) / 2}
}

// see takes in a shape, dt seconds after the last one.
func (c *coding) see(r *result, radius, dt float64) {
	form, scale := r.outline.form(radius), radius/r.radius()
	theta := math.Exp(-dt / courseLasts)
	for k := range c.course {
		t, is := &c.course[k], form[k+1]
		if t.seen == 0 {
			t.at, t.seen = is, 1
			continue
		}
		t.at += t.slope * dt
		off := is - t.at
		if t.seen++; t.seen > courseNew {
			v := (1+pastPart)*r.formVariance[k+1]*scale*scale + courseSD*courseSD
			c.weight = math.Min(c.weight+1, codedMemory)
			c.ratio += (math.Min(off*off/v, codedMost) - c.ratio) / c.weight
		}
		t.at += (1 - theta*theta) * off
		t.slope += (1 - theta) * (1 - theta) * off / dt
	}
	c.blocks += 0.1 * ((r.noise.alongX+r.noise.alongY)/2 - c.blocks)
}

// raise is the factor for the covariance of a centre.
func (c *coding) raise() float64 {
	if c.blocks > encoders {
		return math.Max(c.ratio, codedLeast)
	}
	return math.Max(c.ratio, 1)
}
