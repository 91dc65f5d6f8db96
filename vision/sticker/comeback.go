package sticker

import (
	"math"
	"slices"

	"ecart/geometry"
)

// comeback is the state of the search for a sticker that is lost. The look is hardly evidence then: where the sticker was hidden, a twin may have been hidden
// too. The place, the next step, and the number of frames in which nothing else comes back must show that a thing is the sticker.
type comeback struct {
	merged         bool    // when the sticker was lost, it was merged with another thing of its ink
	firstStepScale float64 // px^2, the squared scale of the first step of something new
}

// attempt is a sight of a thing that may be the lost sticker.
type attempt struct {
	candidate
	frames float64 // since the last sight of the sticker
	other  float64 // log odds that another candidate is the sticker; +Inf if this one cannot be
	part   float64 // log odds that another candidate is a part of the sticker, or this one a rival
}

// trace appends a sight to the path of a rival while the sticker is lost, unless the rival is certainly another thing.
func (t *track) trace(r *thread, c *candidate, other, part float64) {
	if !r.steady {
		r.path = append(r.path, attempt{*c, t.own.frames, other, part})
	}
}

// comesBack returns the path of the rival, among those traced since the sticker was lost, that is the sticker, from the frame on in which it came back, and the
// rival's index: if the odds for one are clear and far better than for any other. Otherwise it returns nil.
func (t *track) comesBack() (path []attempt, rival int) {
	best, second, from := math.Inf(-1), math.Inf(-1), 0
	rival = -1
	for k := range t.rivals {
		if r := &t.rivals[k]; !r.gone() {
			n, odds := t.oddsBack(r.path)
			if odds > best {
				best, second, rival, from = odds, best, k, n
			} else {
				second = math.Max(second, odds)
			}
		}
	}
	if best < clearLogOdds || best-second < clearLogOdds || t.rivals[rival].frames > 0 {
		return nil, -1
	}
	return t.rivals[rival].path[from:], rival
}

// takeBack ends the loss. The frames count as seen from the start of the path.
func (t *track) takeBack() {
	for n := range t.path {
		at, c := len(t.sights)-len(t.path)+n, &t.path[n].candidate
		t.own.frames = t.path[n].frames
		if n > 0 {
			t.own.frames -= t.path[n-1].frames
			t.sights[at].off = t.own.deviation(c)
		}
		t.see(at, c)
	}
	t.lost, t.comeback.merged = false, false
	t.rivals = slices.Delete(t.rivals, t.rival, t.rival+1)
	for k := range t.rivals {
		t.rivals[k].path = nil
	}
}

// laterPenalty is the decrease in log odds from one frame of a path to the next, as that in which the sticker came back. If only the first frame may be it,
// two in a hundred fewer marks in drawn clips are seen; with 0, 29 marks in one of the attacked clips are wrong.
const laterPenalty = 1.5

// oddsBackAt returns the log odds that a candidate is the sticker, whose state at the last sight is was.
func (t *track) oddsBackAt(was *thread, c *candidate) float64 {
	look, ok := t.own.look.odds(c, was.frames)
	if !ok {
		return math.Inf(-1)
	}
	return t.oddsBackLooking(was, c, look)
}

// oddsBackLooking returns the same for a candidate whose look has these log odds. A thing that was hidden in n-1 frames comes back in the
// next with a probability of about 1 in n (Laplace's rule of succession), while each frame may bring something new of its look.
func (t *track) oddsBackLooking(was *thread, c *candidate, look float64) float64 {
	return was.oddsOfPlace(c, t.picture, t.births()*math.Exp(-look)+t.unseen()) - math.Log(math.Max(was.frames, 1))
}

// unseen returns the expected number of hidden things of the sticker's look that come out in a frame and are not it. They may come out also while the sticker is
// followed, as a ball does from the hand that caught the sticker: near the expected place that weighs little, far off it weighs more than the look.
func (t *track) unseen() float64 {
	if t.anyAthlete {
		return 0
	}
	return t.twinRate.unseen()
}

