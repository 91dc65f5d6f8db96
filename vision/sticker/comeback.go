package sticker

import (
	"math"
	"slices"

	"ecart/geometry"
)

// comeback is how a sticker that was lost is found again. A likeness is no evidence then: where the sticker was hidden, another one like it may have been hidden
// too. What comes back is tried: its place, its next step and the frames in which nothing else comes back must tell that it is the sticker.
type comeback struct {
	joined bool    // when the sticker was lost, it was one with another thing of its ink
	turn   float64 // px^2, the squared scale of the first step of something new
}

// attempt is a place of something that may be the sticker that was lost.
type attempt struct {
	candidate
	frames  float64 // since the sticker was seen last
	against float64 // odds of what else in that frame may be it, or of what else this may be
}

// trace takes in where something is while the sticker is lost, unless it is surely another thing.
func (t *track) trace(r *thread, c *candidate, against float64) {
	if !r.steady {
		r.path = append(r.path, attempt{*c, t.own.frames, against})
	}
}

// comeBack finds the sticker that was lost again among what was traced since, where one thing is likely it and no other nearly as much.
func (t *track) comeBack() {
	best, second, back, from := math.Inf(-1), math.Inf(-1), -1, 0
	for k := range t.rivals {
		if r := &t.rivals[k]; !r.gone() {
			n, odds := t.isBack(r.path)
			if odds > best {
				best, second, back, from = odds, best, k, n
			} else {
				second = math.Max(second, odds)
			}
		}
	}
	if best < clearly || best-second < clearly {
		return
	}
	path := t.rivals[back].path[from:]
	for n := range path {
		s, c := &t.sights[len(t.sights)-len(path)+n], &path[n].candidate
		s.seen, s.unsure, s.back, s.what, s.doubt = true, true, n == 0, *c, t.own.look.missing(c)
		t.own.frames = path[n].frames
		if n > 0 {
			t.own.frames -= path[n-1].frames
		}
		t.own.see(c)
	}
	t.lost, t.unsure, t.back.joined = false, true, false
	t.rivals = slices.Delete(t.rivals, back, back+1)
	for k := range t.rivals {
		t.rivals[k].path = nil
	}
}

// later is how much less likely each frame is to be that in which it came back than the one before, as a logarithm. Without the later ones two
// in a hundred fewer marks in drawn clips are seen; with 0, 29 marks in one of the attacked clips are wrong.
const later = 1.5

// backAs is the logarithm of the odds that a candidate is the sticker, which was seen last as was. What was hidden in n-1 frames comes back in the
// next with a chance of about 1 in n (Laplace's rule of succession), while each frame may bring something new that looks like it.
func (t *track) backAs(was *thread, c *candidate) float64 {
	hidden := math.Log(math.Max(was.frames, 1))
	if t.again {
		return was.odds(c, t.picture, t.births()) - hidden
	}
	return was.returns(c, t.picture, t.births(), t.company.unseen()) - hidden
}

// company is how often the pictures so far showed more things that look like the sticker, as it was pointed at, than are followed.
type company struct {
	look     look
	pictures float64
	several  float64
}

// see takes in the candidates of a picture in which so many things of this look are followed. Of the others each counts by how likely it is to be a twin, so that
// many that are only somewhat alike do not count as one. Where they counted 0.3 times as much, 6 of 32,000 marks in clips with pasted stickers were wrong; where they
// did not count, 146.
func (o *company) see(cs []candidate, followed int) {
	var alike []float64
	for k := range cs {
		if odds, ok := o.look.odds(&cs[k], lightApart); ok {
			alike = append(alike, math.Exp(odds-mostLook))
		}
	}
	slices.Sort(alike)
	sum := 0.0
	for _, a := range alike[:max(len(alike)-followed, 0)] {
		sum += a
	}
	o.pictures++
	o.several += math.Min(sum, 1)
}

// unseen is how many things like the sticker a frame is taken to bring out that were hidden. One clip in ten is taken to have any, and then a new one in
// framesOfOne frames: the mean of that rate (a gamma distribution), each picture with several of them telling that there are. Where there are
// many it is no more than that of new things where nothing is known.
func (o *company) unseen() float64 {
	return math.Min((twins+o.several)/(twins*framesOfOne+o.pictures), 1.0/framesOfOne)
}

// twins is the part of clips that have another thing like the sticker which nobody pointed at. With 0.3 two in a hundred fewer marks in drawn clips
// are seen, and with 1 no more fewer; none is wrong with any.
const twins = 0.1

// returns is the logarithm of how much likelier a frame shows the thread, which was not seen in the frame before, than something new: of
// any look, or just like it.
func (t *thread) returns(c *candidate, picture, births, unseen float64) float64 {
	look, ok := t.look.odds(c, t.frames)
	if !ok {
		return math.Inf(-1)
	}
	return t.place(c, picture, births*math.Exp(-look)+unseen)
}

