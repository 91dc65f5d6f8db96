package sticker

import (
	"cmp"
	"math"
	"slices"

	"ecart/geometry"
)

// track follows one sticker through the clip in one direction of time, and its rivals: other things of its ink.
type track struct {
	own      thread
	rivals   []thread
	born     float64 // number of things of its look that appeared since the first frame (likeness)
	watched  float64 // number of frames since then
	picture  float64 // area of the picture, px^2
	twinRate *twinRate

	lost       bool
	comeback   comeback
	anyAthlete bool // Seed.Again: another one of its look counts as it while it is lost
	jumped     int  // index of the sight at which the last jump began, 0 for none
	run        int  // number of frames in a row next to the seed's in which it was found
	sights     []sight
	sticker    int    // its index
	backwards  bool   // it is followed back in time
	fromSeed   *track // the same without the run next to the seed's frame, while that run may be too short; otherwise nil

	// the frame that is looked at now
	candidates []candidate
	weights    weights
	claims     []claim
	pick       int       // index of the candidate that seems to be the sticker, -1 for none
	path       []attempt // what the sticker came back as, if it is lost and did
	rival      int       // index of the rival with this path
}

// sight is what a frame shows of the sticker.
type sight struct {
	i     int
	seen  bool
	first bool // it is in the run of frames that contains the seed's
	what  candidate
	doubt float64 // px, look.centreSD
	off   float64 // squared deviation from the expected place, in squared scales of the motion (thread.deviation)

	expected expectation // where it is not seen
}

// expectation is the prediction for a thread that is not seen.
type expectation struct {
	at     geometry.Point // predicted place
	last   geometry.Point // place of the last sight
	spread float64        // px^2
	radius float64
	frames float64 // since the last sight
}

func (t *thread) expectation() expectation {
	return expectation{t.expected(), t.at, t.spread(), t.radius, t.frames}
}

// stepDensity returns the density of the next step of a sticker that came back at a place, frame^2/px^2. If its velocity v has a random change of the same variance in
// every frame, then given the place after a gap of n frames, the velocity there has
//
//	the mean  v + 3/2 (mean velocity of the gap - v),  and a variance of 3/4 n times that of a frame.
//
// The deviation of the place also tells the scale: Student's t holds for place and step together, and this is the conditional density of the step.
func (e *expectation) stepDensity(at geometry.Point, step geometry.Vec) float64 {
	v, mean := e.at.Sub(e.last).Scale(1/e.frames), at.Sub(e.last).Scale(1/e.frames)
	off, d := at.Sub(e.at), geometry.Vec{X: 1.5*mean.X - 0.5*v.X - step.X, Y: 1.5*mean.Y - 0.5*v.Y - step.Y}
	s := e.spread / (e.frames * e.frames * e.frames) * (0.75*e.frames + 1)
	gap := 1 + off.Dot(off)/e.spread
	return 2 * gap * gap / (math.Pi * s * math.Pow(gap+d.Dot(d)/s, 3))
}

const (
	// clearLogOdds is the logarithm of the odds, 20 to 1, by which a candidate must be the sticker rather than anything else, and
	// the best assignment of candidates better than the next best.
	clearLogOdds = 3.0

	// missedLogOdds is the logarithm of the probability that a sticker or a rival is not found in a frame: one in twenty.
	missedLogOdds = -3.0

	// framesOfOne is the prior for the rate of new things of the sticker's look: one in so many frames.
	// From 2 to 10, drawn clips have no wrong mark, and the marks seen differ by a percent; with 20, four of 4,800 marks are wrong.
	framesOfOne = 5

	// confirmed is the number of frames that a thing must be followed before it can be the sticker that was lost: four places in a row
	// have a third difference, which shows whether one of them jumps (localVariance). With three, about one mark of 3,000 in drawn clips
	// was on the rim of what had hidden the sticker; four lose 0.6 % of the marks. The run of frames next to the seed's must be as
	// long, both directions together: the motion is not known there yet, so that another thing may be taken for the sticker.
	confirmed = 4
)

// newTrack starts a track with the candidate c that is the sticker in frame i; cs are all candidates of that frame.
func newTrack(c *candidate, i int, cs []candidate, picture float64) *track {
	t := &track{own: newThread(c), picture: picture, twinRate: &twinRate{look: newLook(c)}}
	t.comeback.firstStepScale = t.own.scale
	t.candidates = []candidate{*c}
	t.sights = append(t.sights, sight{i: i, seen: true, first: true, what: *c, doubt: t.own.look.centreSD(c)})
	for k := range cs {
		if !same(&cs[k], c) && len(t.rivals) < mostRivals {
			r := newThread(&cs[k])
			r.proven = true
			t.rivals = append(t.rivals, r)
			t.born += t.likeness(&cs[k]) * framesOfOne / rivalsLast // the rate that they stand for, over the time for which rivals are remembered
		}
	}
	return t
}

