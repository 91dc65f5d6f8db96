package sticker

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"ecart/geometry"
)

// Where a sticker is known by its colour alone, it is looked for all over every few frames, until
// one thing of that colour has the form of a sticker.
const (
	lookEvery   = 0.1  // s
	nominalHue  = 0.05 // how far a sticker's chromaticity may be from the colour that was named: light is seldom white
	leastNamed  = 3.0  // px, radius
	clearlyMore = 1.5  // times nearer in colour than the next
)

// locate gives every seed without a place the place and frame where it is found first.
func (j *job) locate(ctx context.Context) error {
	missing := map[int]bool{}
	for k, s := range j.seeds {
		if s.Colour != nil {
			missing[k] = true
		}
	}
	if len(missing) == 0 {
		return nil
	}
	j.seeds = append([]Seed(nil), j.seeds...)
	f := newFollower(nil, shutter{}, [2]float32{})
	seen := map[int]int{} // the most things of the colour that a frame showed
	next := -1.0
	err := j.clip.Stream(ctx, 0, j.clip.Frames()-1, func(i int, p Picture) error {
		at := j.clip.TrueTime(i).Seconds()
		if at < next {
			return nil
		}
		next = at + lookEvery
		f.overview(p, 2.5*leastNamed)
		for k := range missing {
			things := f.ofColour(p, *j.seeds[k].Colour)
			seen[k] = max(seen[k], len(things))
			if len(things) == 0 || len(things) > 1 && things[0].unlike*clearlyMore > things[1].unlike {
				continue
			}
			j.seeds[k].At, j.seeds[k].Frame = things[0].at, i
			delete(missing, k)
		}
		if len(missing) == 0 {
			return errEnough
		}
		return nil
	})
	if err != nil && err != errEnough {
		return err
	}
	if len(missing) == 0 {
		return nil
	}
	var names []string
	first := len(j.seeds)
	for k := range missing {
		names = append(names, fmt.Sprintf("%q (%s)", j.seeds[k].Name, j.seeds[k].Colour))
		first = min(first, k)
	}
	sort.Strings(names)
	e := &Error{Problem: NeverFound, Seed: j.seeds[first].Name, what: fmt.Sprintf("no frame shows one sticker of the colour of %s", strings.Join(names, ", ")),
		hint: "point at it in one frame instead; colours look other in the hall's light than on paper"}
	if seen[first] > 1 {
		e.what = fmt.Sprintf("up to %d things have the colour of %s", seen[first], strings.Join(names, ", "))
		e.hint = "point at the sticker in one frame instead"
	}
	return e
}

// ofColour lists the things in the picture that have the form of a sticker and about the colour,
// the nearest in colour first.
func (f *follower) ofColour(p Picture, c Colour) []candidate {
	t := target{hue: hueOfLight(c.light()), near: nominalHue / 3, bright: 0.8}
	f.wholeMap.fill(&f.whole, &t)
	most := largest * float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	var out []candidate
	for radius := leastNamed; radius < most; radius *= 1.5 {
		f.spots = f.wholeMap.spots(radius/float64(f.reduced), 8, f.spots)
		for _, s := range append([]spot(nil), f.spots...) {
			r, ok := f.best(p, f.full(s.at), most)
			if !ok || r.radius() < leastNamed || known(out, r.at, r.radius()) {
				continue
			}
			l, ok := newLook(&r)
			if d := l.from(t.hue); ok && d < nominalHue {
				out = append(out, candidate{result: r, unlike: math.Max(d, 0.004)})
			}
		}
	}
	sort.Slice(out, func(a, b int) bool { return out[a].unlike < out[b].unlike })
	return out
}

func known(list []candidate, at geometry.Point, r float64) bool {
	for _, c := range list {
		if c.at.Sub(at).Norm() < r {
			return true
		}
	}
	return false
}
