package change

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

// WorthDeg is the default of the smallest change worth finding, degrees. It is a convention of this
// tool, about half of a common deduction band.
const WorthDeg = 5.0

// Class is the class of an athlete's change.
type Class string

// The classes. For each but NotKnown the whole interval of the change is in the range given here.
const (
	GoesOn      Class = "goes-on"      // above 0; below 0 if less is asked
	StandsStill Class = "stands-still" // within the change that is worth finding, either way
	FallsBack   Class = "falls-back"   // below 0; above 0 if less is asked
	NotKnown    Class = "not-known"
)

// Classes lists the classes in the order in which they are printed.
var Classes = []Class{GoesOn, StandsStill, FallsBack, NotKnown}

// GroupOptions sets the limits of a group. The zero value is 95 % coverage and WorthDeg.
type GroupOptions struct {
	Options
	WorthDeg float64 // a smaller change, either way, is standing still; degrees
	Nameless bool    // letters in place of names, A for the largest change
}

// Group is how one measure of several athletes changed.
type Group struct {
	Measure   string        `json:"measure"`
	Condition string        `json:"condition,omitempty"`
	State     string        `json:"state,omitempty"`
	AtMost    bool          `json:"at_most,omitempty"` // less is asked
	Coverage  float64       `json:"coverage"`
	WorthDeg  float64       `json:"worth_deg"`
	Members   []Member      `json:"athletes"` // the largest change first
	LeftOut   []NotIn       `json:"left_out"`
	Mean      *Pooled       `json:"mean,omitempty"`  // nil: fewer than two athletes have a change
	Month     *MonthAgainst `json:"month,omitempty"` // nil: nobody was read in both months
	Sentence  string        `json:"sentence"`
	Notes     []string      `json:"notes"`
}

// Member is one athlete's change, from her first to her last day. Where both sides were
// read it is the mean of the two.
type Member struct {
	Athlete      string     `json:"athlete"`
	From         time.Time  `json:"from"`
	To           time.Time  `json:"to"`
	Days         int        `json:"days"`
	Readings     int        `json:"readings"`
	Sides        int        `json:"sides"`
	ChangeDeg    float64    `json:"change_deg"`
	SmallestDeg  float64    `json:"smallest_real_change_deg"` // half-width of the interval
	IntervalDeg  [2]float64 `json:"change_interval_deg"`
	Class        Class      `json:"way"`
	RealAmongAll bool       `json:"sure_among_all"` // the change is real after the correction for the number of athletes; see judge
	probability  float64    // of a change at least as large in size, if there is none
}

// NotIn is an athlete who has no change in the group, and why.
type NotIn struct {
	Athlete string `json:"athlete"`
	Why     string `json:"why"`
}

// Pooled is the mean change of several athletes.
type Pooled struct {
	Athletes        int        `json:"athletes"`
	MeanDeg         float64    `json:"mean_deg"`
	StandardDeg     float64    `json:"standard_uncertainty_deg"`
	IntervalDeg     [2]float64 `json:"interval_deg"`
	SmallestDeg     float64    `json:"smallest_real_change_deg"` // half-width of the interval
	Real            bool       `json:"real"`
	CommonDeg       float64    `json:"common_standard_uncertainty_deg"` // the part that more athletes do not average out
	BetweenDeg      float64    `json:"between_athletes_deg"`            // standard deviation of the athletes' own changes
	BetweenInterval [2]float64 `json:"between_athletes_interval_deg"`
}

// MonthAgainst is the mean change of the group from one calendar month to the next.
type MonthAgainst struct {
	Month  time.Time `json:"month"` // first day of the later one
	Before time.Time `json:"before"`
	Names  []string  `json:"names"` // of the athletes who were read in both
	Pooled
}

