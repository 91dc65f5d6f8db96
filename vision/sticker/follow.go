package sticker

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Follow finds the stickers of the seeds and follows them through the clip, from the frames of the
// seeds to its end and to its start, and calls each with every frame in order.
//
// Where it ends early, by an error of each or of ctx or at another shot, each has been called
// with a range of frames without gaps. An error about the seeds or the clip is an *Error.
// NeverFound and Motionless are returned after the last frame.
func Follow(ctx context.Context, c Clip, seeds []Seed, o Options, each func(Frame) error) error {
	j := &job{clip: c, given: seeds, opt: o, each: each}
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
	given []Seed
	opt   Options
	each  func(Frame) error

	errors     []*Error // of each of given, nil where none of its places is refused
	seeds      []Seed   // one for each place that was pointed at; those that are refused before anything is followed are dropped
	owner      []int    // of each of seeds, its index in given
	stickers   []found  // the sticker of each seed
	frameTime  float64  // s between frames
	bounds     image.Rectangle
	from       int         // the first frame of the shot
	pictures   []picture   // pictures that were not handed out yet
	tracks     [2][]*track // backwards and forwards in time, by seed
	twinRates  []*twinRate // by seed
	next       int         // the frame that is handed out next, -1 before the first one is known
	now        int         // the last frame that was looked at
	summaries  []summary   // of each of given
	lookAlikes [][]int     // by seed, the indices in given of the others that look like it
	refused    []*Error    // by seed, nil where it is followed
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
	case len(j.given) == 0:
		return &Error{Problem: BadSeed, what: "no sticker was pointed at", hint: "point at each sticker in one frame, or give its colour"}
	}
	for i, s := range j.given {
		j.addPlaces(i)
		for _, o := range j.given[:i] {
			if o.Name == s.Name {
				return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q is named twice", s.Name), hint: "name each sticker differently"}
			}
			if o.Colour != nil && s.Colour != nil && *o.Colour == *s.Colour {
				return &Error{Problem: BadSeed, Seed: s.Name, what: fmt.Sprintf("%q and %q have the same colour, %s", o.Name, s.Name, s.Colour), hint: "point at each of the two in one frame: their colour does not tell them apart"}
			}
		}
	}
	if len(j.seeds) > mostSeeds {
		return &Error{Problem: BadSeed, what: fmt.Sprintf("stickers were pointed at in %d places, and at most %d can be followed at once", len(j.seeds), mostSeeds), hint: "follow them in several runs"}
	}
	for k, s := range j.seeds {
		if s.Colour == nil && (s.Frame < 0 || s.Frame >= n) {
			return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q was pointed at in frame %d, and the clip has %d frames", s.Name, s.Frame, n),
				hint: fmt.Sprintf("point at it in a frame from 0 to %d", n-1)}
		}
		if slices.ContainsFunc(j.seeds[:k], func(o Seed) bool { return o.Name == s.Name && o.Frame == s.Frame && o.Colour == nil }) {
			return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q was pointed at twice in frame %d", s.Name, s.Frame), hint: "point at it once in a frame"}
		}
	}
	j.frameTime = math.Max(j.clip.TrueTime(n-1).Seconds()-j.clip.TrueTime(0).Seconds(), 1e-4) / float64(n-1)
	j.next = -1
	j.refused = make([]*Error, len(j.seeds))
	return nil
}

// mostSeeds is how many inks the table of colours holds.
const mostSeeds = 64

