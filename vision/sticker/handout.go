package sticker

import (
	"fmt"
	"math"
	"slices"

	"ecart/geometry"
)

// lag is how many frames a frame waits before it is handed out: what is found again must go on for
// a while to count, and the scatter of the places is known from those after it too.
const lag = 12

// scatter is how much the places of a sticker scatter in the clip beside their motion: from the third
// differences of neighbouring ones, in which a place with a smooth motion leaves nothing.
type scatter struct {
	squares []float64 // squared third differences of either axis, px^2
	fresh   int
}

const (
	// What an encoder does to a place stays in part: neighbours correlate by about 1/2 (between 0 and 0.7, where clips
	// were coded anew). The variance of x3 - 3 x2 + 3 x1 - x0 is then 20 - 30/2 + 12/4 - 2/8 times that of each; where they did
	// not, it would be 20, so that what is stated is up to 1.6 times too wide.
	thirds = 7.75

	// the median of a squared normal deviate
	medianSquare = 0.455

	// unknownScatter is what is stated before there are enough, px: the rim of a sticker as encoders leave it.
	unknownScatter = 0.3

	// loneScatter is that of a place without three neighbours in a row, px: what is beside a gap is often hidden in part.
	loneScatter = 1.0

	// nearby is how many frames to either side tell how a place scatters.
	nearby = 6

	enoughThirds = 16
	mostThirds   = 400

	// chroma is stored for two by two pixels, and files do not say reliably whether it belongs to the left of
	// them or to the middle: half a pixel apart, a quarter either way.
	sitingSD = 0.25

	// softRim is how far off an encoder's errors on the rim, which stay from frame to frame, put the centre, as a part of
	// the rim's width, where all of the sticker is rim; less where it has a middle. In drawn clips coded anew the errors
	// were 0.07 to 0.17 of the rim's width.
	softRim = 0.15

	// besideHidden is how far off a place beside a gap may be, as a part of the radius: what hides a sticker comes before it bit
	// by bit, and a fifth of its area takes the centre as far.
	besideHidden = 0.2
)

func (s *scatter) see(a, b, c, d geometry.Point) {
	x, y := third(a, b, c, d)
	for _, v := range [2]float64{x, y} {
		if len(s.squares) < mostThirds {
			s.squares = append(s.squares, v*v)
		} else {
			s.squares[s.fresh%mostThirds] = v * v
		}
		s.fresh++
	}
}

// third is the third difference along either axis.
func third(a, b, c, d geometry.Point) (x, y float64) {
	return d.X - 3*c.X + 3*b.X - a.X, d.Y - 3*c.Y + 3*b.Y - a.Y
}

func (s *scatter) variance() float64 {
	if len(s.squares) < enoughThirds {
		return unknownScatter * unknownScatter
	}
	v := slices.Clone(s.squares)
	slices.Sort(v)
	return v[len(v)/2] / (medianSquare * thirds)
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
		for k := range j.seeds {
			f.Marks = append(f.Marks, j.mark(k, pic))
		}
		j.apart(f.Marks)
		if err := j.hand(&f); err != nil {
			return err
		}
		j.next = pic.i + 1
	}
	j.seen = j.seen[done:]
	if to == j.now && j.held != nil {
		return j.hand(nil)
	}
	return nil
}

// hand hands out the frame before f, which knows now what comes after it.
func (j *job) hand(f *Frame) error {
	h := j.held
	j.held = f
	if h != nil && f != nil {
		for k := range h.Marks {
			a, b := &h.Marks[k], &f.Marks[k]
			a.beside(b)
			b.beside(a)
		}
	}
	if h == nil {
		return nil
	}
	for k := range h.Marks {
		if m := &h.Marks[k]; m.Seen == Seen {
			j.ends[k].see(h.Index, m)
		} else if h.Damaged {
			j.ends[k].leaving = true // nobody can say that it is not there
		} else if m.Seen == Predicted {
			j.ends[k].leaving = j.outside(m.At, m.Radius)
		}
	}
	return j.each(*h)
}

// beside marks what is next to a frame in which the sticker is not seen.
func (m *Mark) beside(next *Mark) {
	if m.Seen != Seen || next.Seen == Seen || m.Beside {
		return
	}
	m.Beside = true
	m.Cov[0][0] += besideHidden * besideHidden * m.Radius * m.Radius
	m.Cov[1][1] += besideHidden * besideHidden * m.Radius * m.Radius
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

func (j *job) mark(k int, pic *picture) Mark {
	s := j.sight(k, pic.i)
	if s == nil {
		return lostMark()
	}
	if s.seen && !pic.damaged {
		m := Mark{Seen: Seen, At: s.what.at, Cov: s.what.cov, Radius: s.what.radius(), Jump: s.jump}
		soft := softRim * s.what.rim * s.what.rim / s.what.radius()
		add := math.Max(j.scatters[k].variance(), j.local(k, pic.i)) + sitingSD*sitingSD + soft*soft + s.doubt*s.doubt
		m.Cov[0][0] += add
		m.Cov[1][1] += add
		return m
	}
	t := &s.at
	if !s.seen && t.frames > 0 && t.frames*j.usual <= predictedFor {
		v := t.spread() + j.scatters[k].variance()
		return Mark{Seen: Predicted, At: t.expected(), Cov: [2][2]float64{{v, 0}, {0, v}}, Radius: t.radius}
	}
	return lostMark()
}

// local is the variance of a place as it and its neighbours tell it, px^2: the mean square of the third differences in
// which it is, or of all of nearby, whichever is larger. Where it alone is off by e, along one axis, that is a third of e^2. It is
// that of a lone place where no difference is known.
func (j *job) local(k, i int) float64 {
	var at [2*nearby + 1]geometry.Point
	var ok [2*nearby + 1]bool
	for n := range at {
		if s := j.sight(k, i-nearby+n); s != nil && s.seen {
			at[n], ok[n] = s.what.at, true
		}
	}
	var sum, n [2]float64 // of all, and of those in which it is
	for a := range len(at) - 3 {
		if ok[a] && ok[a+1] && ok[a+2] && ok[a+3] {
			x, y := third(at[a], at[a+1], at[a+2], at[a+3])
			sum[0], n[0] = sum[0]+x*x+y*y, n[0]+2*thirds
			if a <= nearby && nearby <= a+3 {
				sum[1], n[1] = sum[1]+x*x+y*y, n[1]+2*thirds
			}
		}
	}
	if n[1] == 0 {
		return loneScatter * loneScatter
	}
	return math.Max(sum[0]/n[0], sum[1]/n[1])
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
	for k := range j.ends {
		e := &j.ends[k]
		moved = moved || math.Hypot(e.box[2]-e.box[0], e.box[3]-e.box[1]) > stillPx+8*e.noise
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
