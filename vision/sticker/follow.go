package sticker

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"
)

// Follow finds the stickers of the seeds and follows them through the clip, from the frames of the
// seeds to its end and to its start, and calls each with every frame in order.
//
// Where it ends early, by an error of each or of ctx or at another shot, each has been called
// with a range of frames without gaps. An error about the seeds or the clip is an *Error.
// NeverFound and Motionless are returned after the last frame.
func Follow(ctx context.Context, c Clip, seeds []Seed, o Options, each func(Frame) error) error {
	j := &job{clip: c, seeds: seeds, opt: o, each: each}
	if err := j.check(); err != nil {
		return err
	}
	if err := j.locate(ctx); err != nil {
		return err
	}
	if err := j.findSeeds(ctx); err != nil {
		return err
	}
	j.dropRefused()
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

	stickers   []found  // the sticker of each seed
	given      []Seed   // the seeds with those that were refused before anything was followed
	errors     []*Error // of each of given, nil where it is not refused
	seedIndex  []int    // of each seed that is followed, its index in given
	frameTime  float64  // s between frames
	bounds     image.Rectangle
	from       int         // the first frame of the shot
	pictures   []picture   // pictures that were not handed out yet
	tracks     [2][]*track // backwards and forwards in time, by seed
	twinRates  []*twinRate // by seed
	next       int         // the frame that is handed out next, -1 before the first one is known
	now        int         // the last frame that was looked at
	summaries  []summary
	lookAlikes [][]int  // by seed, the indices of the others that look like it
	refused    []*Error // by seed, nil where it is followed
}

// picture holds the candidates of one frame.
type picture struct {
	i          int
	damaged    bool
	candidates [][]candidate
}

// check checks the clip and the seeds before any picture is decoded.
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
	j.frameTime = math.Max(j.clip.TrueTime(n-1).Seconds()-j.clip.TrueTime(0).Seconds(), 1e-4) / float64(n-1)
	j.next = -1
	j.refused = make([]*Error, len(j.seeds))
	return nil
}

// refuse refuses seed k. It returns an error where the others are not followed without it, or all are refused.
func (j *job) refuse(k int, e *Error) error {
	if j.refused[k] = e; !j.seeds[k].Optional && !j.seeds[k].Alone {
		return e
	}
	if !slices.Contains(j.refused, nil) {
		return j.refused[0]
	}
	return nil
}

// dropRefused takes the seeds that were refused so far out of seeds and stickers.
func (j *job) dropRefused() {
	seeds, stickers := j.seeds, j.stickers
	j.given, j.errors, j.seeds, j.stickers = seeds, j.refused, nil, nil
	for k := range seeds {
		if j.errors[k] == nil {
			j.seeds, j.stickers, j.seedIndex = append(j.seeds, seeds[k]), append(j.stickers, stickers[k]), append(j.seedIndex, k)
		}
	}
	j.refused = make([]*Error, len(j.seeds))
}

// frames returns the true time between frames i and k, in mean frame times; at least 0.1.
func (j *job) frames(i, k int) float64 {
	return math.Max(math.Abs(j.clip.TrueTime(k).Seconds()-j.clip.TrueTime(i).Seconds())/j.frameTime, 0.1)
}

