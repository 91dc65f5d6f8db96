package sheet

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
)

// Coach is the default audience of the pages of months, of a screen and of a squad.
const Coach Audience = "coach"

// CoachAudiences are the possible audiences of these pages.
var CoachAudiences = []string{string(Coach), string(Athlete), string(Parent)}

// MonthsInput is one measure of one athlete over months, as package change has it.
type MonthsInput struct {
	Who      string
	Measure  string
	Trends   []*change.Trend // one, or one for each side
	Readings []change.Reading
	Beside   []BesideTrend     // of the angles read beside this one
	Sides    *change.Asymmetry // nil if there is no comparison of sides
	NoSides  string            // why there is none, if both sides were read
	Statures []chart.Stature   // the athlete's stature, the first day first
	WarmUp   *change.WarmUp    // cold to warm over all sessions; nil if there are fewer than two
	Sessions []change.Step
	Notes    []string
	Cautions []string
}

// BesideTrend is the trend of an angle that was read beside another one, with its name.
type BesideTrend struct {
	Name  string
	Trend *change.Trend
}

type monthsPage struct {
	W        *monthsWords
	Says     []string
	Chart    template.HTML
	Rows     []trendRow
	Days     []dayRow
	Angles   []string // heads of the days' angles
	MoreDays string
	Sides    []string
	WarmUp   string
	Steps    []string
	Notes    []string
	Cares    []string
}

type trendRow struct{ Kind, First, Last, Change, Smallest, Rate string }

type dayRow struct {
	Day    string
	Angles []string // by trend, "" if there is none
	Takes  string
	takes  int
}

// The number of rows that fit on a page beside the drawing.
const (
	mostDayRows  = 13
	mostStepRows = 6
	mostNotes    = 5
)

// coachSetting returns the setting of a page, and its audience: the coach if opt names none.
func coachSetting(opt Options) (*setting, Audience, error) {
	who := opt.For
	if who == "" {
		who = Coach
	}
	if !slices.Contains(CoachAudiences, string(who)) {
		return nil, who, problem("make it for coach, athlete or parent", "there is no such page for %q", string(who))
	}
	opt.For = ""
	s, err := newSetting(opt)
	return s, who, err
}