// likeness returns the weight of a candidate in the number of new things: the likelihood ratio of its look, for the sticker against something
// that may pass for it. It is 1 on average for random looks, and about 100 for a twin of the sticker, so that among twins the look
// is no evidence.
func (t *track) likeness(c *candidate) float64 {
	look, ok := t.own.look.odds(c, t.own.frames)
	if !ok {
		return 0
	}
	return math.Exp(look)
}

// births returns the expected number of new things in a frame, weighted by likeness: the posterior mean of a rate whose gamma prior is one
// event in framesOfOne frames, given the last rivalsLast frames.
func (t *track) births() float64 { return (1 + t.born) / (framesOfOne + t.watched) }

// same reports whether two candidates are one thing: their centres are less than the larger radius apart.
func same(a, b *candidate) bool {
	return a.at.Sub(b.at).Norm() < math.Max(a.radius(), b.radius())
}

// find advances the track to a frame with the candidates cs, and chooses the one that seems to be the sticker. frames is the time since the last frame, in mean
// frame times.
func (t *track) find(cs []candidate, frames float64) {
	t.own.frames += frames
	for k := range t.rivals {
		t.rivals[k].frames += frames
	}
	t.candidates, t.weights, t.claims = cs, t.weigh(cs), t.findClaims(cs)
	if t.pick = t.choose(t.weights, t.claims); t.pick >= 0 && t.mergedWithRival(t.pick, &cs[t.pick], t.claims) {
		t.pick, t.comeback.merged = -1, true
	}
}

// jumps reports whether sight number n, with this squared deviation, is far from the expected place, and no jump was noted just before.
func (t *track) jumps(off float64, n int) bool { return off > jumpDeviation && n-t.jumped >= confirmed }

// take adds the sight of frame i: that of the chosen candidate, unless the sticker is lost. lose says that it is lost from this frame on.
func (t *track) take(i int, lose bool) {
	cs, pick := t.candidates, t.pick // while it is lost, later frames must confirm the choice
	if t.lost || lose {
		pick = -1
	}
	n := len(t.sights)
	if pick >= 0 && n == 1+t.run {
		if t.run++; t.run >= confirmed {
			t.fromSeed = nil
		}
	}
	t.sights = append(t.sights, sight{i: i, first: n == t.run})
	if pick < 0 {
		t.jumpedAway(n - 1)
		t.lost = true
		t.sights[n].expected = t.own.expectation()
	} else {
		t.sights[n].off = t.own.deviation(&cs[pick])
		t.see(n, &cs[pick])
	}
	t.followRivals(pick)
}

// see makes sight number n, whose deviation is known, one of the sticker, with the candidate c.
func (t *track) see(n int, c *candidate) {
	s := &t.sights[n]
	s.seen, s.what, s.doubt = true, *c, t.own.look.centreSD(c)
	if t.jumps(s.off, n) {
		t.jumped = n
	}
	t.own.see(c)
}

// jumpDeviation is the squared deviation from the expected place, in squared scales of the motion, from which on a step is a jump: one step in ten is.
// With 25 two of 4,500 marks in drawn clips are wrong, with 9 none is and as many are seen. lastDeviation is that of the last sight before a loss, which may be on what
// hides the sticker: one step in four is off by more. Without it one of 14,500 marks is wrong, with it two in a thousand fewer are seen.
const (
	jumpDeviation = 9
	lastDeviation = 3
)

// jumpedAway marks the sights since a jump, up to the last one, as not seen if they are fewer than confirmed: they may be another thing's. So it does with the last one if it was far off.
func (t *track) jumpedAway(last int) {
	switch {
	case t.lost:
	case t.jumped > 0 && last-t.jumped < confirmed-1:
		for n := t.jumped; n <= last; n++ {
			t.sights[n].seen = false
		}
	case t.sights[last].off > lastDeviation:
		t.sights[last].seen = false
	}
}

// weights are the log odds of each candidate in a frame.
type weights struct {
	whole []float64 // for the whole sticker, by place and look
	could []float64 // for the sticker or a part of it: whole, or by place alone if that is larger
	veto  []float64 // the same, with a part as rare as a sticker that is not found
}

// weigh returns the weights of the candidates of a frame.
func (t *track) weigh(cs []candidate) weights {
	o := weights{make([]float64, len(cs)), make([]float64, len(cs)), make([]float64, len(cs))}
	hidden := math.Log(math.Max(t.own.frames, 1))
	for j := range cs {
		c := &cs[j]
		place := t.own.oddsOfPlace(c, t.picture, t.births()) - hidden
		whole, part := math.Inf(-1), place+missedLogOdds
		switch {
		case !c.solid():
		case t.lost:
			whole = t.oddsBackAt(&t.own, c)
		default:
			whole = t.own.odds(c, t.picture, t.births(), t.unseen())
		}
		if t.comeback.merged && t.lost { // perhaps only a part of it is visible
			part = place
		}
		o.could[j] = math.Max(whole, place)
		o.whole[j], o.veto[j] = whole, math.Max(whole, part)
	}
	return o
}

// claim is the log odds that a candidate is a rival.
type claim struct {
	rival, candidate int
	odds             float64
}