// addPlaces adds the places of sticker i to the seeds.
func (j *job) addPlaces(i int) {
	s := j.given[i]
	j.seeds, j.owner = append(j.seeds, s), append(j.owner, i)
	for _, p := range s.Also {
		j.seeds, j.owner = append(j.seeds, Seed{Name: s.Name, At: p.At, Frame: p.Frame, Alone: s.Alone, Again: s.Again}), append(j.owner, i)
	}
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
	seeds, stickers, owner := j.seeds, j.stickers, j.owner
	j.errors, j.seeds, j.stickers, j.owner = make([]*Error, len(j.given)), nil, nil, nil
	for k, n := range owner {
		if e := j.refused[k]; e != nil {
			j.errors[n] = cmp.Or(j.errors[n], e)
		} else {
			j.seeds, j.stickers, j.owner = append(j.seeds, seeds[k]), append(j.stickers, stickers[k]), append(j.owner, n)
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
	j.lookAlikes = findLookAlikes(j.stickers, j.owner)
	for k := range j.stickers {
		j.twinRates = append(j.twinRates, &twinRate{look: newLook(&j.stickers[k].candidate)})
	}
	j.summaries = make([]summary, len(j.given))
	scan := newScanner(j.stickers)
	var cut cutDetector
	var row image.RGBA
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture, damaged bool) error {
		g := blockMeansOf(p, &row)
		if !damaged && cut.next(&g) {
			if err := j.newShot(i); err != nil {
				return err
			}
		}
		pic := picture{i, damaged, scan.scan(p)}
		j.now = i
		j.addPicture(pic)
		if j.opt.Progress != nil {
			j.opt.Progress(i+1, j.clip.Frames(), j.shown(&pic))
		}
		if slices.ContainsFunc(j.tracks[onward], func(t *track) bool { return t == nil || len(t.sights) <= beside }) { // the frames after a seed may refuse it
			return nil
		}
		if j.next < 0 {
			if err := j.confirmSeeds(); err != nil {
				return err
			}
		}
		if j.updateInks() {
			scan.updatePalette()
		}
		return j.handOut(i - lag)
	})
	if err != nil || j.next >= 0 {
		return err
	}
	return j.confirmSeeds()
}

