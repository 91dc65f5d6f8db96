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

// Where a sticker is known by its colour alone, every few frames are looked at until one shows a single thing of
// that colour that stands out.
const (
	lookEvery = 0.1 // s

	// namedSpread is how far a colour may be from the one that was named, in coded levels, one standard deviation:
	// light is seldom white, and cameras make colours stronger.
	namedSpread = 25

	// namedStep thins the picture so that a sticker of 3 px of radius is still seen.
	namedStep = 2

	// mostlyPure is of how many cells of a thing one must be nearly unmixed with grey. A sticker of 3 px of radius has one in three with
	// half a pixel of its rim, whose innermost pixel is mixed: (2 / 3.5)^2.
	mostlyPure = 4

	// clearlyNearer is how many times nearer in colour the one must be than the next, beside one standard deviation.
	clearlyNearer = 1.5
)

var errEnough = errors.New("enough")

// locate gives every seed without a place the place and frame where it is found first.
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
	var thin thinned
	var q pointer
	most := map[int]int{} // the most things of the colour that a frame showed
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
			at, things := q.named(p, &inks[n], thin.blobs(n, leastPixels, math.Inf(1), nil))
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

// namedInk is the ink of a colour that was named.
func namedInk(c Colour) ink {
	code := c.code()
	grey := (code.r + code.g + code.b) / 3
	return newInk(code, vec{grey, grey, grey}, sym{}.plus(sym{}, 0, namedSpread*namedSpread))
}

// named finds the one thing of an ink among its blobs, nil where there is none or are several alike, and says how many there are.
func (q *pointer) named(p Picture, k *ink, blobs []blob) (at *geometry.Point, things int) {
	var best found
	nearest, second := math.Inf(1), math.Inf(1)
	for _, b := range blobs {
		if b.pure < b.cells/mostlyPure { // what only some mixture would make of the colour, such as something dark
			continue
		}
		f, _, ok := q.best(p, image.Pt((b.box.Min.X+b.box.Max.X)/2, (b.box.Min.Y+b.box.Max.Y)/2))
		if !ok || !f.solid() || things > 0 && same(&best.candidate, &f.candidate) {
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