// pass decodes every frame once, in order, and follows the stickers.
func (j *job) pass(ctx context.Context) error {
	j.tracks = [2][]*track{make([]*track, len(j.seeds)), make([]*track, len(j.seeds))}
	j.lookAlikes = findLookAlikes(j.stickers)
	j.summaries = make([]summary, len(j.seeds))
	scan := newScanner(j.stickers)
	var cut cutDetector
	var row image.RGBA
	before := -1
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture, damaged bool) error {
		g := blockMeansOf(p, &row)
		if !damaged && cut.next(&g) {
			if err := j.newShot(i); err != nil {
				return err
			}
		}
		pic := picture{i, damaged, scan.scan(p)}
		j.now = i
		if err := j.addPicture(pic, before); err != nil {
			return err
		}
		before = i
		if j.opt.Progress != nil {
			j.opt.Progress(i+1, j.clip.Frames(), j.shown(&pic))
		}
		if slices.ContainsFunc(j.tracks[1], func(t *track) bool { return t == nil || len(t.sights) <= beside }) { // the frames after a seed may refuse it
			return nil
		}
		if j.updateInks() {
			scan.updatePalette()
		}
		if j.next < 0 {
			j.next = j.from
		}
		return j.handOut(i - lag)
	})
	if err != nil || j.next >= 0 {
		return err
	}
	for k, s := range j.seeds { // a seed in one of the last frames was not checked yet
		if j.tracks[1][k] == nil {
			return notDecoded(&s)
		}
		if len(j.tracks[1][k].sights) <= beside {
			if err := j.refuseUnconfirmed(k); err != nil {
				return err
			}
		}
	}
	j.next = j.from
	return nil
}

// newShot handles another shot that begins at frame i. A shot before all seeds is dropped; after a seed, it is an error.
func (j *job) newShot(i int) error {
	e := &Error{Problem: Cut, Frame: i, what: fmt.Sprintf("another shot begins at frame %d", i),
		hint: "cut the clip there into two, and follow each by itself"}
	for _, s := range j.seeds {
		if s.Frame < i {
			return e
		}
	}
	j.from, j.pictures = i, nil
	return nil
}

// addPicture adds the next frame. It follows the stickers of seeds in earlier frames, starts those of seeds in this frame, and
// follows these back.
func (j *job) addPicture(pic picture, before int) error {
	j.pictures = append(j.pictures, pic)
	if j.twinRates == nil {
		for k := range j.stickers {
			j.twinRates = append(j.twinRates, &twinRate{look: newLook(&j.stickers[k].candidate)})
		}
	}
	for k, s := range j.seeds {
		j.twinRates[k].see(pic.candidates[k], 1+len(j.lookAlikes[k]))
		switch t := j.tracks[1][k]; {
		case t != nil:
			t.step(pic.i, pic.candidates[k], j.frames(before, pic.i))
			if len(t.sights) == 1+beside {
				if err := j.refuseUnconfirmed(k); err != nil {
					return err
				}
			}
		case s.Frame == pic.i:
			j.tracks[0][k], j.tracks[1][k] = j.start(k, false)
		case s.Frame < pic.i:
			return notDecoded(&s)
		}
	}
	return nil
}

// start follows sticker k from its seed's frame, backwards and forwards, through all pictures so far. lost says that it counts as lost
// right after the seed's frame.
func (j *job) start(k int, lost bool) (back, on *track) {
	at := slices.IndexFunc(j.pictures, func(p picture) bool { return p.i == j.seeds[k].Frame })
	seen := slices.Clone(j.pictures[at].candidates[k])
	for _, m := range j.lookAlikes[k] { // those that were pointed at in the same frame are other things, though this sticker's ink may miss them
		o := &j.stickers[m].candidate
		if j.seeds[m].Frame == j.seeds[k].Frame && !slices.ContainsFunc(seen, func(c candidate) bool { return same(&c, o) }) {
			seen = append(seen, *o)
		}
	}
	seed := func() *track {
		t := newTrack(&j.stickers[k].candidate, j.pictures[at].i, seen, float64(j.bounds.Dx()*j.bounds.Dy()))
		t.own.scale *= math.Max(1, usualStep*j.frameTime*usualStep*j.frameTime)
		t.comeback.firstStepScale = t.own.scale
		turn := math.Max(leastScale, usualTurn*j.frameTime*j.frameTime)
		t.own.turnScale *= turn * turn
		for n := range t.rivals { // their first steps are known no better
			t.rivals[n].scale, t.rivals[n].turnScale = t.own.scale, t.own.turnScale
		}
		t.twinRate = j.twinRates[k]
		t.anyAthlete = j.seeds[k].Again
		t.lost = lost
		return t
	}
	back, on = seed(), seed()
	for n := at - 1; n >= 0; n-- {
		back.step(j.pictures[n].i, j.pictures[n].candidates[k], j.frames(j.pictures[n].i, j.pictures[n+1].i))
	}
	if back.run > 0 { // motion and look are known then. Else, in a real clip, a twin beside a sticker that was not found again was taken for it
		on.own.startFrom(&back.sights[back.run].what)
		for n := back.run - 1; n >= 0; n-- {
			on.own.frames = j.frames(back.sights[n+1].i, back.sights[n].i)
			on.own.see(&back.sights[n].what)
		}
	}
	for n := at + 1; n < len(j.pictures); n++ {
		on.step(j.pictures[n].i, j.pictures[n].candidates[k], j.frames(j.pictures[n-1].i, j.pictures[n].i))
	}
	return back, on
}

