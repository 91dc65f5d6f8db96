package sticker

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ecart/geometry"
)

// lag is how many frames a frame waits before it is handed out: how its places scatter is known from those up to nearby frames
// later, and what is found again in the last of them must go on for confirmed frames.
const lag = nearby + confirmed - 1

// orders is the number of differences that tell how the places of a sticker scatter beside its motion, since a smooth motion leaves little
// in them: the third, of four places in a row, and where motion changes much from frame to frame the fifth, of six.
const orders = 2

// What an encoder does to a place stays in part: neighbours correlate by about 1/2 (between 0 and 0.7, where clips
// were coded anew). The variance of x3 - 3 x2 + 3 x1 - x0 is then 20 - 30/2 + 12/4 - 2/8 times that of each, and that of the fifth
// difference 252 - 420/2 + 240/4 - 90/8 + 20/16 - 2/32; where they did not correlate, it would be 20 and 252, so that what is
// stated is up to 1.6 times too wide. Motion only adds to either, so that the smaller one counts.
var differVariance = [orders]float64{7.75, 91.9}

const (
	// nearby is how many frames to either side tell how a place scatters.
	nearby = 6

	// chroma is stored for two by two pixels, and files do not say reliably whether it belongs to the left of
	// them or to the middle: half a pixel apart, a quarter either way.
	sitingSD = 0.25

	// softRim is how far off an encoder's errors on the rim, which stay from frame to frame, put the centre, as a part of
	// the rim's width, where all of the sticker is rim; less where it has a middle. In drawn clips coded anew by HEVC at CRF 30 the
	// errors of small stickers were up to 0.9 of the rim's width, since what moves slowly is left where it was: twice this.
	// With 0.3 one more of 31,500 marks in attacked clips was wrong, and one more of 4,400 in a real one.
	softRim = 0.4
)

// difference is the last difference of some places in a row: of four the third.
func difference(places []geometry.Point) geometry.Vec {
	var at [2*nearby + 1]geometry.Point
	n := copy(at[:], places)
	for ; n > 1; n-- {
		for i := range n - 1 {
			at[i] = geometry.Point{X: at[i+1].X - at[i].X, Y: at[i+1].Y - at[i].Y}
		}
	}
	return geometry.Vec(at[0])
}

// handOut calls each with the frames up to number to.
func (j *job) handOut(to int) error {
	done := 0
	for n := range j.seen {
		pic := &j.seen[n]
		if pic.i > to {
			break
		}
		done = n + 1
		if pic.i < j.next {
			continue
		}
		f := Frame{Index: pic.i, Time: j.clip.Time(pic.i), TrueTime: j.clip.TrueTime(pic.i), Damaged: pic.damaged}
		for range j.left {
			f.Marks = append(f.Marks, lostMark())
		}
		for k, n := range j.places {
			f.Marks[n] = j.mark(k, pic)
		}
		j.apart(f.Marks)
		for k, n := range j.places {
			if m := &f.Marks[n]; m.Seen == Seen {
				j.ends[k].see(f.Index, m)
			} else if f.Damaged {
				j.ends[k].leaving = true // nobody can say that it is not there
			} else if m.Seen == Predicted {
				j.ends[k].leaving = j.outside(m.At, m.Radius)
			}
		}
		if err := j.each(f); err != nil {
			return err
		}
		j.next = pic.i + 1
	}
	j.seen = j.seen[done:]
	return nil
}

// sight is what a frame shows of a sticker.
func (j *job) sight(k, i int) *sight {
	way := 1
	if i < j.seeds[k].Frame {
		way = 0
	}
	t := j.tracks[way][k]
	n, ok := slices.BinarySearchFunc(t.sights, i, func(s sight, i int) int {
		if way == 0 {
			return i - s.i
		}
		return s.i - i
	})
	if !ok {
		return nil
	}
	return &t.sights[n]
}

const predictedFor = 0.1 // s

