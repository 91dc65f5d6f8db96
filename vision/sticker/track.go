package sticker

import (
	"cmp"
	"math"
	"slices"

	"ecart/geometry"
)

// track is one sticker on its way through the clip, in one direction of time, and what else there is of its ink.
type track struct {
	own     thread
	rivals  []thread
	born    float64 // things of its look that came in since the first frame
	watched float64 // frames since then
	picture float64 // px^2
	company *company

	lost   bool
	back   comeback
	again  bool // another one like it counts as it while it is lost
	jumped int  // the last sight in which it was not where it was expected, and the first of such
	unsure bool // it was lost and found again
	run    int  // frames in a row in which it was found, next to the seed's
	sights []sight
}

// sight is what a frame shows of the sticker.
type sight struct {
	i      int
	seen   bool
	unsure bool // its look alone tells which sticker it is: another one of that look would do as well
	back   bool // it was lost in the frame before
	first  bool // it is in the run of frames in a row that has the seed's
	what   candidate
	doubt  float64 // px, from what is missing of it

	expected expectation // where it is not seen
}

// expectation is what is expected of a thread that is not seen.
type expectation struct {
	at     geometry.Point
	last   geometry.Point // where it was seen last
	spread float64        // px^2
	radius float64
	frames float64 // since it was seen
}

func (t *thread) expectation() expectation {
	return expectation{t.expected(), t.at, t.spread(), t.radius, t.frames}
}

const (
	// clearly is the logarithm of how much likelier something must be the sticker than anything else, and than the next best
	// explanation of the frame: 20 to 1.
	clearly = 3.0

	// absent is that of a sticker or a rival not being found in a frame: one in twenty.
	absent = -3.0

	// framesOfOne is how many frames one new thing of the sticker's look is taken to have come in during, before the first frame.
	// From 2 to 10, drawn clips have no wrong mark, and a percent more or less is seen; with 20, four of 4,800 marks are wrong.
	framesOfOne = 5

	// confirmed is how many frames something must go on before it is the sticker that was lost: four places in a row have a third
	// difference, which tells whether one of them jumps (local). With three, about one mark of 3,000 in drawn clips was on the rim of
	// what had hidden the sticker; four take 0.6 % of the marks. The run of
	// frames next to the seed's must be as long, both ways together: nothing tells yet how the sticker moves, so that what is taken
	// for it there may be another thing.
	confirmed = 4
)

// newTrack begins with the candidate that is the sticker, in a frame that shows the others too.
func newTrack(c *candidate, i int, cs []candidate, picture float64) *track {
	t := &track{own: newThread(c), picture: picture, company: &company{look: newLook(c)}}
	t.back.turn = t.own.scale
	t.sights = append(t.sights, sight{i: i, seen: true, first: true, what: *c, doubt: t.own.look.missing(c)})
	for k := range cs {
		if !same(&cs[k], c) && len(t.rivals) < mostRivals {
			r := newThread(&cs[k])
			r.proven = true
			t.rivals = append(t.rivals, r)
			t.born += t.alike(&cs[k]) * framesOfOne / rivalsLast // so many of them a frame, over as long as they are remembered
		}
	}
	return t
}

// alike is how many new things of any look one is worth that looks like a candidate: how much likelier the sticker is to show it than something
// that may pass for it, 1 on average if those are as different as may be, and about 100 for a twin of the sticker. Among twins the
// look then says nothing for either.
func (t *track) alike(c *candidate) float64 {
	look, ok := t.own.look.odds(c, t.own.frames)
	if !ok {
		return 0
	}
	return math.Exp(look)
}

// births is how many new things of the sticker's look a frame is expected to show: the mean of a rate of which one event in
// framesOfOne frames was known beforehand (a gamma distribution), after what the last rivalsLast frames have shown.
func (t *track) births() float64 { return (1 + t.born) / (framesOfOne + t.watched) }

// same reports whether two candidates are one thing.
func same(a, b *candidate) bool {
	return a.at.Sub(b.at).Norm() < math.Max(a.radius(), b.radius())
}

// step goes on to frame i, so many usual frames after the last.
func (t *track) step(i int, cs []candidate, frames float64) {
	t.own.frames += frames
	for k := range t.rivals {
		t.rivals[k].frames += frames
	}
	o := t.weigh(cs)
	claims := t.claims(cs)
	pick := t.choose(o, claims)
	if pick >= 0 && t.joined(pick, &cs[pick], claims) {
		pick, t.back.joined = -1, true
	}
	guess := pick // where it is lost, the frames after this one must tell
	if t.lost {
		pick = -1
	}
	if pick >= 0 && len(t.sights) == 1+t.run {
		t.run++
	}
	s := sight{i: i, unsure: t.unsure, first: len(t.sights) == t.run}
	if pick >= 0 {
		s.seen, s.what, s.doubt = true, cs[pick], t.own.look.missing(&cs[pick])
		if e := cs[pick].at.Sub(t.own.expected()).Norm(); e*e > aJump*aJump*t.own.spread() && len(t.sights)-t.jumped >= confirmed {
			t.jumped = len(t.sights)
		}
		t.own.see(&cs[pick])
	} else {
		t.jumpedAway()
		t.lost = true
		s.expected = t.own.expectation()
	}
	t.sights = append(t.sights, s)
	t.follow(cs, o, claims, pick, guess)
	if t.lost {
		t.comeBack()
	}
}

// aJump is how many times the scale of its motion a sticker must be from where it was expected for that to be a jump: one step in ten is one.
// With 5 two of 4,500 marks in drawn clips are wrong, with 3 as many are seen and none is.
const aJump = 3