// NewGroup pools the changes of the athletes named in the readings. Of the kinds of
// readings (lines, condition, state) it takes the one in which most athletes have two days.
func NewGroup(rs []Reading, opt GroupOptions) (*Group, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if opt.WorthDeg == 0 {
		opt.WorthDeg = WorthDeg
	}
	kind := commonKind(rs)
	g := &Group{Coverage: opt.Coverage, WorthDeg: opt.WorthDeg, Members: []Member{}, LeftOut: []NotIn{}, Notes: []string{}}
	var changes, lately []*weightedChange
	month := latestMonth(rs, kind)
	var names []string
	for _, one := range byAthlete(rs) {
		like := ofKind(one, kind)
		if len(like) == 0 {
			g.LeftOut = append(g.LeftOut, NotIn{one[0].Athlete, "read only as " + kindWords(&one[0])})
			continue
		}
		g.Measure, g.Condition, g.State = like[0].Measure, known(like[0].Condition), known(like[0].State)
		trends, why, err := trendsOf(like, opt.Options)
		if err != nil {
			return nil, err
		}
		if why != "" {
			g.LeftOut = append(g.LeftOut, NotIn{one[0].Athlete, why})
			continue
		}
		var own, last []*weightedChange
		for _, t := range trends {
			own = append(own, t.firstToLast())
			if c := t.monthChange(month.AddDate(0, -1, 0), month); c != nil {
				last = append(last, c)
			}
			g.AtMost = g.AtMost || t.AtMost
		}
		c := meanChange(own)
		changes = append(changes, c)
		g.Members = append(g.Members, newMember(one[0].Athlete, trends, c))
		if last != nil {
			lately, names = append(lately, meanChange(last)), append(names, one[0].Athlete)
		}
	}
	if len(g.Members) == 0 {
		return nil, inputError("keep readings on two days or more of the athletes, or choose others with "+fault.Option("condition")+" or "+fault.Option("state"), "no athlete has a change: nobody was read alike on two days")
	}
	g.judge()
	if len(changes) > 1 {
		g.Mean = pool(changes, opt.Coverage)
	}
	if len(lately) > 1 {
		g.Month = &MonthAgainst{Month: month, Before: month.AddDate(0, -1, 0), Names: names, Pooled: *pool(lately, opt.Coverage)}
	}
	slices.SortStableFunc(g.Members, func(a, b Member) int { return cmp.Compare(b.ChangeDeg, a.ChangeDeg) })
	if g.AtMost {
		slices.Reverse(g.Members)
	}
	if opt.Nameless {
		g.nameless()
	}
	g.note()
	g.Sentence = g.sentence()
	return g, nil
}

// nameless puts letters in place of names, in the order of the members.
func (g *Group) nameless() {
	letters := map[string]string{}
	give := func(name *string) {
		if letters[*name] == "" {
			const alphabet = 26
			n := len(letters)
			letters[*name] = string(rune('A' + n%alphabet))
			if n >= alphabet {
				letters[*name] += fmt.Sprint(n / alphabet)
			}
		}
		*name = letters[*name]
	}
	for i := range g.Members {
		give(&g.Members[i].Athlete)
	}
	for i := range g.LeftOut {
		give(&g.LeftOut[i].Athlete)
	}
	if g.Month != nil {
		for i := range g.Month.Names {
			give(&g.Month.Names[i])
		}
	}
}

// newMember is an athlete's row; c is the mean of the trends' changes.
func newMember(athlete string, trends []*Trend, c *weightedChange) Member {
	m := Member{Athlete: athlete, Sides: len(trends), From: trends[0].Days[0].Day, To: trends[0].Days[0].Day}
	n := float64(len(trends))
	for _, t := range trends {
		m.ChangeDeg += t.ChangeDeg / n
		m.SmallestDeg += t.SmallestDeg / n // the sides' errors are taken to be the same: the widest
		m.Days = max(m.Days, len(t.Days))
		for _, d := range t.Days {
			m.Readings += len(d.Readings)
			if d.Day.Before(m.From) {
				m.From = d.Day
			}
			if d.Day.After(m.To) {
				m.To = d.Day
			}
		}
	}
	m.IntervalDeg = [2]float64{m.ChangeDeg - m.SmallestDeg, m.ChangeDeg + m.SmallestDeg}
	m.probability = c.spread.outside(math.Abs(m.ChangeDeg))
	return m
}

// judge classifies each athlete's change, and marks the changes that are real after the correction for
// many comparisons by Holm 1979 (Scand J Stat 6:65; from memory): in 95 of 100 groups no unchanged
// athlete is marked, whatever errors the athletes share.
func (g *Group) judge() {
	order := make([]int, len(g.Members))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(g.Members[a].probability, g.Members[b].probability) })
	for rank, i := range order {
		if g.Members[i].probability > (1-g.Coverage)/float64(len(order)-rank) {
			break
		}
		g.Members[i].RealAmongAll = true
	}
	for i := range g.Members {
		m := &g.Members[i]
		low, high := m.IntervalDeg[0], m.IntervalDeg[1]
		if g.AtMost {
			low, high = -high, -low
		}
		switch {
		case low > 0:
			m.Class = GoesOn
		case high < 0:
			m.Class = FallsBack
		case low > -g.WorthDeg && high < g.WorthDeg:
			m.Class = StandsStill
		default:
			m.Class = NotKnown
		}
		m.RealAmongAll = m.RealAmongAll && (m.Class == GoesOn || m.Class == FallsBack)
	}
}