// widest is the largest standard deviation of a place that counts as seen, in radii: known less well than the sticker is wide, it may be
// another thing's. A mark that jumps has one. Without it two marks of 3,000 in drawn clips were 47 and 167 px off; 1 takes another 2 %
// of the marks.
const widest = 2

func (j *job) mark(k int, pic *picture) Mark {
	s := j.sight(k, pic.i)
	if s == nil || j.refused[k] != nil {
		return lostMark()
	}
	if s.seen && (s.unsure && !j.only(k, pic.i) || s.first && !j.begins(k)) {
		return lostMark()
	}
	if s.seen && !pic.damaged {
		m := Mark{Seen: Seen, At: s.what.at, Cov: s.what.cov, Radius: s.what.radius()}
		soft := softRim * s.what.rim * s.what.rim / m.Radius
		add := j.local(k, pic.i) + sitingSD*sitingSD + soft*soft + s.doubt*s.doubt
		m.Cov[0][0] += add
		m.Cov[1][1] += add
		if sure := widest * m.Radius; m.Cov[0][0]+m.Cov[1][1] > 2*sure*sure { // it jumps, or nothing tells whether it does
			return lostMark()
		}
		return m
	}
	if e := &s.expected; !s.seen && e.frames > 0 && e.frames*j.usual <= predictedFor {
		return Mark{Seen: Predicted, At: e.at, Cov: [2][2]float64{{e.spread, 0}, {0, e.spread}}, Radius: e.radius}
	}
	return lostMark()
}

// begins reports whether what was pointed at in the seed's frame goes on, both ways together, for long enough to be one thing.
func (j *job) begins(k int) bool {
	back, on := j.tracks[0][k], j.tracks[1][k]
	return back.run+on.run >= confirmed
}

// only reports whether what looks like sticker k in frame i is k and no other that looks like it. Either all others are surely seen in that frame or in one from or to
// which it was followed, or each time that it came back it was much likelier there than any of them.
func (j *job) only(k, i int) bool {
	toSeed := -1
	if i < j.seeds[k].Frame {
		toSeed = 1
	}
	for n := i; ; n += toSeed {
		s := j.sight(k, n)
		if s == nil {
			break
		}
		if s.seen && (!s.unsure || j.apartFrom(k, n)) {
			return true
		}
		if s.back && !j.nearer(k, n) {
			break
		}
	}
	missed := 0
	for n := i; missed < 2; n -= toSeed {
		s := j.sight(k, n)
		if s == nil || s.seen && !s.unsure {
			break
		}
		if !s.seen {
			missed++
		} else if missed = 0; j.apartFrom(k, n) {
			return true
		}
	}
	return false
}

// nearer reports whether sticker k, which came back in frame i, is clearly likelier there, by its place, than each other that looks like it and is not seen then. That
// may also have turned and gone anywhere in its reach, and be in sight for as long as it is lost.
func (j *job) nearer(k, i int) bool {
	s := j.sight(k, i)
	own := density(s.expected.spread, s.what.at.Sub(s.expected.at).Norm()) / math.Max(s.expected.frames, 1)
	for _, m := range j.alike[k] {
		o := j.sight(m, i)
		if o == nil || o.unsure {
			return false
		}
		if o.seen {
			continue
		}
		e := o.expected
		its := density(e.spread, s.what.at.Sub(e.at).Norm())
		if reach := fastest * usualStep * j.usual * e.radius * e.frames; s.what.at.Sub(e.last).Norm() < reach {
			its = math.Max(its, 1/math.Min(math.Pi*reach*reach, float64(j.bounds.Dx()*j.bounds.Dy())))
		}
		if own < math.Exp(clearly)*its {
			return false
		}
	}
	return true
}

// fastest is how many times usualStep a sticker goes at most: a limb at 8 m/s.
const fastest = 4

// lookAlikes lists for each sticker the others that look like it as it was pointed at. The light is taken to differ as
// between places (look.covariance).
func lookAlikes(of []found) [][]int {
	out := make([][]int, len(of))
	for k := range of {
		for m := range of {
			l := newLook(&of[m].candidate)
			if _, ok := l.odds(&of[k].candidate, lightApart); ok && m != k {
				out[k] = append(out[k], m)
			}
		}
	}
	return out
}

