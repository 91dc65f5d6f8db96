package change

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"ecart/cmd/internal/fault"
)

// The three gaps between what is asked and what the skill shows.
const (
	Range   = "range"   // asked minus passive: the helper did not take the limb there
	Control = "control" // passive minus active: the helper did, and own strength does not
	Use     = "use"     // active minus in the skill: own strength does, and the skill does not show it
)

// ScreenOptions say what a screen is held against.
type ScreenOptions struct {
	AskedDeg *float64 // nil: what the readings in the skill were asked
	AtMost   bool     // with AskedDeg: less is better
	Coverage float64  // 0: 0.95
	Seed     uint64
	Draws    int // 0: screenDraws; studies that make thousands of screens take fewer
}

// Screen is where the missing degrees are: readings of one day, passive, active
// and in the skill.
type Screen struct {
	Measure  string    `json:"measure"`
	Day      time.Time `json:"day"`
	AskedDeg float64   `json:"asked_deg"`
	AtMost   bool      `json:"at_most,omitempty"`
	Levels   []Level   `json:"levels"`            // those that were read
	Gaps     []Gap     `json:"gaps"`              // those between levels that were read
	Missing  Gap       `json:"missing"`           // asked minus the skill, or minus the last level that was read
	Largest  string    `json:"largest,omitempty"` // the gap that is shown and is the largest with the coverage's probability; "" undecided
	Again    []Again   `json:"again,omitempty"`   // what would show the gaps that are not
	LeftOut  []LeftOut `json:"left_out"`
	Sentence string    `json:"sentence"`
	LooksAt  []Looking `json:"looks_at"` // what a screen looks at next, the likeliest gap first
	Cautions []string  `json:"cautions"`
	Notes    []string  `json:"notes"`
}