// twinRate counts the pictures so far that showed more things of the sticker's look, as in its seed's frame, than are followed.
type twinRate struct {
	look     look
	pictures float64
	several  float64
}

// see counts the candidates of a picture in which a number of things of this look are followed. Each of the others counts by its likelihood of being a twin, so that
// many that are only somewhat alike do not count as one. With 0.3 times these counts, 6 of 32,000 marks in clips with pasted stickers were wrong; without
// them, 146.
func (o *twinRate) see(cs []candidate, followed int) {
	var alike []float64
	for k := range cs {
		if odds, ok := o.look.odds(&cs[k], lightFrames); ok {
			alike = append(alike, math.Exp(odds-mostLookOdds))
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

// unseen returns the expected number of hidden things of the sticker's look that come out in a frame: the posterior mean of a rate with a gamma prior. One clip in
// ten is assumed to have any, and then a new one in framesOfOne frames. Each picture with several of them raises the rate, to the prior rate of new things
// at most.
func (o *twinRate) unseen() float64 {
	return math.Min((priorTwins+o.several)/(priorTwins*framesOfOne+o.pictures), 1.0/framesOfOne)
}

// priorTwins is the part of clips that have another thing like the sticker without a seed. With 0.3 two in a hundred fewer marks in drawn clips
// are seen, and with 1 the same; none is wrong with any of these.
const priorTwins = 0.1

// meanSquaredTurn returns the mean squared change of velocity from frame to frame in the first frames of a path, px^2. The first place is left out: of a thing that comes out from
// behind another, only a part is visible at first, with another centre.
func meanSquaredTurn(path []attempt) (sum float64) {
	step := func(n int) geometry.Vec {
		return path[n].at.Sub(path[n-1].at).Scale(1 / (path[n].frames - path[n-1].frames))
	}
	last := min(len(path), confirmed+1)
	for n := 3; n < last; n++ {
		d := step(n).Sub(step(n - 1))
		sum += d.Dot(d) / float64(last-3)
	}
	return sum
}

// before returns the sticker's state at the last sight, in the first frame of a path that it may have come back on, with the scale of the path's turns at least.
func (t *track) before(path []attempt) thread {
	was := t.own
	was.frames, was.scale = path[0].frames, math.Max(was.scale, meanSquaredTurn(path))
	return was
}

// oddsOfStep returns the log likelihood ratio of the first step of a thing that came back: for the sticker, whose state at the last sight is was, against something new of
// unknown motion.
func (t *track) oddsOfStep(was *thread, from, to *attempt) float64 {
	if t.anyAthlete || was.timesSeen == 1 {
		return 0
	}
	step, e := to.at.Sub(from.at).Scale(1/(to.frames-from.frames)), was.expectation()
	first := t.comeback.firstStepScale
	return math.Log(e.stepDensity(from.at, step)) - math.Log(density(first, step.Norm()))
}

// hiddenFor is the number of frames, a third of a second at 30 a second, for which half of the things that were just hidden stay hidden, such as a limb behind
// another or a ball in a hand. Without it, what is beside a sticker that is lost has only to stay there to be taken for it: of 8,500 marks in clips with
// twins pasted in, 412 were wrong with 0, 224 with 10, and 189 with 30, where 4 % fewer are seen. Clips without twins hardly differ.
const hiddenFor = 10

// oddsBack returns the index in a path from which on it is likeliest the sticker, and the log odds that it is. Any frame may be the one in which the sticker
// came back, since only a part of it may be visible at first. For that reason the look counts with the mean of its log odds over the path, where that is more than
// in this frame, and what else may be a part of the sticker counts against the whole path. What looks like the sticker counts against its first frame, since it would
// go on like it. The next frames must look like the sticker: in one of 140 drawn clips, coded anew, ground that fell apart and joined again was taken for it. A path
// whose look speaks against it is not the sticker's: without this rule, where pixels of nearly its colour were kept out of the ground, in one of a
// hundred drawn clips a thing that came by while it was hidden was taken for it; with it, 9 of 6,700 marks are lost. The turns of the path after the gap give the scale
// of the motion in the gap. In k of its frames nothing else came back that may be a part of the sticker: one that was hidden for n frames stays so for k more with a
// probability of n+hiddenFor in n+hiddenFor+k. In a real clip the top of a cone, 14 px from a spot on its foot, was taken for that after 67 frames with the foot in sight.
func (t *track) oddsBack(path []attempt) (from int, odds float64) {
	odds = math.Inf(-1)
	sum := 0.0   // of the log odds of the looks
	alone := 0.0 // number of frames in which nothing else may be a part of the sticker
	run := 0     // frames in a row from this one on that look like the sticker
	for n := len(path) - 1; n >= 0; n-- {
		c, k := &path[n], float64(len(path)-n)
		if c.part < 0 {
			alone++
		}
		look, ok := t.own.look.odds(&c.candidate, c.frames)
		if run++; !ok { // perhaps only a part of it is visible
			run, look = 0, missedLogOdds
		}
		if sum += look; run < min(confirmed, len(path)-n) || n == len(path)-1 || sum < 0 {
			continue
		}
		was := t.before(path[n:])
		if t.oddsBackLooking(&was, &c.candidate, look) < c.other+clearLogOdds {
			continue
		}
		o := t.oddsBackLooking(&was, &c.candidate, math.Max(look, sum/k)) + t.oddsOfStep(&was, c, &path[n+1]) + math.Log(1+alone/(c.frames+hiddenFor))
		if o -= math.Max(c.part, 0) + laterPenalty*float64(n); o > odds {
			from, odds = n, o
		}
	}
	if len(path)-from < confirmed {
		odds = math.Inf(-1)
	}
	return from, odds
}

// against returns for each candidate, while the sticker is lost, two log odds against it. Steady rivals count in neither, since they are certainly other things.
//
//   - whole: that another candidate is the sticker, by place and look. It is +Inf for a candidate that cannot be the sticker or is merged with a rival.
//   - part: that another candidate is the sticker or a part of it, or that this one is a rival that was seen in one frame with the sticker.
func (t *track) against(cs []candidate, o weights, claims []claim) (whole, part []float64) {
	var other []int // candidates that are not certainly other things
	for j := range cs {
		if !slices.ContainsFunc(claims, func(c claim) bool {
			r := &t.rivals[c.rival]
			return c.candidate == j && c.odds > o.veto[j] && r.steady && !r.gone()
		}) {
			other = append(other, j)
		}
	}
	all := t.rivalOdds(claims, -1, len(cs))
	whole, part = make([]float64, len(cs)), make([]float64, len(cs))
	for j := range cs {
		whole[j], part[j] = math.Inf(-1), math.Inf(-1)
		for _, k := range other {
			if k != j {
				whole[j], part[j] = math.Max(whole[j], o.whole[k]), math.Max(part[j], o.veto[k])
			}
		}
		if math.IsInf(o.whole[j], -1) {
			whole[j] = math.Inf(1)
		} else if o.whole[j] > missedLogOdds && t.mergedWithRival(j, &cs[j], claims) {
			whole[j], t.comeback.merged = math.Inf(1), true
		}
		if left := all - t.rivalOdds(claims, j, len(cs)); left > 0 {
			part[j] = math.Max(part[j], missedLogOdds+left)
		}
	}
	return whole, part
}

// mergedFor is the number of frames for which two things may be merged before one of them counts as hidden.
const mergedFor = 3

// mergedWithRival reports whether a candidate seems to be the sticker and a rival in one region: the rival was seen in the last few frames, is found nowhere else, was expected where
// the two would touch, and the candidate's area is more than the sticker's and half of the rival's.
func (t *track) mergedWithRival(pick int, c *candidate, claims []claim) bool {
	own := math.Exp(t.own.look.area.mean)
	for k := range t.rivals {
		r := &t.rivals[k]
		if r.frames < mergedFor+0.5 && c.at.Sub(r.expected()).Norm() < c.radius()+r.radius && c.area > own+math.Pi*r.radius*r.radius/2 &&
			!slices.ContainsFunc(claims, func(o claim) bool { return o.rival == k && o.candidate != pick && o.odds > 0 }) {
			return true
		}
	}
	return false
}