// apartFrom reports whether every other sticker that looks like k is surely seen in frame i.
func (j *job) apartFrom(k, i int) bool {
	for _, m := range j.alike[k] {
		if s := j.sight(m, i); s == nil || !s.seen || s.unsure {
			return false
		}
	}
	return true
}

// local is the variance of a place as it and its neighbours tell it, px^2: the mean square of all differences of nearby, or of
// those in which it is, over the squares of its coefficients in them, whichever is larger. The last place before a gap is in one difference only,
// with a coefficient of 1, so that it is known less well than others: it may be on what hides the sticker. It is infinite where no difference is known: the place is in no run of four frames, and nothing tells whether it jumps.
func (j *job) local(k, i int) float64 {
	var at [2*nearby + 1]geometry.Point
	var ok [2*nearby + 1]int // how many up to this one are seen in a row
	for n := range at {
		if s := j.sight(k, i-nearby+n); s != nil && s.seen {
			at[n], ok[n] = s.what.at, 1
			if n > 0 {
				ok[n] += ok[n-1]
			}
		}
	}
	least := math.Inf(1)
	for order := range orders {
		var sum, n [2]float64 // of all, and of those in which it is
		wide := 4 + 2*order
		all := float64(wide) * differVariance[order] / binomial(2*wide-2, wide-1) // a place in all differences has the mean of them
		for to := wide - 1; to < len(at); to++ {
			if ok[to] < wide {
				continue
			}
			d := difference(at[to-wide+1 : to+1])
			v := d.Dot(d) / 2
			sum[0], n[0] = sum[0]+v, n[0]+differVariance[order]
			if first := to - wide + 1; first <= nearby && nearby <= to {
				c := binomial(wide-1, nearby-first)
				sum[1], n[1] = sum[1]+v, n[1]+c*c*all
			}
		}
		if n[1] > 0 {
			least = math.Min(least, math.Max(sum[0]/n[0], sum[1]/n[1]))
		}
	}
	return least
}

// binomial is the coefficient of place k in a difference of order n.
func binomial(n, k int) float64 {
	c := 1.0
	for i := range k {
		c *= float64(n-i) / float64(i+1)
	}
	return c
}

// apart takes away marks of two stickers that are on one thing.
func (j *job) apart(marks []Mark) {
	for a := range marks {
		for b := range a {
			if marks[a].Seen == Seen && marks[b].Seen == Seen && marks[a].At.Sub(marks[b].At).Norm() < 0.8*math.Max(marks[a].Radius, marks[b].Radius) {
				marks[a], marks[b] = lostMark(), lostMark()
			}
		}
	}
}

// end is what is known of one sticker when all is done.
type end struct {
	seen    int        // frames
	last    int        // the last of them
	box     [4]float64 // of its places, px
	noise   float64    // largest standard deviation of a place, px
	leaving bool       // expected outside the picture
}

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
	for k, e := range j.refused {
		j.left[j.places[k]] = cmp.Or(j.left[j.places[k]], e)
	}
	for n, e := range j.left {
		if e != nil && !j.given[n].Optional {
			return e
		}
	}
	for k := range j.ends {
		e := &j.ends[k]
		moved = moved || math.Hypot(e.box[2]-e.box[0], e.box[3]-e.box[1]) > stillPx+8*e.noise
		if e.seen == 0 && j.seeds[k].Optional {
			continue
		}
		if e.seen == 0 && !e.leaving {
			return &Error{Problem: NoSticker, Seed: j.seeds[k].Name, Frame: j.seeds[k].Frame,
				what: fmt.Sprintf("%q in frame %d: no %d frames in a row show it surely", j.seeds[k].Name, j.seeds[k].Frame, confirmed+1),
				hint: "point at it in a frame of a stretch in which it is sharp and whole"}
		}
		if e.last < n-1 && !e.leaving && j.frames(e.last, n-1)*j.usual > goneFor {
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
