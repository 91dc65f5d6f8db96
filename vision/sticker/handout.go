package sticker

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ecart/geometry"
)

// lag is the number of frames by which a frame is handed out late: the scatter of places needs scatterFrames later ones, and
// a sticker that comes back in the last of them must be seen in confirmed frames.
const lag = scatterFrames + confirmed - 1

// differenceOrders is the number of kinds of differences that give the scatter of places apart from the motion, since a smooth motion leaves
// little in them: the third, of four places in a row, and the fifth, of six, for motion that changes much from frame to frame.
const differenceOrders = 2

// differenceVariance is the variance of the third and the fifth difference over that of a place. An encoder's error persists
// in part: errors of neighbours have a correlation of about 1/2 (0 to 0.7 in clips that were coded anew). The variance of
// x3 - 3 x2 + 3 x1 - x0 is then 20 - 30/2 + 12/4 - 2/8, and that of the fifth difference
// 252 - 420/2 + 240/4 - 90/8 + 20/16 - 2/32. Without correlation they are 20 and 252, so that the stated standard deviation is up to
// 1.6 times too large. Motion only adds to both, so that the smaller estimate is used.
var differenceVariance = [differenceOrders]float64{7.75, 91.9}

const (
	// scatterFrames is the number of frames on either side that give the scatter of a place.
	scatterFrames = 6

	// sitingSD is the standard deviation of a centre from the siting of chroma samples, px. Chroma is stored for two by two
	// pixels, and files do not state reliably whether it belongs to the left of them or to the middle: half a pixel
	// apart, a quarter either way.
	sitingSD = 0.25

	// rimError is the standard deviation of the centre from an encoder's errors on the rim, which persist from frame to frame. It is
	// a part of the rim's width for a sticker that is all rim, and less for one with a middle. In drawn clips coded anew by HEVC at CRF 30 the
	// errors of small stickers were up to 0.9 of the rim's width, about twice this, since the encoder leaves slow things where they were.
	// With 0.3 one more of 31,500 marks in attacked clips was wrong, and one more of 4,400 in a real one.
	rimError = 0.4
)

// difference returns the difference of order n-1 of n places in a row: of four the third.
func difference(places []geometry.Point) geometry.Vec {
	var at [2*scatterFrames + 1]geometry.Point
	n := copy(at[:], places)
	for ; n > 1; n-- {
		for i := range n - 1 {
			at[i] = geometry.Point{X: at[i+1].X - at[i].X, Y: at[i+1].Y - at[i].Y}
		}
	}
	return geometry.Vec(at[0])
}

// handOut calls each with the frames up to frame to that were not handed out yet.
func (j *job) handOut(to int) error {
	done := 0
	for n := range j.pictures {
		pic := &j.pictures[n]
		if pic.i > to {
			break
		}
		done = n + 1
		if pic.i < j.next {
			continue
		}
		f := Frame{Index: pic.i, Time: j.clip.Time(pic.i), TrueTime: j.clip.TrueTime(pic.i), Damaged: pic.damaged}
		for n := range j.given {
			f.Marks = append(f.Marks, j.mark(n, pic))
		}
		j.dropDoubles(f.Marks)
		for n := range j.given {
			if m := &f.Marks[n]; m.Seen == Seen {
				j.summaries[n].see(f.Index, m)
			} else if f.Damaged {
				j.summaries[n].leaving = true // it may be there
			} else if m.Seen == Predicted {
				j.summaries[n].leaving = j.outside(m.At, m.Radius)
			}
		}
		if err := j.each(f); err != nil {
			return err
		}
		j.next = pic.i + 1
	}
	j.pictures = j.pictures[done:]
	return nil
}

// sight returns the sight of the sticker of seed k in frame i, nil where there is none.
func (j *job) sight(k, i int) *sight {
	return j.track(k, i).sight(i)
}

// track returns the track from seed k that has frame i.
func (j *job) track(k, i int) *track {
	if i < j.seeds[k].Frame {
		return j.tracks[back][k]
	}
	return j.tracks[onward][k]
}

// sight returns the sight in frame i, nil where there is none.
func (t *track) sight(i int) *sight {
	n, ok := slices.BinarySearchFunc(t.sights, i, func(s sight, i int) int {
		if t.backwards {
			return i - s.i
		}
		return s.i - i
	})
	if !ok {
		return nil
	}
	return &t.sights[n]
}

// predictedFor is how long a sticker that is not seen is predicted, s.
const predictedFor = 0.1

// A place counts as seen up to a standard deviation of mostSD radii, since one with an uncertainty of the sticker's width may be another thing's, or of
// mostTurnSD times the usual turn from frame to frame, if that is more: where frames are far apart, the motion of a limb leaves as much in the differences of places. A
// mark that jumps has a larger one. With a mostSD of 1, 2 % of the marks in drawn clips are lost. In those with 30 frames a second, without mostTurnSD 2 % of the marks are lost, and 1 % in clips that it was
// not chosen on; with 3, or without any limit, a percent more are seen, and one is 10 px off.
const (
	mostSD     = 2
	mostTurnSD = 1.5
)

