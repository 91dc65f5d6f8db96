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
	slices.Sort(frames)
	frames = slices.Compact(frames)
	var q pointer
	for len(frames) > 0 {
		last := frames[0] // in one go with the first: what leads up to it is decoded anyway
		for _, i := range frames {
			if j.clip.CleanStart(i) <= last {
				last = i
			}
		}
		err := j.clip.Stream(ctx, frames[0], last, func(n int, p Picture, damaged bool) error {
			if n != frames[0] {
				return nil
			}
			if damaged {
				return j.badFrame(n, "the file is damaged at frame %d, in which %q was pointed at")
			}
			frames = frames[1:]
			j.bounds = p.Bounds()
			return j.findSeedsIn(&q, p, n)
		})
		if err != nil {
			return err
		}
		if len(frames) > 0 && frames[0] <= last {
			return j.badFrame(frames[0], "frame %d, in which %q was pointed at, cannot be decoded")
		}
	}
	return nil
}

// badFrame returns the error for a frame i that has a seed and cannot be used. what is a format for the frame and the seed's name.
func (j *job) badFrame(i int, what string) error {
	k := slices.IndexFunc(j.seeds, func(s Seed) bool { return s.Frame == i })
	name := j.seeds[k].Name
	return &Error{Problem: BadSeed, Seed: name, Frame: i, what: fmt.Sprintf(what, i, name), hint: "point at it in another frame"}
}

// findSeedsIn finds the stickers of the seeds in picture i.
func (j *job) findSeedsIn(q *pointer, p Picture, i int) error {
	for k, s := range j.seeds {
		if s.Frame != i || j.refused[k] != nil {
			continue
		}
		f, err := q.find(p, s.At)
		if err != nil {
			e := *err
			e.Seed, e.Frame = s.Name, i
			e.what = fmt.Sprintf("%q in frame %d: %s", s.Name, i, e.what)
			if s.Colour != nil { // nobody pointed at it
				e.what = fmt.Sprintf("%q: what looks most like %s, in frame %d, is no sticker that can be followed", s.Name, s.Colour, i)
				e.hint = "point at the sticker in one frame instead of giving its colour"
			}
			if err := j.refuse(k, &e); err != nil {
				return err
			}
			continue
		}
		for n, o := range j.seeds[:k] {
			if o.Frame == i && j.refused[n] == nil && same(&j.stickers[n].candidate, &f.candidate) {
				return &Error{Problem: TwoOnOne, Seed: s.Name, Frame: i, what: fmt.Sprintf("%q and %q are on one sticker in frame %d", o.Name, s.Name, i),
					hint: "point at a sticker of its own for each"}
			}
		}
		j.narrowInk(&f, p)
		j.stickers[k] = f
	}
	return nil
}

// rareShare is the largest part of the picture, besides the sticker itself, that a rare colour covers.
const rareShare = 0.01

// narrowInk lowers the limit of a sticker's ink where much besides the sticker has its colour, until the colour is rare or the
// limit as low as the noise allows. A colour that stays common is not refused: other things of that colour are rivals,
// and enter the odds of each frame.
func (j *job) narrowInk(f *found, p Picture) {
	own := f.area / float64(j.bounds.Dx()*j.bounds.Dy())
	for _, limit := range []float64{mostDistance, 2.5, 2, 1.6} {
		f.ink.limit = limit * limit
		s := newScanner([]found{*f})
		s.load(p)
		if s.sampled.share(0)-own < rareShare {
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
	var missing []int
	for k, s := range j.seeds {
		if s.Colour != nil {
			missing = append(missing, k)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	j.seeds = slices.Clone(j.seeds)
	asked := slices.Clone(missing)
	inks := make([]ink, len(asked))
	list := make([]*ink, len(asked))
	for n, k := range asked {
		inks[n] = namedInk(*j.seeds[k].Colour)
		list[n] = &inks[n]
	}
	palette := newPalette(list)
	var thin subsampled
	var q pointer
	most := map[int]int{} // by seed, the largest number of things of its colour in a frame
	next := -1.0
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture, damaged bool) error {
		if damaged {
			return nil
		}
		if t := j.clip.TrueTime(i).Seconds(); t < next {
			return nil
		} else {
			next = t + lookEvery
		}
		thin.load(p, palette, namedStep)
		missing = slices.DeleteFunc(missing, func(k int) bool {
			n := slices.Index(asked, k)
			at, things := q.findNamed(p, &inks[n], thin.blobs(n, leastPixels, math.Inf(1), nil))
			if most[k] = max(most[k], things); things == 0 || at == nil {
				return false
			}
			j.seeds[k].At, j.seeds[k].Frame = *at, i
			return true
		})
		if len(missing) == 0 {
			return errEnough
		}
		return nil
	})
	if err != nil && err != errEnough || len(missing) == 0 {
		if err == errEnough {
			err = nil
		}
		return err
	}
	for _, k := range missing {
		named := fmt.Sprintf("%q (%s)", j.seeds[k].Name, j.seeds[k].Colour)
		e := &Error{Problem: NeverFound, Seed: j.seeds[k].Name, what: "no frame shows one sticker of the colour of " + named,
			hint: "point at it in one frame instead; colours look other in the hall's light than on paper"}
		if n := most[k]; n > 1 {
			e.what = fmt.Sprintf("up to %d things have the colour of %s", n, named)
		}
		if err := j.refuse(k, e); err != nil {
			return err
		}
	}
	return nil
}

// namedInk returns the ink for a colour that was named. Its ground is grey.
func namedInk(c Colour) ink {
	code := c.code()
	grey := (code.r + code.g + code.b) / 3
	return newInk(code, vec{grey, grey, grey}, sym{}.plus(sym{}, 0, namedSpread*namedSpread))
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
