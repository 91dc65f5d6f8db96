package change

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
)

// The gaps of a screen. The first three add up to what is missing in the skill.
const (
	Range   = movement.Range   // asked minus passive: a helper did not move the limb that far
	Control = movement.Control // passive minus active: a helper did, own strength does not
	Use     = movement.Use     // active minus in-skill: own strength does, the skill does not show it
	Swing   = movement.Swing   // swung minus active: its own speed takes the limb there, and own strength does not hold it
)

// ScreenOptions sets the angle asked and how a screen is computed.
type ScreenOptions struct {
	AskedDeg *float64 // nil: taken from the readings, those in the skill first
	AtMost   bool     // with AskedDeg: less is better
	Coverage float64  // 0: 0.95
	Seed     uint64
	Draws    int // 0: screenDraws; fewer for studies of thousands of screens

	takes variation // from take to take, where it is known; nil: takeVariation
}

// Screen says where the missing degrees are lost, from readings of one day: passive, active
// and in the skill.
type Screen struct {
	Measure   string      `json:"measure"`
	Variant   string      `json:"variant,omitempty"`  // the position; "" is the measure's usual one
	Movement  string      `json:"movement,omitempty"` // its name in package movement; "" if no movement is of this measure and position
	Day       time.Time   `json:"day"`
	AskedDeg  float64     `json:"asked_deg"`
	AtMost    bool        `json:"at_most,omitempty"`
	Levels    []Level     `json:"levels"`            // the conditions that were read
	Gaps      []Gap       `json:"gaps"`              // between levels that were read
	Missing   Gap         `json:"missing"`           // asked minus in-skill, or minus the last level that was read
	Largest   string      `json:"largest,omitempty"` // the gap that is shown and the largest, with a probability of at least the coverage; "": undecided
	Outcome   Outcome     `json:"outcome"`
	MoreTakes []MoreTakes `json:"again,omitempty"` // for each gap that is not shown, what would show it; then which is the largest
	LeftOut   []LeftOut   `json:"left_out"`
	Sentence  string      `json:"sentence"`
	LooksAt   []Looking   `json:"looks_at"` // what to look at next, the likeliest gap first
	Cautions  []string    `json:"cautions"`
	Notes     []string    `json:"notes"`

	FullSplit *FullSplit `json:"full_split,omitempty"` // where an over-split is asked: whether a full passive split has been shown
}