// findClaims lists the pairs of rivals and candidates that may be one thing, the likeliest first. The odds of a rival compare the look with other things
// within the rival's own range; here all are compared within the sticker's.
func (t *track) findClaims(cs []candidate) (out []claim) {
	births, unseen := t.births(), t.unseen()
	for j := range cs {
		own := t.own.look.logRange(&cs[j], t.own.frames)
		for k := range t.rivals {
			r := &t.rivals[k]
			o := r.odds(&cs[j], t.picture, births, unseen)
			if math.IsInf(o, -1) {
				continue
			}
			if o += own - r.look.logRange(&cs[j], r.frames); o > missedLogOdds {
				out = append(out, claim{k, j, o})
			}
		}
	}
	slices.SortFunc(out, func(a, b claim) int {
		return cmp.Or(cmp.Compare(b.odds, a.odds), cmp.Compare(a.rival, b.rival), cmp.Compare(a.candidate, b.candidate))
	})
	return out
}

// choose returns the index of the candidate that is the sticker, -1 if there is none or it is not clear which. It compares assignments: the odds of
// each candidate together with those of the rivals for the remaining ones. A thing at the expected place that does not look like the sticker may be
// a part of it, and then nothing farther off is taken.
func (t *track) choose(o weights, claims []claim) (pick int) {
	best, second := missedLogOdds+t.rivalOdds(claims, -1, len(o.veto)), math.Inf(-1)
	pick = -1
	for j, odds := range o.veto {
		if odds < missedLogOdds {
			continue
		}
		switch sum := odds + t.rivalOdds(claims, j, len(o.veto)); {
		case sum > best:
			best, second, pick = sum, best, j
		case sum > second:
			second = sum
		}
	}
	least := clearLogOdds
	if t.lost {
		least = 0
	}
	if pick < 0 || o.whole[pick] < least || best-second < clearLogOdds {
		return -1
	}
	return pick
}

// rivalOdds returns the log odds of the best claims of all proven rivals, relative to none being found, with the candidate of index without
// left out. Claims are assigned greedily, the likeliest first.
func (t *track) rivalOdds(claims []claim, without, candidates int) (sum float64) {
	gone, claimed := make([]bool, len(t.rivals)), make([]bool, candidates)
	for _, c := range claims {
		if c.candidate == without || !t.rivals[c.rival].proven || gone[c.rival] || claimed[c.candidate] {
			continue
		}
		gone[c.rival], claimed[c.candidate] = true, true
		sum += c.odds - missedLogOdds
	}
	return sum
}

// mostRivals limits the rivals of a sticker. rivalsLast is the number of frames after which a rival that is not seen is dropped; a rival that
// was seen in fewer frames than confirmed is dropped after as many.
const (
	mostRivals = 2 * mostCandidates
	rivalsLast = 60 // a second at 60 frames a second; with 30 and 120 no other mark is wrong, and the marks seen differ by half a percent
)

// followRivals updates the rivals; pick is the index of the candidate that is the sticker. A proven rival does not take one that may as well be the sticker or a part of it.
func (t *track) followRivals(pick int) {
	cs, o, claims := t.candidates, t.weights, t.claims
	claimed, gone := make([]bool, len(cs)), make([]bool, len(t.rivals))
	sure := pick >= 0
	var whole, part []float64
	if sure {
		claimed[pick] = true
	} else {
		whole, part = t.against(cs, o, claims)
	}
	for _, c := range claims {
		r := &t.rivals[c.rival]
		if claimed[c.candidate] || gone[c.rival] || c.odds < 0 || r.proven && (c.candidate == t.pick || t.pick < 0 && c.odds < o.could[c.candidate]+clearLogOdds) {
			continue
		}
		claimed[c.candidate], gone[c.rival] = true, true
		r.steady = r.steady && !r.gone() || sure
		r.proven = r.proven || sure
		if r.gone() {
			r.path = nil
		}
		r.see(&cs[c.candidate])
		if !sure {
			t.trace(r, &cs[c.candidate], whole[c.candidate], part[c.candidate])
		}
	}
	// while the sticker is lost, rivals are kept: one of them may come back in its place
	t.rivals = slices.DeleteFunc(t.rivals, func(r thread) bool {
		return sure && r.frames > rivalsLast || r.timesSeen < confirmed && r.frames > float64(r.timesSeen)+0.5
	})
	most := 0.0
	for j := range cs {
		if claimed[j] {
			continue
		}
		likeness := t.likeness(&cs[j])
		t.born, most = t.born+likeness, math.Max(most, likeness)
		if len(t.rivals) < mostRivals {
			r := newThread(&cs[j])
			r.proven = sure
			r.steady = r.proven
			if !sure {
				t.trace(&r, &cs[j], whole[j], part[j])
			}
			t.rivals = append(t.rivals, r)
		}
	}
	if !sure { // one of them may be the sticker
		t.born -= most
	}
	if t.watched++; t.watched > rivalsLast {
		t.born *= rivalsLast / t.watched
		t.watched = rivalsLast
	}
}
