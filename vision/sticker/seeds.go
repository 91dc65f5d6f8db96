package sticker

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// point finds what the seeds point at, each in its frame.
func (j *job) point(ctx context.Context) error {
	j.of = make([]found, len(j.seeds))
	var frames []int
	for _, s := range j.seeds {
		frames = append(frames, s.Frame)
	}
	slices.Sort(frames)
	j.last = frames[len(frames)-1]
	var q pointer
	for _, i := range slices.Compact(frames) {
		there := false
		err := j.clip.Stream(ctx, i, i, func(n int, p Picture, damaged bool) error {
			there = n == i
			if !there {
				return nil
			}
			if damaged {
				return j.badFrame(i, "the file is damaged at frame %d, in which %q was pointed at")
			}
			j.bounds = p.Bounds()
			return j.pointIn(&q, p, i)
		})
		if err != nil {
			return err
		}
		if !there {
			return j.badFrame(i, "frame %d, in which %q was pointed at, cannot be decoded")
		}
	}
	return nil
}

// badFrame refuses frame i, in which at least one seed is. what is a format for the frame and the seed's name.
func (j *job) badFrame(i int, what string) error {
	k := slices.IndexFunc(j.seeds, func(s Seed) bool { return s.Frame == i })
	name := j.seeds[k].Name
	return &Error{Problem: BadSeed, Seed: name, Frame: i, what: fmt.Sprintf(what, i, name), hint: "point at it in another frame"}
}

func (j *job) pointIn(q *pointer, p Picture, i int) error {
	for k, s := range j.seeds {
		if s.Frame != i {
			continue
		}
		f, err := q.at(p, s.At)
		if err != nil {
			e := *err
			e.Seed, e.Frame = s.Name, i
			e.what = fmt.Sprintf("%q in frame %d: %s", s.Name, i, e.what)
			if s.Colour != nil { // nobody pointed at it
				e.what = fmt.Sprintf("%q: what looks most like %s, in frame %d, is no sticker that can be followed", s.Name, s.Colour, i)
				e.hint = "point at the sticker in one frame instead of giving its colour"
			}
			return &e
		}
		for n, o := range j.seeds[:k] {
			if o.Frame == i && same(&j.of[n].candidate, &f.candidate) {
				return &Error{Problem: TwoOnOne, Seed: s.Name, Frame: i, what: fmt.Sprintf("%q and %q are on one sticker in frame %d", o.Name, s.Name, i),
					hint: "point at a sticker of its own for each"}
			}
		}
		if err := j.common(&f, p, k); err != nil {
			return err
		}
		j.of[k] = f
	}
	return nil
}

// A colour is no help where much of the picture has it, or many things of the sticker's size; it is taken as widely as
// leaves it rare.
const (
	commonShare  = 0.3
	rareShare    = 0.01
	commonThings = 250
)

// common refuses a colour that half the hall wears. Where more than the sticker has it, it is taken more narrowly.
func (j *job) common(f *found, p Picture, k int) error {
	widest, share := 0.0, 0.0
	for _, limit := range []float64{farthest, 2.5, 2, 1.6} {
		f.ink.limit = limit * limit
		s := newScanner([]found{*f})
		s.load(p)
		share = s.thin.share(0) - f.area/float64(j.bounds.Dx()*j.bounds.Dy())
		if widest = math.Max(widest, share); share < rareShare {
			break
		}
	}
	s := newScanner([]found{*f})
	l := newLook(&f.candidate)
	things := -1
	for _, c := range s.scan(p)[0] {
		if _, ok := l.odds(&c, 1); ok {
			things++
		}
	}
	if widest > commonShare || things > commonThings {
		what := fmt.Sprintf("%.0f %% of the picture", 100*widest)
		if widest <= commonShare {
			what = fmt.Sprintf("%d other things of its size", things)
		}
		c := f.colour
		return &Error{Problem: CommonColour, Seed: j.seeds[k].Name, Frame: j.seeds[k].Frame,
			what: fmt.Sprintf("the colour of %q, %s, is that of %s in frame %d", j.seeds[k].Name, rounded(c), what, j.seeds[k].Frame),
			hint: "use a sticker of a colour that nothing else in the hall has"}
	}
	return nil
}