// Level is the angle in one condition: the mean of its takes.
type Level struct {
	Condition   string     `json:"condition"`
	AngleDeg    float64    `json:"angle_deg"`
	StandardDeg float64    `json:"standard_uncertainty_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Takes       int        `json:"takes"`
	AtLeast     bool       `json:"at_least,omitempty"` // of a passive split that may be flat: a floor stops it there, so that the range may be more
}

// Gap is how many degrees are lost from one level to the next; at or below 0, none.
type Gap struct {
	Name               string     `json:"name,omitempty"`
	From               string     `json:"from"`
	To                 string     `json:"to"`
	Deg                float64    `json:"deg"`
	StandardDeg        float64    `json:"standard_uncertainty_deg"`
	IntervalDeg        [2]float64 `json:"interval_deg"`
	RealProbability    float64    `json:"above_zero_probability"`
	Shown              bool       `json:"shown"`                         // it is above 0 with a probability of at least the coverage
	LargestProbability *float64   `json:"largest_probability,omitempty"` // nil: not all three gaps are known
	noneProbability    float64    // that it is not above 0; where single frames may have missed the widest moment, both probabilities are lower bounds
}

// screenDraws is the number of draws: the ends of a 95 % interval then scatter by about
// 0.01 standard deviations.
const screenDraws = 100_000

// conditions are those of the levels; the first three are the steps from what is asked to the
// skill.
var conditions = []string{movement.Passive, movement.Active, movement.InSkill, movement.Swung}

// ends are the two levels of each gap, as indexes in conditions; -1 is the angle asked. The gap
// is the first minus the second, or the reverse where less is better.
var ends = []struct {
	name     string
	from, to int
}{{Range, -1, 0}, {Control, 0, 1}, {Use, 1, 2}, {Swing, 3, 1}}

// NewScreen draws the angles from their distributions, with the errors that they share, and
// takes the differences.
func NewScreen(rs []Reading, opt ScreenOptions) (*Screen, error) {
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if opt.Draws == 0 {
		opt.Draws = screenDraws
	}
	if err := check(rs); err != nil {
		return nil, err
	}
	rs = ofOneAthlete(rs)
	s := &Screen{LeftOut: []LeftOut{}, Notes: []string{}}
	var tagged []Reading
	for _, r := range rs {
		if !slices.Contains(conditions, r.Condition) {
			s.LeftOut = append(s.LeftOut, LeftOut{r.ID, "it is not said whether it is passive, active, in the skill or swung"})
			continue
		}
		tagged = append(tagged, r)
	}
	like, left := alike(tagged, byDefinition, bySide, byVariant)
	s.LeftOut = append(s.LeftOut, left...)
	like, merged := onePerPicture(like)
	levels := make([][]int, len(conditions))
	for i := range like {
		if !like[i].day().Equal(like[0].day()) {
			return nil, inputError("name one of them: a screen compares what was shown on one day", "the readings are of several days, %s and %s among them",
				like[0].day().Format("2 January 2006"), like[i].day().Format("2 January 2006"))
		}
		k := slices.Index(conditions, like[i].Condition)
		levels[k] = append(levels[k], i)
	}
	var present []int // conditions with a reading
	for k := range levels {
		if len(levels[k]) > 0 {
			present = append(present, k)
		}
	}
	if len(present) < FewestConditions {
		return nil, inputError("read at least two of passive, active, in-skill and swung, and say which is which with "+fault.Option("condition"), "a screen takes readings in two conditions or more, and there is %s", number(len(present)))
	}
	s.Measure, s.Variant, s.Day = like[0].Measure, like[0].Variant, like[0].day()
	if m, ok := movement.Of(s.Measure, s.Variant); ok {
		s.Movement = m.Name
	}
	if err := s.asked(like, opt); err != nil {
		return nil, err
	}
	model, take := newErrorModel(like), opt.takes
	if take == nil {
		take = takeVariation(like, model, levels)
	}
	s.draw(like, model, levels, present, take, opt)
	s.suggestTakes(like, levels, take, opt.Coverage)
	s.Notes = append(s.Notes, merged...)
	s.finish(like, levels, opt.Coverage)
	return s, nil
}

// asked sets the angle asked: from the options, else from the readings, those in the skill
// first.
func (s *Screen) asked(like []Reading, opt ScreenOptions) error {
	if opt.AskedDeg != nil {
		s.AskedDeg, s.AtMost = *opt.AskedDeg, opt.AtMost
		return nil
	}
	found := false
	for _, condition := range []string{movement.InSkill, movement.Swung, movement.Active, movement.Passive} {
		if found {
			break
		}
		for i := range like {
			r := &like[i]
			if r.Condition != condition || r.AskedDeg == nil {
				continue
			}
			if found && (*r.AskedDeg != s.AskedDeg || r.AtMost != s.AtMost) {
				return inputError("say which is meant: "+fault.Option("asked")+" DEGREES", "the readings are compared with %g° and %g°", s.AskedDeg, *r.AskedDeg)
			}
			s.AskedDeg, s.AtMost, found = *r.AskedDeg, r.AtMost, true
		}
	}
	if !found {
		return inputError("read one of them with "+fault.Option("skill")+" NAME, or say "+fault.Option("asked")+" DEGREES", "none of the readings says what is asked")
	}
	return nil
}

// draw sets levels and gaps. take is the variation from take to take.
func (s *Screen) draw(like []Reading, model *errorModel, levels [][]int, present []int, take variation, opt ScreenOptions) {
	sign := 1.0
	if s.AtMost {
		sign = -1
	}
	draws := drawTogether(like, take, opt.Draws, opt.Seed)
	angle, widest := make([][]float64, len(conditions)), make([][]float64, len(conditions)) // as shown; with what single frames may have missed
	missing := make([]bool, len(conditions))                                                // frames of this level may have missed the widest moment
	days, daySD := rand.New(rand.NewPCG(opt.Seed, 0x6461797300000000)), dayDeviation(like)  // "days": a random stream of its own
	// The draws have in common the errors that are certainly shared. widened adds the variance of those that may be
	// shared, where sharing makes a level or a gap less sure.
	unsaid := rand.New(rand.NewPCG(opt.Seed, 0x756e736169640000)) // "unsaid"
	widened := func(draws []float64, from, to int) []float64 {    // draws of level from, or of from minus to; -1: none
		w := make([]float64, len(like))
		share := func(k int, weight float64) {
			for _, i := range levels[k] {
				w[i] = weight / float64(len(levels[k])) // a take is of one level
			}
		}
		if from >= 0 {
			share(from, 1)
		}
		if to >= 0 {
			share(to, -1)
		}
		sd := math.Sqrt(model.unsaid(w))
		if sd == 0 {
			return draws
		}
		out := make([]float64, len(draws))
		for d, v := range draws {
			out[d] = v + sd*unsaid.NormFloat64()
		}
		return out
	}
	for _, k := range present {
		angle[k] = make([]float64, opt.Draws)
		for _, i := range levels[k] {
			for d, v := range draws[i] {
				angle[k][d] += v / float64(len(levels[k]))
			}
		}
		if daySD > 0 {
			for d := range angle[k] {
				angle[k][d] += daySD * days.NormFloat64()
			}
		}
		level := widened(angle[k], k, -1)
		mean, sd, interval := summary(level, opt.Coverage)
		least, most := missedMean(like, levels[k])
		widest[k] = withMissed(angle[k], least, most, sign)
		if missing[k] = most > 0; missing[k] {
			_, _, beyond := summary(withMissed(level, least, most, sign), opt.Coverage)
			interval = [2]float64{math.Min(interval[0], beyond[0]), math.Max(interval[1], beyond[1])}
		}
		s.Levels = append(s.Levels, Level{Condition: conditions[k], AngleDeg: mean, StandardDeg: sd, IntervalDeg: interval, Takes: len(levels[k])})
	}
	size := func(from, to int, levels [][]float64) (out []float64, above float64) {
		out = make([]float64, opt.Draws)
		for d := range out {
			x := s.AskedDeg
			if from >= 0 {
				x = levels[from][d]
			}
			out[d] = sign * (x - levels[to][d])
		}
		out = widened(out, from, to)
		n := 0
		for _, v := range out {
			if v > 0 {
				n++
			}
		}
		return out, float64(n) / float64(opt.Draws)
	}
	// What single frames missed is one-sided. The gap's estimate is what was shown; its interval is
	// extended to where the gap would be if they missed as much as they may; and a statement that
	// the gap exists, or does not, has to hold in both cases.
	gap := func(name string, from, to int) (g Gap, shown, widestShown []float64) {
		g = Gap{Name: name, From: "asked", To: conditions[to]}
		if from >= 0 {
			g.From = conditions[from]
		}
		out, above := size(from, to, angle)
		g.Deg, g.StandardDeg, g.IntervalDeg = summary(out, opt.Coverage)
		g.RealProbability, g.noneProbability = above, 1-above
		if (from < 0 || !missing[from]) && !missing[to] {
			g.Shown = g.RealProbability >= opt.Coverage
			return g, out, out
		}
		missed, above := size(from, to, widest)
		_, _, beyond := summary(missed, opt.Coverage)
		g.IntervalDeg = [2]float64{math.Min(g.IntervalDeg[0], beyond[0]), math.Max(g.IntervalDeg[1], beyond[1])}
		g.RealProbability, g.noneProbability = math.Min(g.RealProbability, above), math.Min(g.noneProbability, 1-above)
		g.Shown = g.RealProbability >= opt.Coverage
		return g, out, missed
	}
	var sizes, sizesMissed [][]float64 // as shown; with what single frames may have missed
	for _, e := range ends {
		if angle[e.to] == nil || e.from >= 0 && angle[e.from] == nil {
			continue
		}
		g, shown, missed := gap(e.name, e.from, e.to)
		s.Gaps = append(s.Gaps, g)
		if e.name != Swing { // swing is no part of what is missing in the skill
			sizes, sizesMissed = append(sizes, shown), append(sizesMissed, missed)
		}
	}
	last := present[0]
	for _, k := range present {
		if conditions[k] != movement.Swung {
			last = k
		}
	}
	s.Missing, _, _ = gap("", -1, last)
	if len(sizes) < 3 {
		return
	}
	for g := range sizes { // the gaps before swing
		p := math.Min(largestShare(sizes, g), largestShare(sizesMissed, g))
		s.Gaps[g].LargestProbability = &p
		if p >= opt.Coverage && s.Gaps[g].Shown {
			s.Largest = s.Gaps[g].Name
		}
	}
}

// largestShare is the share of draws in which gap g is the largest.
func largestShare(sizes [][]float64, g int) float64 {
	n := 0
	for d := range sizes[g] {
		best := 0
		for k := range sizes {
			if sizes[k][d] > sizes[best][d] {
				best = k
			}
		}
		if best == g {
			n++
		}
	}
	return float64(n) / float64(len(sizes[g]))
}

// dayDeviation is the standard deviation, degrees, to add to each level because the levels may
// be of different days; 0 if the day is known, since it is then the same for all.
func dayDeviation(rs []Reading) float64 {
	if slices.ContainsFunc(rs, func(r Reading) bool { return r.AnyDay }) {
		return math.Sqrt(dayPrior().variance())
	}
	return 0
}

// summary is the mean, the standard deviation and the probabilistically symmetric interval.
func summary(v []float64, coverage float64) (mean, sd float64, interval [2]float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean) / float64(len(v)-1)
	}
	o := sorted(v)
	at := func(p float64) float64 { return o[min(len(o)-1, int(p*float64(len(o))))] }
	return mean, math.Sqrt(sd), [2]float64{at((1 - coverage) / 2), at((1 + coverage) / 2)}
}

// sorted returns a sorted copy.
func sorted(v []float64) []float64 {
	out := slices.Clone(v)
	slices.Sort(out)
	return out
}
