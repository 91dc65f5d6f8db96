package sticker

import (
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// findSeeds finds the sticker of each seed in its frame.
func (j *job) findSeeds(ctx context.Context) error {
	j.stickers = make([]found, len(j.seeds))
	var frames []int
	for k, s := range j.seeds {
		if j.refused[k] == nil {
			frames = append(frames, s.Frame)
		}
	}
	var q pointer
	find := func(i int, p Picture, damaged bool) error {
		j.bounds = p.Bounds()
		for k, s := range j.seeds {
			if s.Frame != i || j.refused[k] != nil {
				continue
			}
			if damaged {
				return &Error{Problem: BadSeed, Seed: s.Name, Frame: i, what: fmt.Sprintf("the file is damaged at frame %d, in which %q was pointed at", i, s.Name), hint: "point at it in another frame"}
			}
			if err := j.findSeed(&q, p, k); err != nil {
				return err
			}
		}
		return nil
	}
	slices.Sort(frames)
	for n := 1; len(frames) > 0; frames, n = frames[n:], 1 {
		for n < len(frames) && j.clip.CleanStart(frames[n]) <= frames[n-1] { // what leads up to it is decoded anyway
			n++
		}
		if err := j.clip.Stream(ctx, frames[0], frames[n-1], find); err != nil {
			return err
		}
	}
	for k, s := range j.seeds {
		if j.refused[k] == nil && j.stickers[k].area == 0 {
			return notDecoded(&s)
		}
	}
	return nil
}

// findSeed finds the sticker of seed k in picture p, that of its frame.
func (j *job) findSeed(q *pointer, p Picture, k int) error {
	s := &j.seeds[k]
	f, err := q.find(p, s.At)
	if err != nil {
		e := *err
		e.Seed, e.Frame = s.Name, s.Frame
		e.what = fmt.Sprintf("%q in frame %d: %s", s.Name, s.Frame, e.what)
		if s.Colour != nil { // nobody pointed at it
			e.what = fmt.Sprintf("%q: what looks most like %s, in frame %d, is no sticker that can be followed", s.Name, s.Colour, s.Frame)
			e.hint = "point at the sticker in one frame instead of giving its colour"
		}
		return j.refuse(k, &e)
	}
	for n, o := range j.seeds[:k] {
		if o.Frame == s.Frame && j.refused[n] == nil && same(&j.stickers[n].candidate, &f.candidate) {
			return &Error{Problem: TwoOnOne, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("%q and %q are on one sticker in frame %d", o.Name, s.Name, s.Frame),
				hint: "point at a sticker of its own for each"}
		}
	}
	j.narrowInk(&f, p)
	j.stickers[k] = f
	return nil
}

// rareShare is the largest part of the picture, besides the sticker itself, that a rare colour covers.
const rareShare = 0.01

// narrowInk lowers the limit of a sticker's ink where much besides the sticker has its colour, until the colour is rare or the
// limit as low as the noise allows. A colour that stays common is not refused: other things of that colour are rivals,
// and enter the odds of each frame. Without it, 1,293 for 1,018 of 27,000 marks in clips with pasted twins that nobody pointed at were wrong, as many marks in
// drawn clips are seen, and a clip with hundreds of leaves takes twice the time.
func (j *job) narrowInk(f *found, p Picture) {
	own := f.area / float64(j.bounds.Dx()*j.bounds.Dy())
	for _, limit := range []float64{mostDistance, 2.5, 2, 1.6} {
		f.ink.limit = limit * limit
		s := newScanner([]found{*f})
		s.load(p)
		if s.share(0)-own < rareShare {
			return
		}
	}
}

// A sticker given by its colour alone is searched in a frame each lookEvery, until one shows a single thing of that colour
// that stands out.
const (
	lookEvery = 0.1 // s

	// namedSpread is the standard deviation of a sticker's colour about the one that was named, in coded levels:
	// light is seldom white, and cameras make colours stronger.
	namedSpread = 25

	// namedStep is the step of the subsampled picture, px: small enough for a sticker of 3 px of radius.
	namedStep = 2

	// mostlyPure: at least one in so many cells of a blob must be nearly unmixed with grey. A sticker of 3 px of radius has one in three,
	// counted with half a pixel of its rim, and with its innermost pixel of rim mixed: (2 / 3.5)^2.
	mostlyPure = 4

	// clearlyNearer is how many times nearer in colour the thing must be than the next one, with one standard deviation added to both.
	clearlyNearer = 1.5
)

var errEnough = errors.New("enough")

// locate finds a place and a frame for every seed that has a colour only: the first at which it is clear.
func (j *job) locate(ctx context.Context) error {
	var named []int
	var inks []*ink
	for k, s := range j.seeds {
		if s.Colour != nil {
			named, inks = append(named, k), append(inks, namedInk(*s.Colour))
		}
	}
	if named == nil {
		return nil
	}
	j.seeds = slices.Clone(j.seeds)
	thin := cells{palette: newPalette(inks), step: namedStep}
	var joiner joiner
	var q pointer
	located := make([]bool, len(named))
	most := make([]int, len(named)) // the largest number of things of its colour in a frame
	next := -1.0
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture, damaged bool) error {
		t := j.clip.TrueTime(i).Seconds()
		if damaged || t < next {
			return nil
		}
		next = t + lookEvery
		thin.load(p)
		for n, k := range named {
			if located[n] {
				continue
			}
			at, things := q.findNamed(p, inks[n], joiner.blobs(&thin, n, leastPixels, math.Inf(1)))
			most[n] = max(most[n], things)
			if at != nil {
				located[n], j.seeds[k].At, j.seeds[k].Frame = true, *at, i
			}
		}
		if !slices.Contains(located, false) {
			return errEnough
		}
		return nil
	})
	if err != nil && err != errEnough {
		return err
	}
	for n, k := range named {
		if located[n] {
			continue
		}
		s := &j.seeds[k]
		e := &Error{Problem: NeverFound, Seed: s.Name, what: fmt.Sprintf("no frame shows one sticker of the colour of %q (%s)", s.Name, s.Colour),
			hint: "point at it in one frame instead; colours look other in the hall's light than on paper"}
		if most[n] > 1 {
			e.what = fmt.Sprintf("up to %d things have the colour of %q (%s)", most[n], s.Name, s.Colour)
		}
		if err := j.refuse(k, e); err != nil {
			return err
		}
	}
	return nil
}