// Level is the angle in one condition: the mean of its takes.
type Level struct {
	Condition   string     `json:"condition"`
	AngleDeg    float64    `json:"angle_deg"`
	StandardDeg float64    `json:"standard_uncertainty_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Takes       int        `json:"takes"`
}

// Gap is how much is lost from one level to the next; below 0 nothing is.
type Gap struct {
	Name               string     `json:"name,omitempty"`
	From               string     `json:"from"`
	To                 string     `json:"to"`
	Deg                float64    `json:"deg"`
	StandardDeg        float64    `json:"standard_uncertainty_deg"`
	IntervalDeg        [2]float64 `json:"interval_deg"`
	RealProbability    float64    `json:"above_zero_probability"`
	Shown              bool       `json:"shown"`                         // it is above 0 with the coverage's probability
	LargestProbability *float64   `json:"largest_probability,omitempty"` // nil: not all three gaps are known
	noneProbability    float64    // that it is not above 0; with what single frames missed, both are at their lower end
}

// screenDraws hold the ends of a 95 % interval to about 0.01 standard deviations.
const screenDraws = 100_000

var conditions = []string{"passive", "active", "in-skill"}

// NewScreen draws the angles from their distributions, what they share moving
// them together, and takes the differences.
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
			s.LeftOut = append(s.LeftOut, LeftOut{r.ID, "it is not said whether it is passive, active or in the skill"})
			continue
		}
		tagged = append(tagged, r)
	}
	like, left := alike(tagged, byDefinition, bySide)
	s.LeftOut = append(s.LeftOut, left...)
	levels := make([][]int, len(conditions))
	for i := range like {
		if !like[i].day().Equal(like[0].day()) {
			return nil, wrong("name one of them: a screen compares what was shown on one day", "the readings are of several days, %s and %s among them",
				like[0].day().Format("2 January 2006"), like[i].day().Format("2 January 2006"))
		}
		k := slices.Index(conditions, like[i].Condition)
		levels[k] = append(levels[k], i)
	}
	var there []int
	for k := range levels {
		if len(levels[k]) > 0 {
			there = append(there, k)
		}
	}
	if len(there) < FewestConditions {
		return nil, wrong("read at least two of passive, active and in-skill, and say which is which with "+fault.Option("condition"), "a screen takes readings in two conditions or more, and there is %s", number(len(there)))
	}
	s.Measure, s.Day = like[0].Measure, like[0].day()
	if err := s.asked(like, opt); err != nil {
		return nil, err
	}
	take := takeToTake(like, newErrorModel(like), levels)
	s.draw(like, levels, there, take, opt)
	s.again(like, levels, take, opt.Coverage)
	s.finish(like, levels, opt.Coverage)
	return s, nil
}

func (s *Screen) asked(like []Reading, opt ScreenOptions) error {
	if opt.AskedDeg != nil {
		s.AskedDeg, s.AtMost = *opt.AskedDeg, opt.AtMost
		return nil
	}
	found := false
	for k := len(conditions) - 1; k >= 0 && !found; k-- { // the skill's own first
		for i := range like {
			r := &like[i]
			if r.Condition != conditions[k] || r.AskedDeg == nil {
				continue
			}
			if found && (*r.AskedDeg != s.AskedDeg || r.AtMost != s.AtMost) {
				return wrong("say which is meant: "+fault.Option("asked")+" DEGREES", "the readings are held against %g° and %g°", s.AskedDeg, *r.AskedDeg)
			}
			s.AskedDeg, s.AtMost, found = *r.AskedDeg, r.AtMost, true
		}
	}
	if !found {
		return wrong("read one of them with "+fault.Option("skill")+" NAME, or say "+fault.Option("asked")+" DEGREES", "none of the readings says what is asked")
	}
	return nil
}

// draw fills in levels and gaps. take is the variance from take to take.
func (s *Screen) draw(like []Reading, levels [][]int, there []int, take float64, opt ScreenOptions) {
	sign := 1.0
	if s.AtMost {
		sign = -1
	}
	draws := drawTogether(like, take, opt.Draws, opt.Seed)
	angle, widest := make([][]float64, len(conditions)), make([][]float64, len(conditions)) // as shown; with what single frames missed
	missing := make([]bool, len(conditions))                                                // of the widest moment
	days, daySD := rand.New(rand.NewPCG(opt.Seed, 0x6461797300000000)), dayDeviation(like)  // "days": a stream of its own
	for _, k := range there {
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
		mean, sd, interval := summary(angle[k], opt.Coverage)
		least, most := missedMean(like, levels[k])
		widest[k] = withMissed(angle[k], least, most, sign)
		if missing[k] = most > 0; missing[k] {
			_, _, beyond := summary(widest[k], opt.Coverage)
			interval = [2]float64{math.Min(interval[0], beyond[0]), math.Max(interval[1], beyond[1])}
		}
		s.Levels = append(s.Levels, Level{conditions[k], mean, sd, interval, len(levels[k])})
	}
	size := func(from, to int, levels [][]float64) (out []float64, above float64) {
		out = make([]float64, opt.Draws)
		n := 0
		for d := range out {
			x := s.AskedDeg
			if from >= 0 {
				x = levels[from][d]
			}
			if out[d] = sign * (x - levels[to][d]); out[d] > 0 {
				n++
			}
		}
		return out, float64(n) / float64(opt.Draws)
	}
	// What the single frames of a level missed is one-sided: the gap is what was shown, its interval
	// goes on to where it would be if they missed as much as they may, and what is said of it, that
	// it is there or that it is not, holds either way.
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
	var sizes, least [][]float64 // as shown; with what single frames missed
	for i, name := range []string{Range, Control, Use} {
		if angle[i] == nil || i > 0 && angle[i-1] == nil {
			continue
		}
		g, as, with := gap(name, i-1, i)
		s.Gaps, sizes, least = append(s.Gaps, g), append(sizes, as), append(least, with)
	}
	s.Missing, _, _ = gap("", -1, there[len(there)-1])
	if len(sizes) < 3 {
		return
	}
	for g := range s.Gaps {
		wins := math.Min(wins(sizes, g), wins(least, g))
		s.Gaps[g].LargestProbability = &wins
		if wins >= opt.Coverage && s.Gaps[g].Shown {
			s.Largest = s.Gaps[g].Name
		}
	}
}

// wins is how often gap g is the largest.
func wins(sizes [][]float64, g int) float64 {
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

// dayDeviation is the standard deviation, degrees, by which levels may differ since they may be of
// several days; 0 where the day is known, which is then one.
func dayDeviation(rs []Reading) float64 {
	if slices.ContainsFunc(rs, func(r Reading) bool { return r.AnyDay }) {
		return math.Sqrt(dayPrior().variance())
	}
	return 0
}

// takeToTake is the variance by which takes of one group scatter beyond what is each
// reading's own; 0 where it is not more, or not known.
func takeToTake(rs []Reading, m *errorModel, groups [][]int) float64 {
	squares, own, freedom := scatterWithin(rs, m, groups)
	if freedom == 0 {
		return 0
	}
	return math.Max(0, squares/freedom-own)
}

// summary is the mean, the standard deviation and the symmetric interval.
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
