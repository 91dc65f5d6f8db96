package sticker

import (
	"context"
	"fmt"
	"slices"
)

// point finds what the seeds point at, each in its frame.
func (j *job) point(ctx context.Context) error {
	j.of = make([]found, len(j.seeds))
	var frames []int
	for k, s := range j.seeds {
		if j.refused[k] == nil {
			frames = append(frames, s.Frame)
		}
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
		if s.Frame != i || j.refused[k] != nil {
			continue
		}
		f, err := q.at(p, s.At)
		if err == nil && !f.solid() {
			err = f.notSolid()
		}
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
			if o.Frame == i && j.refused[n] == nil && same(&j.of[n].candidate, &f.candidate) {
				return &Error{Problem: TwoOnOne, Seed: s.Name, Frame: i, what: fmt.Sprintf("%q and %q are on one sticker in frame %d", o.Name, s.Name, i),
					hint: "point at a sticker of its own for each"}
			}
		}
		j.narrow(&f, p)
		j.of[k] = f
	}
	return nil
}

// rareShare is the part of the picture, beside the sticker itself, up to which its colour counts as rare.
const rareShare = 0.01

// narrow takes the ink of a sticker more narrowly where more than the sticker has its colour, until that is rare or the
// ink is as narrow as the noise allows. A colour that stays common is not refused: other things that have it are rivals,
// which the odds of each frame weigh.
func (j *job) narrow(f *found, p Picture) {
	own := f.area / float64(j.bounds.Dx()*j.bounds.Dy())
	for _, limit := range []float64{farthest, 2.5, 2, 1.6} {
		f.ink.limit = limit * limit
		s := newScanner([]found{*f})
		s.load(p)
		if s.thin.share(0)-own < rareShare {
			return
		}
	}
}