// confirmSeeds refuses the seeds that the frames beside them do not confirm. From then on frames are handed out.
func (j *job) confirmSeeds() error {
	for k, s := range j.seeds {
		if j.tracks[onward][k] == nil {
			return notDecoded(&s)
		}
		if err := j.refuseUnconfirmed(k); err != nil {
			return err
		}
		if j.seedRunConfirmed(k) {
			j.tracks[back][k].fromSeed, j.tracks[onward][k].fromSeed = nil, nil
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

// addPicture adds the next frame. As soon as the frames of all seeds are known, the stickers are followed back from them and then on.
func (j *job) addPicture(pic picture) {
	j.pictures = append(j.pictures, pic)
	for k := range j.stickers {
		j.twinRates[k].see(pic.candidates[k], 1+len(j.lookAlikes[k]))
	}
	n := len(j.pictures) - 1
	switch last := slices.MaxFunc(j.seeds, func(a, b Seed) int { return cmp.Compare(a.Frame, b.Frame) }).Frame; {
	case pic.i > last:
		j.step(onward, n)
	case pic.i == last:
		for ; n >= 0; n-- {
			j.step(back, n)
		}
		for n := range j.pictures {
			j.step(onward, n)
		}
	}
}

// The directions in which the stickers are followed from their seeds' frames.
const (
	back = iota
	onward
)

// step follows the stickers whose seeds come before picture n in a direction, all at once, and starts those of seeds in it.
func (j *job) step(direction, n int) {
	pic := &j.pictures[n]
	var followed []*track
	for k := range j.seeds {
		if t := j.tracks[direction][k]; t == nil && j.seeds[k].Frame == pic.i {
			j.start(direction, k, n)
		} else if t != nil {
			followed = append(followed, t)
			if t.fromSeed != nil {
				followed = append(followed, t.fromSeed)
			}
		}
	}
	for _, t := range followed {
		t.find(pic.candidates[t.sticker], j.frames(t.sights[len(t.sights)-1].i, pic.i))
	}
	var lose []bool
	for _, t := range followed {
		lose = append(lose, !t.lost && t.pick >= 0 && j.mayBeAnother(t, direction, pic.i))
	}
	for n, t := range followed {
		t.take(pic.i, lose[n])
	}
	j.comeBack(followed, direction, pic.i)
}

// start starts the track of sticker k in its seed's picture, n.
func (j *job) start(direction, k, n int) {
	pic, own := &j.pictures[n], j.stickers[k].candidate
	seen := slices.Clone(pic.candidates[k])
	for m := range j.seeds { // those that were pointed at in the same frame are other things, though this sticker's ink may miss them
		if o := &j.stickers[m].candidate; j.seeds[m].Frame == pic.i && slices.Contains(j.lookAlikes[k], j.owner[m]) && !slices.ContainsFunc(seen, func(c candidate) bool { return same(&c, o) }) {
			seen = append(seen, *o)
		}
	}
	seen = append(slices.DeleteFunc(seen, func(c candidate) bool { return same(&c, &own) }), own)
	t := j.newTrack(direction, k, &own, pic.i, seen)
	if before := j.tracks[back][k]; direction == onward && before.run > 0 { // what the frames before the seed's show is known: motion, look and rivals
		n -= before.run
		t = j.newTrack(direction, k, &before.sights[before.run].what, j.pictures[n].i, j.pictures[n].candidates[k])
		for m := before.run - 1; m >= 0; m-- {
			n++
			cs := j.pictures[n].candidates[k]
			if m == 0 {
				cs = seen
			}
			t.find(cs, j.frames(j.pictures[n-1].i, j.pictures[n].i))
			t.pick = slices.IndexFunc(cs, func(c candidate) bool { return c.at == before.sights[m].what.at })
			t.take(j.pictures[n].i, false)
		}
		t.sights, t.run, t.jumped = t.sights[len(t.sights)-1:], 0, 0
	}
	t.fromSeed = j.newTrack(direction, k, &own, pic.i, seen)
	t.fromSeed.lost = true
	j.tracks[direction][k] = t
}

// newTrack starts a track of sticker k in a direction with its candidate c in frame i, which shows the candidates cs.
func (j *job) newTrack(direction, k int, c *candidate, i int, cs []candidate) *track {
	t := newTrack(c, i, cs, float64(j.bounds.Dx()*j.bounds.Dy()))
	t.own.scale *= math.Max(1, usualStep*j.frameTime*usualStep*j.frameTime)
	t.comeback.firstStepScale = t.own.scale
	turn := math.Max(leastScale, usualTurn*j.frameTime*j.frameTime)
	t.own.turnScale *= turn * turn
	for n := range t.rivals { // their first steps are known no better
		t.rivals[n].scale, t.rivals[n].turnScale = t.own.scale, t.own.turnScale
	}
	t.sticker, t.backwards, t.twinRate, t.anyAthlete = k, direction == back, j.twinRates[k], j.seeds[k].Again
	return t
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

// refuseUnconfirmed refuses the seed of sticker k if no frame beside the seed's shows the sticker.
func (j *job) refuseUnconfirmed(k int) error {
	for _, sights := range j.tracks {
		for _, s := range sights[k].sights[1:min(1+beside, len(sights[k].sights))] {
			if s.seen {
				return nil
			}
		}
	}
	f, s := &j.stickers[k], &j.seeds[k]
	unknown, hint := "", "point at the sticker in a frame in which it is sharp and whole, and is seen in the next frame too"
	var alike []string
	for _, m := range j.lookAlikes[k] {
		alike = append(alike, strconv.Quote(j.given[m].Name))
	}
	if alike != nil {
		unknown = ", or do not tell it from what looks like it: " + strings.Join(alike, ", ")
		hint += "; point at two that look alike where they are slow or far apart"
	}
	return j.refuse(k, &Error{Problem: NoSticker, Seed: s.Name, Frame: s.Frame,
		what: fmt.Sprintf("%q in frame %d: what is there is %s and %.0f px wide, and the frames beside it show no such thing there%s", s.Name, s.Frame, rounded(f.colour), 2*f.radius(), unknown), hint: hint})
}

// updateInks lets the inks follow the light, and reports whether any has changed.
func (j *job) updateInks() (changed bool) {
	for k := range j.stickers {
		t, f := j.tracks[onward][k], &j.stickers[k]
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
	for m := range j.given {
		if slices.ContainsFunc(j.seedsOf(m), func(k int) bool { return len(pic.candidates[k]) > 0 }) {
			n++
		}
	}
	return n
}