// turns is the squared scale of what each frame added to the velocity in the first frames of what came back, px^2. The first place has no part in it: what comes out from
// behind something has its centre elsewhere.
func turns(of []attempt) (sum float64) {
	step := func(n int) geometry.Vec { return of[n].at.Sub(of[n-1].at).Scale(1 / (of[n].frames - of[n-1].frames)) }
	last := min(len(of), confirmed+1)
	for n := 3; n < last; n++ {
		d := step(n).Sub(step(n - 1))
		sum += d.Dot(d) / float64(last-3)
	}
	return sum
}

// movesOn is the logarithm of how much likelier the first step of what came back is if it is the sticker, seen last as was, than if it is something new, of
// whose motion nothing is known. Where what every frame adds to a velocity is even, the velocity at the end of a gap of n frames is, with the place there,
//
//	v + 3/2 (mean velocity of the gap - v), and its variance 3/4 n times that of a frame.
//
// The place has told how much was added: Student's t is of both together, and this is the conditional one of the step.
func (t *track) movesOn(was *thread, from, to *attempt) float64 {
	if t.again || was.sights == 1 {
		return 0
	}
	step := to.at.Sub(from.at).Scale(1 / (to.frames - from.frames))
	mean := from.at.Sub(was.at).Scale(1 / was.frames)
	v := geometry.Vec{X: 1.5*mean.X - 0.5*was.v.X, Y: 1.5*mean.Y - 0.5*was.v.Y}
	off, e := from.at.Sub(was.expected()), v.Sub(step)
	gap, s := 1+off.Dot(off)/was.spread(), was.scale*(0.75*was.frames+1)
	return math.Log(2/s) + 2*math.Log(gap) - 3*math.Log(gap+e.Dot(e)/s) + math.Log(t.back.turn) + 2*math.Log(1+step.Dot(step)/t.back.turn)
}

// isBack returns from which place of a path on it is likeliest the sticker that came back, and the logarithm of the odds that it is. Each frame may be the one in which it
// came back: what comes out from behind something has its centre elsewhere at first. How it moves after the gap tells how it may have moved in it. In all its frames
// nothing else came back: if the sticker were still hidden, after n frames, it would be so for k more with a chance of n in n+k.
func (t *track) isBack(path []attempt) (from int, odds float64) {
	odds = math.Inf(-1)
	for n := range len(path) - 1 {
		was := t.own
		was.frames = path[n].frames
		was.scale = math.Max(was.scale, turns(path[n:]))
		o := t.backAs(&was, &path[n].candidate)
		if o < path[n].against+clearly {
			continue
		}
		if o += t.movesOn(&was, &path[n], &path[n+1]) - later*float64(n); o >= odds {
			from, odds = n, o
		}
	}
	k := float64(len(path) - from)
	if k < confirmed {
		return from, math.Inf(-1)
	}
	return from, odds + math.Log(1+k/path[from].frames)
}

// against is for each candidate what speaks against it where the sticker is lost: the odds of what else may be it, but for what is known to be another
// thing, one that was seen in every frame since it was seen beside the sticker; and the odds of what was seen beside the sticker and may be the candidate.
func (t *track) against(cs []candidate, o weights, claims []claim) []float64 {
	out := make([]float64, len(cs))
	first, best, second := -1, math.Inf(-1), math.Inf(-1)
	for j, odds := range o.veto {
		if slices.ContainsFunc(claims, func(c claim) bool {
			r := &t.rivals[c.rival]
			return c.candidate == j && c.odds > odds && r.steady && !r.gone()
		}) {
			continue
		}
		if odds > best {
			first, best, second = j, odds, best
		} else {
			second = math.Max(second, odds)
		}
	}
	all := t.rest(claims, -1, len(cs))
	for j := range out {
		if out[j] = best; j == first {
			out[j] = second
		}
		if math.IsInf(o.whole[j], -1) {
			out[j] = math.Inf(1)
		} else if o.whole[j] > absent && t.joined(j, &cs[j], claims) {
			out[j], t.back.joined = math.Inf(1), true
		} else if left := all - t.rest(claims, j, len(cs)); left > 0 {
			out[j] = math.Max(out[j], absent+left)
		}
	}
	return out
}

// joinedFor is how many frames two things may be one before one of them counts as hidden.
const joinedFor = 3

// joined reports whether a candidate seems to be the sticker and a rival in one: the rival was seen of late, is found nowhere else, was expected where it would
// touch, and the candidate is larger than the sticker, by half of the rival or more.
func (t *track) joined(pick int, c *candidate, claims []claim) bool {
	own := math.Exp(t.own.look.area.mean)
	for k := range t.rivals {
		r := &t.rivals[k]
		if r.frames < joinedFor+0.5 && c.at.Sub(r.expected()).Norm() < c.radius()+r.radius && c.area > own+math.Pi*r.radius*r.radius/2 &&
			!slices.ContainsFunc(claims, func(o claim) bool { return o.rival == k && o.candidate != pick && o.odds > 0 }) {
			return true
		}
	}
	return false
}