// jumpedAway takes the sights since a jump for another thing's, where they did not go on for as many frames as what comes back must.
func (t *track) jumpedAway() {
	if t.lost || t.jumped == 0 || len(t.sights)-t.jumped >= confirmed {
		return
	}
	for n := t.jumped; n < len(t.sights); n++ {
		t.sights[n].seen = false
	}
}

// weights are the odds of each candidate in a frame.
type weights struct {
	whole []float64 // that it is the sticker, as that was seen so far
	could []float64 // that it is the sticker or a part of it, by its place alone if that is more
	veto  []float64 // the same, a part of it being as rare as the sticker not being found
}

func (t *track) weigh(cs []candidate) weights {
	o := weights{make([]float64, len(cs)), make([]float64, len(cs)), make([]float64, len(cs))}
	hidden := math.Log(math.Max(t.own.frames, 1))
	for j := range cs {
		c := &cs[j]
		place := t.own.place(c, t.picture, t.births()) - hidden
		whole, part := math.Inf(-1), place+absent
		switch {
		case !c.solid():
		case t.lost:
			whole = t.backAs(&t.own, c)
		default:
			whole = t.own.odds(c, t.picture, t.births())
			if t.own.sights == 1 && whole < place { // its motion is not known yet: its look must speak for it
				whole = math.Inf(-1)
			}
		}
		if t.back.joined && t.lost { // part of it may be all that shows
			part = place
		}
		o.could[j] = math.Max(whole, place)
		o.whole[j], o.veto[j] = whole, math.Max(whole, part)
	}
	return o
}

// claim is how likely a rival goes on as a candidate.
type claim struct {
	rival, candidate int
	odds             float64
}

// claims lists what candidates the rivals may go on as, the likeliest first.
func (t *track) claims(cs []candidate) (out []claim) {
	for k := range t.rivals {
		for j := range cs {
			r := &t.rivals[k]
			o := r.odds(&cs[j], t.picture, t.births())
			if r.gone() {
				o = r.returns(&cs[j], t.picture, t.births(), 1.0/framesOfOne)
			}
			if o > absent {
				out = append(out, claim{k, j, o})
			}
		}
	}
	slices.SortFunc(out, func(a, b claim) int {
		return cmp.Or(cmp.Compare(b.odds, a.odds), cmp.Compare(a.rival, b.rival), cmp.Compare(a.candidate, b.candidate))
	})
	return out
}

// choose says which candidate is the sticker, -1 none or not clear which. What each would leave to its
// rivals counts too. What is where the sticker is expected and does not look like it may be a part of it, and then something farther off is not.
func (t *track) choose(o weights, claims []claim) (pick int) {
	best, second := absent+t.rest(claims, -1, len(o.veto)), math.Inf(-1)
	pick = -1
	for j, odds := range o.veto {
		if odds < absent {
			continue
		}
		switch sum := odds + t.rest(claims, j, len(o.veto)); {
		case sum > best:
			best, second, pick = sum, best, j
		case sum > second:
			second = sum
		}
	}
	least := clearly
	if t.lost {
		least = 0
	}
	if pick < 0 || o.whole[pick] < least || best-second < clearly {
		return -1
	}
	return pick
}

// rest is by how much the rivals that were seen beside the sticker are likelier where they go on, one candidate being gone,
// than absent.
func (t *track) rest(claims []claim, without, candidates int) (sum float64) {
	gone, claimed := make([]bool, len(t.rivals)), make([]bool, candidates)
	for _, c := range claims {
		if c.candidate == without || !t.rivals[c.rival].proven || gone[c.rival] || claimed[c.candidate] {
			continue
		}
		gone[c.rival], claimed[c.candidate] = true, true
		sum += c.odds - absent
	}
	return sum
}

// mostRivals bounds what is followed beside a sticker, and rivalsLast how many frames one is expected that is not seen; where it
// was seen in fewer frames than confirm it, no more than those.
const (
	mostRivals = 2 * mostCandidates
	rivalsLast = 60 // a second; 30 and 120 change no wrong mark, and what is seen by half a percent
)

// follow goes on with the rivals. None that was seen beside the sticker goes on as what may as well be the sticker, or part of it.
func (t *track) follow(cs []candidate, o weights, claims []claim, pick, guess int) {
	claimed, gone := make([]bool, len(cs)), make([]bool, len(t.rivals))
	sure := pick >= 0
	var against []float64
	if sure {
		claimed[pick] = true
	} else {
		against = t.against(cs, o, claims)
	}
	for _, c := range claims {
		r := &t.rivals[c.rival]
		if claimed[c.candidate] || gone[c.rival] || c.odds < 0 || r.proven && (c.candidate == guess || guess < 0 && c.odds < o.could[c.candidate]+clearly) {
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
			t.trace(r, &cs[c.candidate], against[c.candidate])
		}
	}
	// what looks like it is not forgotten while it may be the sticker that comes back
	t.rivals = slices.DeleteFunc(t.rivals, func(r thread) bool {
		return sure && r.frames > rivalsLast || r.sights < confirmed && r.frames > float64(r.sights)+0.5
	})
	most := 0.0
	for j := range cs {
		if claimed[j] {
			continue
		}
		alike := t.alike(&cs[j])
		t.born, most = t.born+alike, math.Max(most, alike)
		if len(t.rivals) < mostRivals {
			r := newThread(&cs[j])
			r.proven = sure
			r.steady = r.proven
			if !sure {
				t.trace(&r, &cs[j], against[j])
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