// seedsOf returns the seeds of sticker n of those given.
func (j *job) seedsOf(n int) (out []int) {
	for k, owner := range j.owner {
		if owner == n {
			out = append(out, k)
		}
	}
	return out
}

// mark returns the mark of sticker n of those given: from the last place before it that was pointed at, from the next one, or from both where they agree.
func (j *job) mark(n int, pic *picture) Mark {
	before, after := -1, -1
	for _, k := range j.seedsOf(n) {
		switch i := j.seeds[k].Frame; {
		case j.refused[k] != nil:
		case i <= pic.i && (before < 0 || i > j.seeds[before].Frame):
			before = k
		case i > pic.i && (after < 0 || i < j.seeds[after].Frame):
			after = k
		}
	}
	switch {
	case before < 0 && after < 0:
		return lostMark()
	case after < 0 || before >= 0 && j.seeds[before].Frame == pic.i:
		return j.markFrom(before, pic)
	case before < 0:
		return j.markFrom(after, pic)
	}
	a, b := j.markFrom(before, pic), j.markFrom(after, pic)
	switch near := a.At.Sub(b.At).Norm() < math.Max(a.Radius, b.Radius); {
	case a.Seen == Seen && b.Seen == Seen && near:
		return a
	case a.Seen == Seen && b.Seen != Seen && !j.contradicts(before, after):
		return a
	case b.Seen == Seen && a.Seen != Seen && !j.contradicts(after, before):
		return b
	case a.Seen == Seen || b.Seen == Seen:
		return lostMark()
	case a.Seen == Predicted:
		return a
	}
	return b
}

// contradicts reports whether what was followed from seed k is elsewhere in the frame of seed m of the same sticker.
func (j *job) contradicts(k, m int) bool {
	s := j.sight(k, j.seeds[m].Frame)
	return s != nil && s.seen && !same(&s.what, &j.stickers[m].candidate)
}

// markFrom returns the mark of the sticker of seed k in a picture.
func (j *job) markFrom(k int, pic *picture) Mark {
	s := j.sight(k, pic.i)
	if s == nil {
		return lostMark()
	}
	if s.seen && !j.seedRunConfirmed(k) && (s.first || !j.seenFromSeed(k, s)) {
		return lostMark()
	}
	if s.seen && !pic.damaged {
		m := Mark{Seen: Seen, At: s.what.at, Cov: s.what.cov, Radius: s.what.radius()}
		soft := rimError * s.what.rim * s.what.rim / m.Radius
		add := j.localVariance(k, pic.i) + sitingSD*sitingSD + soft*soft + s.doubt*s.doubt
		m.Cov[0][0] += add
		m.Cov[1][1] += add
		if sure := math.Max(mostSD, mostTurnSD*usualTurn*j.frameTime*j.frameTime) * m.Radius; m.Cov[0][0]+m.Cov[1][1] > 2*sure*sure { // it jumps, or may jump
			return lostMark()
		}
		return m
	}
	if e := &s.expected; !s.seen && e.frames > 0 && e.frames*j.frameTime <= predictedFor {
		return Mark{Seen: Predicted, At: e.at, Cov: [2][2]float64{{e.spread, 0}, {0, e.spread}}, Radius: e.radius}
	}
	return lostMark()
}

// seedRunConfirmed reports whether the sticker is seen in confirmed frames in a row next to the seed's, both directions together.
func (j *job) seedRunConfirmed(k int) bool {
	return j.tracks[back][k].run+j.tracks[onward][k].run >= confirmed
}

// seenFromSeed reports whether a sight of sticker k is the same if what is next to its seed's frame is another thing.
func (j *job) seenFromSeed(k int, s *sight) bool {
	t := j.track(k, s.i)
	if t.fromSeed == nil {
		return false
	}
	o := t.fromSeed.sight(s.i)
	return o != nil && o.seen && o.what.at == s.what.at
}