// WriteMonths writes a page on an athlete's readings over months.
func WriteMonths(w io.Writer, in MonthsInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if len(in.Trends) == 0 || len(in.Trends[0].Days) == 0 {
		return problem("keep some first: "+fault.Operation("keep a reading"), "there are no readings to put on a page of months")
	}
	if who != Coach {
		return s.plainMonths(w, in, who)
	}
	t := &s.kind().months
	p := monthsPage{W: t}
	d, err := chart.Change(chart.ChangeData{Who: in.Who, Measure: in.Measure, Trends: in.Trends, Readings: in.Readings, Sides: in.Sides, Statures: in.Statures}, s.chartOptions(s.widthMM()))
	if p.Chart, err = s.chartSVG(d, err); err != nil {
		return err
	}
	for _, one := range in.Trends {
		sentence := s.sentence(one.Sentence)
		if len(in.Trends) > 1 {
			sentence = one.Side + ": " + s.text(one.Sentence) + "."
		}
		p.Says = append(p.Says, sentence)
		p.Rows = append(p.Rows, s.trendRow(one))
		for _, n := range one.Notes {
			p.note(s, n)
		}
		why := map[string]int{}
		var order []string
		for _, l := range one.LeftOut {
			if why[l.Why]++; why[l.Why] == 1 {
				order = append(order, l.Why)
			}
		}
		for _, x := range order {
			p.note(s, fmt.Sprintf(t.leftOut, why[x], x))
		}
	}
	for _, b := range in.Beside {
		row := s.trendRow(b.Trend)
		row.Kind = b.Name
		p.Rows = append(p.Rows, row)
	}
	p.days(s, in.Trends)
	if in.Sides != nil {
		p.Sides = append(p.Sides, s.sentence(in.Sides.Sentence))
	} else if in.NoSides != "" {
		p.Sides = append(p.Sides, s.sentence(fmt.Sprintf(t.noSides, in.NoSides)))
	}
	if in.WarmUp != nil {
		p.WarmUp = s.sentence(in.WarmUp.Sentence)
	}
	p.steps(s, in.Sessions)
	for _, n := range in.Notes {
		p.note(s, n)
	}
	if over := len(p.Notes) - mostNotes; over > 0 {
		p.Notes = p.Notes[:mostNotes]
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	return s.writePage(w, "months", lookup(s.measure, in.Measure), t.title, []string{in.Who, s.span(in.Trends)}, p)
}

func (p *monthsPage) note(s *setting, note string) {
	if note = s.sentence(note); note != "" && !slices.Contains(p.Notes, note) {
		p.Notes = append(p.Notes, note)
	}
}

// ends returns the first and the last day of all trends.
func ends(trends []*change.Trend) (first, last time.Time) {
	first, last = trends[0].Days[0].Day, trends[0].Days[0].Day
	for _, t := range trends {
		for _, d := range t.Days {
			if d.Day.Before(first) {
				first = d.Day
			}
			if d.Day.After(last) {
				last = d.Day
			}
		}
	}
	return first, last
}

// span returns the first and the last day in words.
func (s *setting) span(trends []*change.Trend) string {
	return s.between(ends(trends))
}

// between returns two days in words.
func (s *setting) between(first, last time.Time) string {
	if first.Equal(last) {
		return s.dateOf(first)
	}
	return fmt.Sprintf(s.kind().months.span, s.dateOf(first), s.dateOf(last))
}

// plusMinus formats a value with its expanded uncertainty, in degrees.
func (s *setting) plusMinus(v, u float64) string {
	a, b := s.pair(v, u)
	return a + "° ± " + b + "°"
}

// signed is plusMinus with a sign.
func (s *setting) signed(v, u float64) string {
	a, b := s.pair(v, u)
	if !strings.HasPrefix(a, "−") {
		a = "+" + a
	}
	return a + "° ± " + b
}

func halfWidth(interval [2]float64) float64 { return (interval[1] - interval[0]) / 2 }

func (s *setting) trendRow(t *change.Trend) trendRow {
	w := &s.kind().months
	var kind []string
	for _, x := range []string{movement.VariantWords(t.Measure, t.Variant), t.Side, t.Condition, lookup(s.state, t.State)} {
		if x != "" {
			kind = append(kind, x)
		}
	}
	first, last := t.Days[0], t.Days[len(t.Days)-1]
	r := trendRow{Kind: strings.Join(kind, ", "), First: s.plusMinus(first.AngleDeg, halfWidth(first.IntervalDeg)), Last: s.plusMinus(last.AngleDeg, halfWidth(last.IntervalDeg)),
		Change: w.notKnown, Smallest: w.notKnown, Rate: w.notKnown}
	if len(t.Days) > 1 && t.SmallestDeg > 0 {
		r.Change = strings.Split(s.signed(t.ChangeDeg, t.SmallestDeg), " ± ")[0]
		_, u := s.pair(0, t.SmallestDeg)
		r.Smallest = u + "°"
	}
	if l := t.Line; l != nil {
		r.Rate = fmt.Sprintf(w.aMonth, s.signed(l.SlopeDeg, math.Abs(l.SlopeIntervalDeg[1]-l.SlopeDeg)))
	}
	return r
}

// days adds the rows of the days: the first, and as many of the last as fit.
func (p *monthsPage) days(s *setting, trends []*change.Trend) {
	rows := map[string]*dayRow{}
	var order []string
	for i, t := range trends {
		p.Angles = append(p.Angles, p.W.Angle)
		if len(trends) > 1 {
			p.Angles[i] = t.Side
		}
		for _, d := range t.Days {
			day := d.Day.Format("2006-01-02")
			if rows[day] == nil {
				rows[day] = &dayRow{Day: day, Angles: make([]string, len(trends))}
				order = append(order, day)
			}
			rows[day].Angles[i] = s.plusMinus(d.AngleDeg, halfWidth(d.IntervalDeg))
			rows[day].takes += len(d.Readings)
		}
	}
	slices.Sort(order)
	hidden := max(0, len(order)-mostDayRows)
	for i, day := range order {
		if i == 0 || i > hidden {
			rows[day].Takes = s.number(float64(rows[day].takes), 0)
			p.Days = append(p.Days, *rows[day])
		}
	}
	if hidden > 0 {
		p.MoreDays = fmt.Sprintf(p.W.moreDays, hidden)
	}
}

// steps adds the last sessions in which states were compared.
func (p *monthsPage) steps(s *setting, steps []change.Step) {
	t := p.W
	if over := len(steps) - mostStepRows; over > 0 {
		p.Steps = append(p.Steps, fmt.Sprintf(t.moreSteps, over))
		steps = steps[over:]
	}
	for _, x := range steps {
		verdict := t.real
		if !x.Real {
			_, u := s.pair(0, x.SmallestDeg)
			verdict = fmt.Sprintf(t.notReal, u)
		}
		p.Steps = append(p.Steps, fmt.Sprintf(t.step, x.Day.Format("2006-01-02"), x.From, x.To, s.signed(x.ChangeDeg, x.SmallestDeg), verdict))
	}
}
