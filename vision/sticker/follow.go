package sticker

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"
)

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
	if err := j.point(ctx); err != nil {
		return err
	}
	j.leave()
	err := j.pass(ctx)
	if j.next < 0 {
		return err
	}
	if failed := j.handOut(j.now); failed != nil {
		return failed
	}
	if err != nil {
		return err
	}
	return j.verdict()
}

// job is one call of Follow.
type job struct {
	clip  Clip
	seeds []Seed
	opt   Options
	each  func(Frame) error

	of      []found  // of each seed
	given   []Seed   // with those that are refused before anything is followed
	left    []*Error // of each of these, nil where it is not refused
	places  []int    // of each seed that is followed, its number among them
	usual   float64  // s between frames
	bounds  image.Rectangle
	last    int         // last frame of a seed
	from    int         // the first frame of the shot
	seen    []picture   // from the first on that are not done with
	tracks  [2][]*track // backwards and forwards in time, by seed
	company []*company  // by seed
	next    int         // the frame that is handed out next, -1 before it is known where
	now     int         // the last frame that was looked at
	ends    []end
	alike   [][]int  // by seed, the others that look like it
	refused []*Error // by seed, nil where it is followed
}

// picture is what a frame showed.
type picture struct {
	i          int
	damaged    bool
	candidates [][]candidate
}

func (j *job) check() error {
	n := j.clip.Frames()
	switch {
	case n <= 1:
		return &Error{Problem: OneFrame, what: "it is a still: there is nothing to follow", hint: "give a clip, or read the still with a marks file"}
	case len(j.seeds) == 0:
		return &Error{Problem: BadSeed, what: "no sticker was pointed at", hint: "point at each sticker in one frame, or give its colour"}
	case len(j.seeds) > 64:
		return &Error{Problem: BadSeed, what: fmt.Sprintf("%d stickers were pointed at, and at most 64 can be followed at once", len(j.seeds)), hint: "follow them in several runs"}
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
	j.usual = math.Max(j.clip.TrueTime(n-1).Seconds()-j.clip.TrueTime(0).Seconds(), 1e-4) / float64(n-1)
	j.next = -1
	j.refused = make([]*Error, len(j.seeds))
	return nil
}

// refuse refuses seed k. It returns an error where nothing is followed without it.
func (j *job) refuse(k int, e *Error) error {
	if j.refused[k] = e; !j.seeds[k].Optional && !j.seeds[k].Alone {
		return e
	}
	if !slices.Contains(j.refused, nil) {
		return j.refused[0]
	}
	return nil
}

// leave goes on without the seeds that are refused so far.
func (j *job) leave() {
	seeds, of := j.seeds, j.of
	j.given, j.left, j.seeds, j.of = seeds, j.refused, nil, nil
	for k := range seeds {
		if j.left[k] == nil {
			j.seeds, j.of, j.places = append(j.seeds, seeds[k]), append(j.of, of[k]), append(j.places, k)
		}
	}
	j.refused = make([]*Error, len(j.seeds))
}

// frames is the true time from frame i to frame k, in usual frames.
func (j *job) frames(i, k int) float64 {
	return math.Max(math.Abs(j.clip.TrueTime(k).Seconds()-j.clip.TrueTime(i).Seconds())/j.usual, 0.1)
}

// pass looks at every frame once, in order.
func (j *job) pass(ctx context.Context) error {
	j.tracks = [2][]*track{make([]*track, len(j.seeds)), make([]*track, len(j.seeds))}
	j.alike = lookAlikes(j.of)
	j.ends = make([]end, len(j.seeds))
	scan := newScanner(j.of)
	var cut cutter
	var row image.RGBA
	before := -1
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture, damaged bool) error {
		g := gistOf(p, &row)
		if !damaged && cut.next(&g) {
			if err := j.another(i); err != nil {
				return err
			}
		}
		pic := picture{i, damaged, scan.scan(p)}
		j.now = i
		if err := j.take(pic, before); err != nil {
			return err
		}
		before = i
		if j.opt.Progress != nil {
			j.opt.Progress(i+1, j.clip.Frames(), j.shown(&pic))
		}
		if i < j.last+beside { // the frames after the last seed may refuse it
			return nil
		}
		if j.dyed() {
			scan.dye()
		}
		if j.next < 0 {
			j.next = j.from
		}
		return j.handOut(i - lag)
	})
	if err != nil || j.next >= 0 {
		return err
	}
	for k, s := range j.seeds { // the last of them is in one of the last frames
		if j.tracks[1][k] == nil {
			return notDecoded(&s)
		}
		if s.Frame > j.now-beside {
			if err := j.lone(k); err != nil {
				return err
			}
		}
	}
	j.next = j.from
	return nil
}