// Span is the first and the last day of all members.
func (g *Group) Span() (first, last time.Time) {
	first, last = g.Members[0].From, g.Members[0].To
	for _, m := range g.Members {
		if m.From.Before(first) {
			first = m.From
		}
		if m.To.After(last) {
			last = m.To
		}
	}
	return first, last
}

// InClass lists the athletes of one class.
func (g *Group) InClass(class Class) (out []Member) {
	for _, m := range g.Members {
		if m.Class == class {
			out = append(out, m)
		}
	}
	return out
}

// sentence is the mean change in one sentence.
func (g *Group) sentence() string {
	if g.Mean == nil {
		return "only one athlete has a change: a mean takes two"
	}
	return g.Mean.sentence(fmt.Sprintf("the mean change of %d athletes", g.Mean.Athletes))
}

// sentence is the mean with its interval and whether it is real; what names it.
func (p *Pooled) sentence(what string) string {
	deg, half := uncertainty.Format(p.MeanDeg, p.SmallestDeg)
	if p.MeanDeg >= 0 {
		deg = "+" + deg
	}
	if p.Real {
		return fmt.Sprintf("%s is %s° ± %s°, a real change", what, deg, half)
	}
	return fmt.Sprintf("%s is %s° ± %s°; these readings cannot tell that from no change", what, deg, half)
}

// Words are the change from the month before in one sentence.
func (m *MonthAgainst) Words() string {
	return m.sentence(fmt.Sprintf("%s against %s: the mean change of %d athletes", monthWords(m.Month), monthWords(m.Before), m.Athletes))
}

func monthWords(m time.Time) string { return m.Format("January 2006") }

// BetweenWords say how much the athletes' own changes differ.
func (p *Pooled) BetweenWords() string {
	low, high := uncertainty.Format(p.BetweenInterval[0], p.BetweenInterval[1])
	return fmt.Sprintf("the athletes' own changes differ by a standard deviation of %.1f° (%s° to %s°)", p.BetweenDeg, low, high)
}

// ClassWords are the printed names of the classes.
var ClassWords = map[Class]string{GoesOn: "goes on", StandsStill: "stands still", FallsBack: "falls back", NotKnown: "cannot be told"}

// ClassMeaning explains a class.
func (g *Group) ClassMeaning(class Class) string {
	up, down := "up", "down"
	if g.AtMost {
		up, down = down, up
	}
	switch class {
	case GoesOn:
		return up + ", by more than the error of measuring"
	case FallsBack:
		return down + ", by more than the error of measuring"
	case StandsStill:
		return fmt.Sprintf("changed by less than %g° either way", g.WorthDeg)
	}
	return "the readings leave it open"
}

func (g *Group) note() {
	addNote := func(format string, a ...any) { g.Notes = append(g.Notes, fmt.Sprintf(format, a...)) }
	if p := g.Mean; p != nil {
		addNote("%s", p.BetweenWords())
		if p.CommonDeg > 0 {
			addNote("%.1f° of the mean's standard uncertainty of %.1f° is from errors that the athletes' readings share or may share (rater, set-up, lens, state): more athletes do not average it out", p.CommonDeg, p.StandardDeg)
		}
		const few = 5
		if p.Athletes < few {
			addNote("%s are few: the interval of their mean is wide for that alone", plural(p.Athletes, "athlete", "athletes"))
		}
	}
	if n := len(g.Members); n > 1 {
		by := math.Round(float64(n)*(1-g.Coverage)*10) / 10
		addNote("among %d athletes of whom none had changed, about %g would be called changed by chance; 'sure' marks changes that are real also among so many", n, by)
		first, last := g.Members[0], g.Members[0]
		for _, m := range g.Members {
			if length(m) < length(first) {
				first = m
			}
			if length(m) > length(last) {
				last = m
			}
		}
		if a, b := length(first), length(last); b-a > 0.5 {
			addNote("the athletes' changes span %.1f to %.1f months", a, b)
		}
	}
	if g.State == "" {
		addNote("nobody said whether the athletes were cold or warm; range differs by it")
	}
	var why []string
	for _, l := range g.LeftOut {
		why = append(why, l.Athlete+" ("+l.Why+")")
	}
	if why != nil {
		addNote("not in the mean: %s", text.And(why))
	}
	addNote("mean with random effects over athletes (Paule and Mandel 1982), interval of Knapp and Hartung, never narrower than the normal one (Röver 2015), so that it holds for athletes like these")
}

// length is from the athlete's first to her last day, months.
func length(m Member) float64 { return months(m.From, m.To) }
