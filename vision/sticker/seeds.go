package sticker

import (
	"fmt"
	"math"
)

// rehearsed is how many frames after the seeds are looked at before the following begins: by
// going to them and back, the motion, the shutter and the encoder's ways are known from the start.
const rehearsed = 12

// findAt finds the seeds ks in the first of the pictures, and learns from the others.
func (j *job) findAt(pictures []numbered, ks []int) error {
	i := pictures[0].i
	j.bounds = pictures[0].p.Bounds()
	var s seeker
	for n, k := range ks {
		seed := &j.seeds[k]
		r, err := s.pointed(pictures[0].p, seed.At)
		if err != nil {
			e := *err
			e.Seed, e.Frame = seed.Name, i
			e.what = fmt.Sprintf("%q in frame %d: %s", seed.Name, i, e.what)
			return &e
		}
		for _, o := range ks[:n] {
			if j.begin[o].at.Sub(r.at).Norm() < math.Max(r.radius(), j.begin[o].radius()) {
				return &Error{Problem: TwoOnOne, Seed: seed.Name, Frame: i, what: fmt.Sprintf("%q and %q are on one sticker in frame %d", j.seeds[o].Name, seed.Name, i),
					hint: "point at a sticker of its own for each"}
			}
		}
		l, _ := newLook(&r)
		j.begin[k] = beginning{result: r, look: l, code: newCoding(&r)}
	}
	if err := j.common(pictures[0].p, i, ks); err != nil {
		return err
	}
	j.rehearse(pictures, ks)
	return nil
}

// A colour is no help where much of the picture has it, or many things of the sticker's size.
const (
	commonShare = 0.3
	commonSpots = 8
)

// common refuses a colour that half the hall wears.
func (j *job) common(p Picture, i int, ks []int) error {
	f := newFollower(nil, shutter{}, [2]float32{})
	for _, k := range ks {
		b := &j.begin[k]
		r := b.radius()
		f.overview(p, r)
		f.wholeMap.fill(&f.whole, &b.look.target)
		n := 0
		for _, s := range f.wholeMap.score {
			if s > 0 {
				n++
			}
		}
		share := float64(n) / float64(len(f.wholeMap.score))
		others := 0
		f.spots = f.wholeMap.spots(r/float64(f.reduced), 4*commonSpots, f.spots)
		t := newTracked("", b, 1)
		for _, s := range append([]spot(nil), f.spots...) {
			if c, ok := t.quick(p, f.shutter, f.full(s.at), float64(f.reduced), nil); ok && c.unlike < sure {
				others++
			}
		}
		if share > commonShare || others > commonSpots {
			what := fmt.Sprintf("%.0f %% of the picture", 100*share)
			if share <= commonShare {
				what = fmt.Sprintf("%d other things of its size", others-1)
			}
			return &Error{Problem: CommonColour, Seed: j.seeds[k].Name, Frame: i,
				what: fmt.Sprintf("the colour of %q, %s, is that of %s in frame %d", j.seeds[k].Name, shown(b.inside), what, i),
				hint: "use a sticker of a colour that nothing else in the hall has"}
		}
	}
	return nil
}

// rehearse goes through the pictures and back to the first one.
func (j *job) rehearse(pictures []numbered, ks []int) {
	if len(pictures) < 3 {
		if j.shutter.open == 0 {
			j.shutter = usualShutter(j.interval(0, 1))
		}
		return
	}
	if j.shutter.open == 0 {
		j.shutter = usualShutter(j.interval(pictures[0].i, pictures[1].i))
	}
	var s siting
	walk := func(f *follower, from, to, step int) [][]Mark {
		marks := make([][]Mark, len(pictures))
		for n := from; n != to+step; n += step {
			dt := 0.0
			if n != from {
				dt = j.interval(pictures[n].i, pictures[n-step].i)
			}
			for _, t := range f.stickers {
				t.starts = n == from
			}
			marks[n] = f.step(pictures[n].p, dt)
			if step > 0 {
				s.see(pictures[n].p, f)
			}
		}
		return marks
	}
	there := newFollower(nil, j.shutter, j.shift)
	for _, k := range ks {
		there.add(newTracked(j.seeds[k].Name, &j.begin[k], 1))
	}
	walk(there, 0, len(pictures)-1, 1)
	if j.shift == [2]float32{} {
		s.edges.see(pictures[0].p)
		j.shift, j.unsure = s.shift()
	}

	back := newFollower(nil, there.shutter, j.shift)
	var from []int
	for n, k := range ks {
		t := there.stickers[n]
		if t.state != Seen {
			continue
		}
		v := t.motion.velocity()
		b := beginning{result: t.taken, look: t.look, code: t.code, speed: v, push: t.motion.push}
		back.add(newTracked(j.seeds[k].Name, &b, -1))
		from = append(from, k)
	}
	marks := walk(back, len(pictures)-1, 0, -1)
	j.shutter = back.shutter
	for n, k := range from {
		t, b := back.stickers[n], &j.begin[k]
		if marks[0][n].Seen != Seen || t.taken.at.Sub(b.at).Norm() > b.radius() {
			continue
		}
		b.result, b.look, b.code = t.taken, t.look, t.code
		b.look.first = b.look.hue
		b.speed, b.push = t.motion.velocity().Scale(-1), t.motion.push
	}
}
