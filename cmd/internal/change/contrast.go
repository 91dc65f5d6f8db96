package change

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// Contrast compares two positions of one day that differ in one thing: how much further the
// limb goes in the slack one than in the taut one. What both takes share cancels.
type Contrast struct {
	Name      string    `json:"name"` // in package movement
	Title     string    `json:"title"`
	Measure   string    `json:"measure"`
	Day       time.Time `json:"day"`
	Side      string    `json:"side,omitempty"`
	Condition string    `json:"condition,omitempty"`
	State     string    `json:"state,omitempty"`

	Taut        Half       `json:"taut"`
	Slack       Half       `json:"slack"`
	FurtherDeg  float64    `json:"further_deg"` // in the slack position
	StandardDeg float64    `json:"standard_uncertainty_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Probability float64    `json:"above_zero_probability"` // that it goes further there
	Decision    string     `json:"decision"`               // further, less or undecided
	Shared      []Shared   `json:"shared"`
	// MoreTakes says which takes would decide an undecided contrast; nil of a decided one.
	MoreTakes *ContrastMoreTakes `json:"again,omitempty"`

	Sentence   string    `json:"sentence"`
	Separates  string    `json:"separates"`
	LooksAt    []Looking `json:"looks_at"` // what to look at next; of an undecided contrast, for each decision
	Cannot     []string  `json:"cannot_say"`
	Source     string    `json:"source"`
	Provenance string    `json:"provenance"`
	Cautions   []string  `json:"cautions"`
	Notes      []string  `json:"notes"`
	LeftOut    []LeftOut `json:"left_out"`
}

// Half is the mean angle in one of the two positions.
type Half struct {
	Variant     string     `json:"variant"`
	Words       string     `json:"words"`
	AngleDeg    float64    `json:"angle_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"` // of this angle alone
	Takes       int        `json:"takes"`
}

// Values of Contrast.Decision.
const (
	Further   = "further"   // the limb goes further in the slack position, with a probability of at least the coverage
	LessFar   = "less"      // it goes less far there
	Undecided = "undecided" // neither has that probability
)

// NewContrast compares the readings of one athlete and one day in the two positions of c. Of several
// days, conditions, states or sides it takes the one in which both positions were read most often; the
// other readings are left out.
func NewContrast(rs []Reading, c movement.Contrast, coverage float64) (*Contrast, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	out := &Contrast{Name: c.Name, Title: c.Title, Measure: c.Measure, Separates: c.Separates, Cannot: c.Cannot, Source: c.Source, Provenance: c.Provenance,
		Notes: []string{}, LeftOut: []LeftOut{}}
	taut, slack := out.pair(ofOneAthlete(rs), c)
	taut, merged := onePerPicture(taut)
	slack, more := onePerPicture(slack)
	out.Notes = slices.Concat(out.Notes, merged, more)
	if taut == nil {
		return nil, inputError("read it in both on one day, alike in all else, and keep them with "+bothVariants(c), "there is no day on which both positions of %s were read in one condition and state", c.Name)
	}
	first := &taut[0]
	out.Day, out.Side, out.Condition, out.State = first.day(), first.Side, known(first.Condition), known(first.State)
	d := withinSession(taut, slack, coverage)
	sign := 1.0
	if movement.Less(c.Measure, c.Taut) {
		sign = -1
	}
	out.FurtherDeg, out.StandardDeg, out.Shared = sign*d.ChangeDeg, d.StandardDeg, d.Shared
	out.IntervalDeg = [2]float64{out.FurtherDeg - d.SmallestDeg, out.FurtherDeg + d.SmallestDeg}
	out.Probability = d.errorDist.above(out.FurtherDeg)
	switch {
	case out.Probability >= coverage:
		out.Decision = Further
	case 1-out.Probability >= coverage:
		out.Decision = LessFar
	default:
		out.Decision = Undecided
	}
	out.Taut, out.Slack = newHalf(c.Measure, c.Taut, taut, coverage), newHalf(c.Measure, c.Slack, slack, coverage)
	if out.Decision == Undecided {
		out.MoreTakes = takesToDecide(taut, slack, math.Abs(out.FurtherDeg), coverage)
	}
	out.describe(c, slices.Concat(taut, slack))
	return out, nil
}

// bothVariants names the two positions as options.
func bothVariants(c movement.Contrast) string {
	option := fault.Option("variant")
	return option + " " + c.Taut + " and " + option + " " + c.Slack
}

// pair returns the readings of the two positions that are compared, nil where there are none, and
// lists the rest in c.LeftOut.
func (out *Contrast) pair(rs []Reading, c movement.Contrast) (taut, slack []Reading) {
	groups := map[string][2][]Reading{}
	keyOf := func(r *Reading) string {
		return session(r) + "\x00" + groupKey(r, []trait{byDefinition, bySide, byCondition, byState})
	}
	for _, r := range rs {
		g := groups[keyOf(&r)]
		switch r.Variant {
		case c.Taut:
			g[0] = append(g[0], r)
		case c.Slack:
			g[1] = append(g[1], r)
		}
		groups[keyOf(&r)] = g
	}
	best, most := "", 0
	for k, g := range groups {
		n := min(len(g[0]), len(g[1]))
		if n == 0 {
			continue
		}
		if b := groups[best]; best == "" || cmp.Or(cmp.Compare(n, most), g[0][0].day().Compare(b[0][0].day()), cmp.Compare(best, k)) > 0 {
			best, most = k, n
		}
	}
	for _, r := range rs {
		if r.Variant != c.Taut && r.Variant != c.Slack {
			out.LeftOut = append(out.LeftOut, LeftOut{r.ID, "it is in neither of the two positions"})
		} else if best == "" || keyOf(&r) != best {
			out.LeftOut = append(out.LeftOut, LeftOut{r.ID, "its day, side, condition, state or lines are not those of the pair"})
		}
	}
	return groups[best][0], groups[best][1]
}

// newHalf is the mean of the readings in one position.
func newHalf(measure, variant string, rs []Reading, coverage float64) Half {
	h := Half{Variant: variant, Words: movement.VariantWords(measure, variant), Takes: len(rs)}
	w := make([]float64, len(rs))
	for i := range rs {
		w[i] = 1 / float64(len(rs))
		h.AngleDeg += w[i] * rs[i].AngleDeg
	}
	by := normal(coverage) * math.Sqrt(newErrorModel(rs).variance(w))
	h.IntervalDeg = [2]float64{h.AngleDeg - by, h.AngleDeg + by}
	return h
}

// describe sets the sentence, what to look at, the notes and the cautions.
func (out *Contrast) describe(c movement.Contrast, rs []Reading) {
	v, u := uncertainty.Format(math.Abs(out.FurtherDeg), (out.IntervalDeg[1]-out.IntervalDeg[0])/2)
	size := fmt.Sprintf("%s° ± %s°", v, u)
	above, level := Looking{"further", "where it goes further", []string{c.Above}, movement.Practice}, Looking{"alike", "where it goes no further", []string{c.Level}, movement.Practice}
	out.LooksAt = []Looking{above, level}
	switch direction := "further"; out.Decision {
	case Further:
		out.Sentence = fmt.Sprintf("%s further with %s than with %s (%s)", size, out.Slack.Words, out.Taut.Words, reading.Percent(out.Probability))
		out.LooksAt = []Looking{above}
	case LessFar:
		out.Sentence = fmt.Sprintf("%s less far with %s than with %s (%s), which the pair does not explain", size, out.Slack.Words, out.Taut.Words, reading.Percent(1-out.Probability))
		out.LooksAt = []Looking{}
		out.Notes = append(out.Notes, "it goes less far where less is stretched: look whether the two takes were made alike in all else")
	default:
		if out.FurtherDeg < 0 {
			direction = "less far"
		}
		out.Sentence = fmt.Sprintf("%s %s with %s than with %s; these takes do not tell whether it goes further there (%s)", size, direction, out.Slack.Words, out.Taut.Words, reading.Percent(out.Probability))
	}
	if note := MissedNote(rs, "the difference allows for it"); note != "" {
		out.Notes = append(out.Notes, note)
	}
	var same []string
	for _, s := range out.Shared {
		same = append(same, s.Source)
	}
	if len(same) > 0 {
		out.Notes = append(out.Notes, "what both takes share cancels in part: "+strings.Join(same, ", "))
	}
	if out.MoreTakes != nil {
		out.Notes = append(out.Notes, out.MoreTakes.sentence(c.Measure))
	}
	if out.Taut.Takes == 1 || out.Slack.Takes == 1 {
		out.Notes = append(out.Notes, "with one take of a position how much takes vary is not known from them: the interval allows for what others vary")
	}
	out.Cautions = append([]string{"a difference finds no cause and is no diagnosis: it says what is looked at next, by whoever may examine the athlete and decide"}, cautions(c.Measure)[1:]...)
}

// ContrastMoreTakes says how an undecided contrast could be decided: by how many more takes in which position, made like
// the last one there and on the same day.
type ContrastMoreTakes struct {
	Variant string `json:"variant"` // in which to make more takes
	Takes   int    `json:"takes"`   // how many more; 0: mostAgain takes like these do not decide it
}

func (a *ContrastMoreTakes) sentence(measure string) string {
	if a.Takes == 0 {
		return fmt.Sprintf("%s like these would not tell which way it goes: the difference looks too small for their error, part of which does not average out", plural(maxMoreTakes, "more take", "more takes"))
	}
	return fmt.Sprintf("%s with %s would tell which way it goes, if the difference is as large as it looks", plural(a.Takes, "more take", "more takes"), movement.VariantWords(measure, a.Variant))
}

// takesToDecide finds the position in which the fewest further takes, each like the last one there, show which way a
// difference of deg goes, if it is as large as that. How much takes vary is taken from those there are.
func takesToDecide(taut, slack []Reading, deg, coverage float64) *ContrastMoreTakes {
	all := slices.Concat(taut, slack)
	v := takeVariation(all, newErrorModel(all), [][]int{span(0, len(taut)), span(len(taut), len(all))})
	for n := 1; n <= maxMoreTakes; n++ {
		best, most := "", coverage
		for _, more := range []string{slack[0].Variant, taut[0].Variant} {
			a, b := taut, slack
			if more == taut[0].Variant {
				a = withMore(taut, n)
			} else {
				b = withMore(slack, n)
			}
			all := slices.Concat(a, b)
			missed := missedVariance(all, span(0, len(a))) + missedVariance(all, span(len(a), len(all)))
			d := newDifference(all, len(a), v, 1/float64(len(a))+1/float64(len(b)), missed, coverage)
			if p := d.errorDist.above(deg); p >= most {
				best, most = more, p
			}
		}
		if best != "" {
			return &ContrastMoreTakes{best, n}
		}
	}
	return &ContrastMoreTakes{Variant: slack[0].Variant}
}

// withMore is the takes with the last one repeated.
func withMore(rs []Reading, n int) []Reading {
	return slices.Concat(rs, slices.Repeat(rs[len(rs)-1:], n))
}
