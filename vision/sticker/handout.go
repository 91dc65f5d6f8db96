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
	// the variance of x3 - 3 x2 + 3 x1 - x0 is 1 + 9 + 9 + 1 times that of each
	thirds = 20

	// the median of a squared normal deviate
	medianSquare = 0.455

	// unknownScatter is what is stated before there are enough, px: the rim of a sticker as encoders leave it.
	unknownScatter = 0.3

	enoughThirds = 16
	mostThirds   = 400

	// chroma is stored for two by two pixels, and files do not say reliably whether it belongs to the left of
	// them or to the middle: half a pixel apart, a quarter either way.
	sitingSD = 0.25
)

func (s *scatter) see(a, b, c, d geometry.Point) {
	for _, v := range [2]float64{d.X - 3*c.X + 3*b.X - a.X, d.Y - 3*c.Y + 3*b.Y - a.Y} {
		if len(s.squares) < mostThirds {
			s.squares = append(s.squares, v*v)
		} else {
			s.squares[s.fresh%mostThirds] = v * v
		}
		s.fresh++
	}
}

func (s *scatter) variance() float64 {
	if len(s.squares) < enoughThirds {
		return unknownScatter * unknownScatter
	}
	v := slices.Clone(s.squares)
	slices.Sort(v)
	return math.Max(v[len(v)/2]/(medianSquare*thirds), unknownScatter*unknownScatter)
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
		f := Frame{Index: pic.i, Time: j.clip.Time(pic.i), TrueTime: j.clip.TrueTime(pic.i)}
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
			a.Beside = a.Beside || b.Seen != Seen
			b.Beside = a.Seen != Seen
		}
	}
	if h == nil {
		return nil
	}
	for k := range h.Marks {
		if m := &h.Marks[k]; m.Seen == Seen {
			j.ends[k].see(h.Index, m)
		} else if m.Seen == Predicted {
			j.ends[k].leaving = j.outside(m.At, m.Radius)
		}
	}
	return j.each(*h)
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
		add := j.scatters[k].variance() + sitingSD*sitingSD + s.doubt*s.doubt
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