// another says that another shot begins at frame i. What is before the seeds is forgotten.
func (j *job) another(i int) error {
	e := &Error{Problem: Cut, Frame: i, what: fmt.Sprintf("another shot begins at frame %d", i),
		hint: "cut the clip there into two, and follow each by itself"}
	for _, s := range j.seeds {
		if s.Frame < i {
			return e
		}
	}
	j.from, j.seen = i, nil
	return nil
}

// take goes on to a frame: stickers that were pointed at are followed, those that are pointed at in it begin, and
// are followed back.
func (j *job) take(pic picture, before int) error {
	j.seen = append(j.seen, pic)
	if j.company == nil {
		for k := range j.of {
			j.company = append(j.company, &company{look: newLook(&j.of[k].candidate)})
		}
	}
	for k, s := range j.seeds {
		j.company[k].see(pic.candidates[k], 1+len(j.alike[k]))
		switch t := j.tracks[1][k]; {
		case t != nil:
			t.step(pic.i, pic.candidates[k], j.frames(before, pic.i))
			if len(t.sights) == 1+beside {
				if err := j.lone(k); err != nil {
					return err
				}
			}
		case s.Frame == pic.i:
			for way := range j.tracks {
				t := newTrack(&j.of[k].candidate, pic.i, pic.candidates[k], float64(j.bounds.Dx()*j.bounds.Dy()))
				t.own.scale *= math.Max(1, usualStep*j.usual*usualStep*j.usual)
				t.back.turn = t.own.scale
				turn := math.Max(leastScale, usualTurn*j.usual*j.usual)
				t.own.turn *= turn * turn
				t.company = j.company[k]
				t.again = s.Again
				j.tracks[way][k] = t
			}
			back := j.tracks[0][k]
			for n := len(j.seen) - 2; n >= 0; n-- {
				back.step(j.seen[n].i, j.seen[n].candidates[k], j.frames(j.seen[n].i, j.seen[n+1].i))
			}
		case s.Frame < pic.i:
			return notDecoded(&s)
		}
	}
	return nil
}

// notDecoded is the error of a seed whose frame the clip did not give.
func notDecoded(s *Seed) *Error {
	return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("frame %d, in which %q was pointed at, cannot be decoded", s.Frame, s.Name),
		hint: "point at it in another frame"}
}

// usualStep is how far a sticker goes where nothing is known of its motion yet, in its radii a second: a limb at 2 m/s, a sticker
// of 24 mm. Half or twice that changes the odds of its first step by 1.4 at most.
const usualStep = 170

// usualTurn is by how much its velocity changes where only that is known, in its radii a second in a second: a limb that swings at 2 m/s twice a second does by
// 25 m/s^2, with a sticker of 24 mm. Without it, from the scale of a first step on, one in twelve of the marks in attacked clips is lost.
const usualTurn = 2000

// beside is how many frames to either side of its seed's are looked at for a sticker before the seed is refused: one may miss
// it, and what is found after that must go on.
const beside = 1 + confirmed

// lone refuses the seed of sticker k where no frame beside it shows what was pointed at.
func (j *job) lone(k int) error {
	for _, way := range j.tracks {
		for _, s := range way[k].sights[1:min(1+beside, len(way[k].sights))] {
			if s.seen {
				return nil
			}
		}
	}
	f, s := &j.of[k], &j.seeds[k]
	return j.refuse(k, &Error{Problem: NoSticker, Seed: s.Name, Frame: s.Frame,
		what: fmt.Sprintf("%q in frame %d: what is there is %s and %.0f px wide, and the frames beside it show no such thing there", s.Name, s.Frame, rounded(f.colour), 2*f.radius()),
		hint: "point at the sticker in a frame in which it is sharp and whole, and is seen in the next frame too"})
}

// dyed lets the inks follow the light, and says whether any has changed.
func (j *job) dyed() (changed bool) {
	for k := range j.of {
		t, f := j.tracks[1][k], &j.of[k]
		if t.own.frames == 0 && !t.lost && f.ink.distance(t.own.look.hue) > fresh*fresh {
			limit := f.ink.limit
			f.ink = newInk(t.own.look.hue, f.ink.ground, f.ink.spread)
			f.ink.limit, changed = limit, true
		}
	}
	return changed
}

// fresh is how far a sticker's colour may wander, in standard deviations, before its ink is mixed anew.
const fresh = 0.5

// shown is the number of stickers of which a picture shows something.
func (j *job) shown(pic *picture) (n int) {
	for _, c := range pic.candidates {
		if len(c) > 0 {
			n++
		}
	}
	return n
}