// localVariance returns the variance of the place of sticker k in frame i from the scatter of places, px^2. It is the larger of two estimates:
//
//   - from all differences within scatterFrames of it;
//   - from those that contain the place, each weighted by the square of the place's coefficient.
//
// The last place before a gap is in one difference only, with a coefficient of 1, and so less certain than others: it may be on what hides the
// sticker. The variance is +Inf where the place is in no run of four frames, since it may then be a jump.
func (j *job) localVariance(k, i int) float64 {
	var at [2*scatterFrames + 1]geometry.Point
	var ok [2*scatterFrames + 1]int // number of places seen in a row up to this one
	for n := range at {
		if s := j.sight(k, i-scatterFrames+n); s != nil && s.seen {
			at[n], ok[n] = s.what.at, 1
			if n > 0 {
				ok[n] += ok[n-1]
			}
		}
	}
	least := math.Inf(1)
	for order := range differenceOrders {
		var sum, n [2]float64 // of all, and of those that contain the place
		wide := 4 + 2*order
		all := float64(wide) * differenceVariance[order] / binomial(2*wide-2, wide-1) // a place in all differences then has the weight of the plain mean
		for to := wide - 1; to < len(at); to++ {
			if ok[to] < wide {
				continue
			}
			d := difference(at[to-wide+1 : to+1])
			v := d.Dot(d) / 2
			sum[0], n[0] = sum[0]+v, n[0]+differenceVariance[order]
			if first := to - wide + 1; first <= scatterFrames && scatterFrames <= to {
				c := binomial(wide-1, scatterFrames-first)
				sum[1], n[1] = sum[1]+v, n[1]+c*c*all
			}
		}
		if n[1] > 0 {
			least = math.Min(least, math.Max(sum[0]/n[0], sum[1]/n[1]))
		}
	}
	return least
}

// binomial returns the binomial coefficient of n over k: that of place k in a difference of order n, but for its sign.
func binomial(n, k int) float64 {
	c := 1.0
	for i := range k {
		c *= float64(n-i) / float64(i+1)
	}
	return c
}

// dropDoubles makes the marks of two stickers lost where both are on one thing.
func (j *job) dropDoubles(marks []Mark) {
	for a := range marks {
		for b := range a {
			if marks[a].Seen == Seen && marks[b].Seen == Seen && marks[a].At.Sub(marks[b].At).Norm() < 0.8*math.Max(marks[a].Radius, marks[b].Radius) {
				marks[a], marks[b] = lostMark(), lostMark()
			}
		}
	}
}

// summary is what the handed out frames tell of one sticker.
type summary struct {
	seen    int        // number of frames
	last    int        // the last of these frames
	box     [4]float64 // left, top, right and bottom of its places, px
	noise   float64    // largest standard deviation of a place, px
	leaving bool       // it was lost where it may have left the picture, or in a damaged frame
}

// see updates the summary with a seen mark.
func (e *summary) see(i int, m *Mark) {
	if e.seen == 0 {
		e.box = [4]float64{m.At.X, m.At.Y, m.At.X, m.At.Y}
	}
	e.box = [4]float64{math.Min(e.box[0], m.At.X), math.Min(e.box[1], m.At.Y), math.Max(e.box[2], m.At.X), math.Max(e.box[3], m.At.Y)}
	e.noise = math.Max(e.noise, math.Sqrt(math.Max(m.Cov[0][0], m.Cov[1][1])))
	e.seen++
	e.last, e.leaving = i, false
}

// outside reports whether a sticker of radius r that is expected at a place has left the picture, at least in
// part.
func (j *job) outside(at geometry.Point, r float64) bool {
	return at.X < 1.5*r || at.Y < 1.5*r || at.X > float64(j.bounds.Dx())-1.5*r || at.Y > float64(j.bounds.Dy())-1.5*r
}

const (
	goneFor     = 0.5 // s: a sticker that is not seen for longer at the clip's end was never found again
	leastTravel = 1.0 // px: what a sticker at rest may seem to move
)

// verdict returns the error of the clip as a whole after all frames have been handed out, nil if there is none.
func (j *job) verdict() error {
	n := j.clip.Frames()
	moved := false
	for k, e := range j.refused {
		j.errors[j.owner[k]] = cmp.Or(j.errors[j.owner[k]], e)
	}
	for n, e := range j.errors {
		if e != nil && !j.given[n].Optional {
			return e
		}
	}
	for k := range j.summaries {
		e := &j.summaries[k]
		moved = moved || math.Hypot(e.box[2]-e.box[0], e.box[3]-e.box[1]) > leastTravel+8*e.noise
		if e.seen == 0 && j.given[k].Optional {
			continue
		}
		if e.seen == 0 && !e.leaving {
			return &Error{Problem: NoSticker, Seed: j.given[k].Name, Frame: j.given[k].Frame,
				what: fmt.Sprintf("%q in frame %d: no %d frames in a row show it surely", j.given[k].Name, j.given[k].Frame, confirmed+1),
				hint: "point at it in a frame of a stretch in which it is sharp and whole"}
		}
		if e.last < n-1 && !e.leaving && j.frames(e.last, n-1)*j.frameTime > goneFor {
			return &Error{Problem: NeverFound, Seed: j.given[k].Name, Frame: e.last,
				what: fmt.Sprintf("%q was last seen in frame %d and not found again", j.given[k].Name, e.last),
				hint: fmt.Sprintf("look at frame %d: if the sticker is there later on, point at it there too", e.last+1)}
		}
	}
	if !moved {
		return &Error{Problem: Motionless, what: "nothing moves in this clip: no sticker goes farther than its own uncertainty",
			hint: "if that is as it should be, read one frame of it as a still"}
	}
	return nil
}