// namedInk returns the ink for a colour that was named. Its ground is grey.
func namedInk(c Colour) *ink {
	code := c.code()
	grey := (code.r + code.g + code.b) / 3
	k := newInk(code, vec{grey, grey, grey}, sym{}.plus(sym{}, 0, namedSpread*namedSpread))
	return &k
}

// findNamed finds the one thing of an ink among its blobs: at is nil where there is none, or several alike. things is their
// number.
func (q *pointer) findNamed(p Picture, k *ink, blobs []blob) (at *geometry.Point, things int) {
	var best found
	nearest, second := math.Inf(1), math.Inf(1)
	for _, b := range blobs {
		if b.pure < b.cells/mostlyPure { // only a mixture of the colour and grey, such as something dark
			continue
		}
		f, _, ok := q.thingAt(p, image.Pt((b.box.Min.X+b.box.Max.X)/2, (b.box.Min.Y+b.box.Max.Y)/2))
		if !ok || f.check(f.at) != nil || things > 0 && same(&best.candidate, &f.candidate) {
			continue
		}
		d := k.distance(f.colour)
		if d > k.limit {
			continue
		}
		things++
		if d < nearest {
			best, nearest, second = f, d, nearest
		} else if d < second {
			second = d
		}
	}
	if things == 0 || clearlyNearer*clearlyNearer*(nearest+1) > second+1 {
		return nil, things
	}
	return &best.at, things
}