// notDecoded returns the error for a seed in a frame that the clip did not give.
func notDecoded(s *Seed) *Error {
	return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("frame %d, in which %q was pointed at, cannot be decoded", s.Frame, s.Name),
		hint: "point at it in another frame"}
}

// usualStep is the scale of a sticker's speed before its motion is known, in radii a second: a limb at 2 m/s, with a sticker
// of 24 mm. Half or twice that changes the log odds of its first step by 1.4 at most.
const usualStep = 170

// usualTurn is the scale of a sticker's acceleration once its velocity is known, in radii a second^2: a limb that swings at 2 m/s twice a second has
// 25 m/s^2, with a sticker of 24 mm. With the scale of the first step instead, one in twelve of the marks in attacked clips is lost.
const usualTurn = 2000

// beside is the number of frames on either side of the seed's in which a sticker may be seen before the seed is refused: it may be
// missed in two, and must then be seen in confirmed ones. With one, 33 of the 6,683 marks in drawn clips are lost; 3 and 5 change none.
const beside = 2 + confirmed

// refuseUnconfirmed refuses the seed of sticker k if no frame beside the seed's shows the sticker. If too few frames in a row do, what they show
// may be another thing, and the sticker is also followed without them.
func (j *job) refuseUnconfirmed(k int) error {
	for _, sights := range j.tracks {
		for _, s := range sights[k].sights[1:min(1+beside, len(sights[k].sights))] {
			if s.seen {
				if !j.seedRunConfirmed(k) {
					j.tracks[0][k].fromSeed, j.tracks[1][k].fromSeed = j.start(k, true)
				}
				return nil
			}
		}
	}
	f, s := &j.stickers[k], &j.seeds[k]
	return j.refuse(k, &Error{Problem: NoSticker, Seed: s.Name, Frame: s.Frame,
		what: fmt.Sprintf("%q in frame %d: what is there is %s and %.0f px wide, and the frames beside it show no such thing there", s.Name, s.Frame, rounded(f.colour), 2*f.radius()),
		hint: "point at the sticker in a frame in which it is sharp and whole, and is seen in the next frame too"})
}

// updateInks lets the inks follow the light, and reports whether any has changed.
func (j *job) updateInks() (changed bool) {
	for k := range j.stickers {
		t, f := j.tracks[1][k], &j.stickers[k]
		if t.own.frames == 0 && !t.lost && f.ink.distance(t.own.look.colour) > mostInkDrift*mostInkDrift {
			limit := f.ink.limit
			f.ink = newInk(t.own.look.colour, f.ink.ground, f.ink.spread)
			f.ink.limit, changed = limit, true
		}
	}
	return changed
}

// mostInkDrift is how far a sticker's colour may drift, in standard deviations, before its ink is made anew.
const mostInkDrift = 0.5

// shown returns the number of stickers with candidates in a picture.
func (j *job) shown(pic *picture) (n int) {
	for _, c := range pic.candidates {
		if len(c) > 0 {
			n++
		}
	}
	return n
}
