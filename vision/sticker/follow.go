package sticker

import (
	"context"
	"errors"
	"fmt"
	"image"
	"sync"
	"time"

	"ecart/geometry"
)

// Seed says which sticker is to be followed: by a place on it in one frame, or by its colour.
type Seed struct {
	Name  string
	At    geometry.Point // px, on the sticker in Frame
	Frame int

	// Colour is that of a sticker that nobody pointed at, as it would look in white light; nil
	// for a seed with a place. No two seeds may have one colour.
	Colour *Colour
}

// Options says how a clip is followed. The zero value will do.
type Options struct {
	// Progress is told now and then how many of the frames have been looked at, and how many
	// stickers the last of them showed.
	Progress func(done, total, found int)
}

// Frame is what one frame of a clip shows.
type Frame struct {
	Index    int           // from 0
	Time     time.Duration // from the first frame, as stored
	TrueTime time.Duration // slow motion undone
	Marks    []Mark        // by seed
}

// Follow finds the stickers of the seeds and follows them through the clip, from where they were
// pointed at to its end and to its start, and calls each with every frame in order.
//
// Where it ends early, by an error of each or of ctx or by another shot, each has been called
// with the frames from some frame on to some other, without gaps. The error is an *Error where it
// is about the seeds or the clip. NeverFound and Motionless are told when all is done.
func Follow(ctx context.Context, c Clip, seeds []Seed, o Options, each func(Frame) error) error {
	j := &job{clip: c, seeds: seeds, opt: o, each: each}
	if err := j.check(); err != nil {
		return err
	}
	if err := j.locate(ctx); err != nil {
		return err
	}
	defer func() { dropAll(j.before) }()
	err := j.forward(ctx)
	if back := j.awaitBack(err); err == nil || isCut(err) && back != nil {
		err = back
	}
	if len(j.late) == 0 || j.unfit {
		return err
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		ctx = context.WithoutCancel(ctx) // what was followed is handed out all the same
	}
	if failed := j.handOut(ctx); failed != nil {
		return failed
	}
	if err != nil {
		return err
	}
	return j.verdict()
}

// awaitBack waits until the clip has been followed backwards too; not to its start where something is
// amiss forwards that is not another shot.
func (j *job) awaitBack(forward error) error {
	if j.back == nil {
		return nil
	}
	if forward != nil && !isCut(forward) {
		j.stopBack()
	}
	defer j.stopBack()
	return <-j.back
}

func isCut(err error) bool {
	var e *Error
	return errors.As(err, &e) && e.Problem == Cut
}

// job is one call of Follow.
type job struct {
	clip  Clip
	seeds []Seed
	opt   Options
	each  func(Frame) error

	first, last int         // first and last frame of a seed
	pending     [][]int     // seeds by frame, those frames that have not come yet
	begin       []beginning // of each seed
	unfit       bool        // a seed is on no sticker, or has a colour that will not do
	shutter     shutter
	shift       [2]float32 // of the colours, px
	unsure      [2]float64 // its variance
	before      []numbered // pictures up to the one of the seeds, kept for going backwards
	early       [][]Mark   // by frame up to last, what was found going backwards
	reached     int        // the first frame of early that was looked at
	late        []looked   // what was found going forwards
	back        chan error // ends the way back
	stopBack    func()
	telling     sync.Mutex
	done        int
	bounds      image.Rectangle
	ends        []end
}

// looked is what was found in a frame.
type looked struct {
	i     int
	marks []Mark
}

// beginning is how a sticker looks and moves in the frame of its seed.
type beginning struct {
	result
	look  look
	speed geometry.Vec // px/s, forwards in time
	push  float64      // px/s^2, 0 where the motion is not known
	code  coding
}

// end is what is known of one sticker when all is done.
type end struct {
	seen    int        // frames
	last    int        // the last of them
	box     [4]float64 // of its places, px
	noise   float64    // largest standard deviation of a place, px
	leaving bool       // expected outside the picture
}

func (j *job) check() error {
	n := j.clip.Frames()
	switch {
	case n <= 1:
		return &Error{Problem: OneFrame, what: "it is a still: there is nothing to follow", hint: "give a clip, or read the still with a marks file"}
	case len(j.seeds) == 0:
		return &Error{Problem: BadSeed, what: "no sticker was pointed at", hint: "point at each sticker in one frame, or give its colour"}
	}
	for i, s := range j.seeds {
		if s.Colour == nil && (s.Frame < 0 || s.Frame >= n) {
			return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q was pointed at in frame %d, and the clip has %d frames", s.Name, s.Frame, n),
				hint: fmt.Sprintf("point at it in a frame from 0 to %d", n-1)}
		}
		for _, o := range j.seeds[:i] {
			if o.Name == s.Name {
				return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q is named twice", s.Name), hint: "point at each sticker once, and name each differently"}
			}
			if o.Colour != nil && s.Colour != nil && *o.Colour == *s.Colour {
				return &Error{Problem: BadSeed, Seed: s.Name, what: fmt.Sprintf("%q and %q have the same colour, %s", o.Name, s.Name, s.Colour), hint: "point at each of the two in one frame: their colour does not tell them apart"}
			}
		}
	}
	return nil
}

// interval is the true time from frame i to frame k, s.
func (j *job) interval(i, k int) float64 {
	return max(j.clip.TrueTime(max(i, k)).Seconds()-j.clip.TrueTime(min(i, k)).Seconds(), 1e-4)
}

// follower makes one that waits for the seeds; way is 1 forwards in time and -1 backwards.
func (j *job) follower(way float64) *follower {
	f := newFollower(nil, j.shutter, j.shift)
	f.unsure = j.unsure
	for i := range j.begin {
		f.add(newTracked(j.seeds[i].Name, &j.begin[i], way))
	}
	return f
}

// walker goes from frame to frame in one direction.
type walker struct {
	j    *job
	f    *follower
	cut  cutter
	last int // the frame before, -1 none
}

// to goes on to a picture, and returns the marks; an error where another shot begins.
func (w *walker) to(n *numbered) ([]Mark, error) {
	i := n.i
	if w.cut.next(&n.gist) {
		at := max(i, w.last)
		return nil, &Error{Problem: Cut, Frame: at, what: fmt.Sprintf("another shot begins at frame %d", at),
			hint: "cut the clip there into two, and follow each by itself"}
	}
	dt := 0.0
	if w.last >= 0 {
		dt = w.j.interval(w.last, i)
	}
	w.last = i
	for k, t := range w.f.stickers {
		t.starts = w.j.seeds[k].Frame == i
	}
	return w.f.step(n.p, dt), nil
}
