package sheet

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/reading"
)

// plainKindPage is the data of a page of months, a screen or a session in plain words.
type plainKindPage struct {
	W           plainWords
	Value, Plus string // large; may be empty
	Says        []string
	Charts      []template.HTML
	Key         string
	Cannot      []string
	Care        []string
}

// plainCare returns the cautions of a page in plain words.
func (s *setting) plainCare(who Audience, measure string) []string {
	t := s.words.plain[who]
	care := slices.Clone(t.care)
	if measure == "hip-split" || measure == "leg-separation" {
		care = append(care, t.overSplit)
	}
	return care
}

// roundly returns an angle and how far it may be off, in whole degrees, rounded as in whole.
func roundly(deg float64, interval [2]float64) (value, off string) {
	r := reading.Reading{AngleDeg: deg, IntervalDeg: interval, ExpandedUncertaintyDeg: half(interval)}
	v, o := whole(&r)
	return fmt.Sprintf("%.*f", places(&r), v), fmt.Sprintf("%.*f", places(&r), o)
}

// whatShows returns what a measure shows, as a part of a sentence.
func (s *setting) whatShows(who Audience, measure string) string {
	if w, ok := s.kind().shows[who][measure]; ok {
		return w
	}
	return look(s.measure, measure)
}

func (s *setting) plainMonths(w io.Writer, in MonthsInput, who Audience) error {
	t := s.kind().plain[who]
	p := plainKindPage{W: s.words.plain[who], Key: t.key["months"], Cannot: t.cannotMonths, Care: s.plainCare(who, in.Measure)}
	first := in.Trends[0]
	days := map[string]bool{}
	for _, one := range in.Trends {
		for _, d := range one.Days {
			days[d.Day.Format("2006-01-02")] = true
		}
	}
	shows := s.whatShows(who, in.Measure)
	if len(days) == 1 {
		p.Says = append(p.Says, fmt.Sprintf(t.oneDay, shows, s.dateOf(first.Days[0].Day)))
	} else {
		from, to := ends(in.Trends)
		p.Says = append(p.Says, fmt.Sprintf(t.days, shows, s.number(float64(len(days)), 0), s.dateOf(from), s.dateOf(to)))
	}
	for _, one := range in.Trends {
		if say := s.wentBy(one, t); say != "" {
			if len(in.Trends) > 1 {
				d := one.Days[len(one.Days)-1]
				value, off := roundly(d.AngleDeg, d.IntervalDeg)
				say = fmt.Sprintf(t.side, capital(one.Side)) + lower(fmt.Sprintf(t.last, s.digits(value), s.digits(off), s.dateOf(d.Day))) + " " + say
			}
			p.Says = append(p.Says, say)
		}
	}
	if say := s.plainAsk(first, in.Trends, t); say != "" {
		p.Says = append(p.Says, say)
		p.Key += " " + t.key["asked"]
	}
	if len(in.Trends) == 1 {
		last := first.Days[len(first.Days)-1]
		value, off := roundly(last.AngleDeg, last.IntervalDeg)
		p.Value, p.Plus = s.digits(value)+"°", fmt.Sprintf(t.off, s.digits(off), s.dateOf(last.Day))
	}
	var bare []*change.Trend
	for _, one := range in.Trends {
		b := *one // only the days: no line and no smallest real change
		b.Line, b.Reach, b.ChangeDeg, b.SmallestDeg, b.Sentence = nil, nil, math.NaN(), 0, ""
		bare = append(bare, &b)
	}
	d, err := chart.Change(chart.ChangeData{Measure: in.Measure, Trends: bare}, s.chartOptions(plainChartMM))
	drawing, err := s.drawn(d, err)
	if err != nil {
		return err
	}
	p.Charts = []template.HTML{drawing}
	return s.page(w, "plainkind", look(s.measure, in.Measure), t.monthsTitle, []string{in.Who}, p)
}

// plainChartMM is the width of a drawing before it is enlarged to the page, in millimetres.
// Its text then has the size of the text around it.
const plainChartMM = 136

// wentBy says whether an angle changed; "" if there is only one day.
func (s *setting) wentBy(t *change.Trend, w plainKindWords) string {
	up := math.Round(math.Abs(t.ChangeDeg))
	switch {
	case len(t.Days) < 2:
		return ""
	case t.Real && t.ChangeDeg > 0:
		return fmt.Sprintf(w.up, s.number(up, 0), s.number(math.Ceil(t.SmallestDeg), 0))
	case t.Real:
		return fmt.Sprintf(w.down, s.number(up, 0), s.number(math.Ceil(t.SmallestDeg), 0))
	case t.SmallestDeg > 0:
		return fmt.Sprintf(w.unseen, s.number(math.Ceil(t.SmallestDeg), 0))
	}
	return w.unknown
}

// plainAsk returns the angle asked in words, and that it is reached if this holds for every
// trend.
func (s *setting) plainAsk(first *change.Trend, all []*change.Trend, w plainKindWords) string {
	if first.AskedDeg == nil {
		return ""
	}
	asked := s.plainDeg(*first.AskedDeg)
	if first.AtMost {
		return fmt.Sprintf(w.allows, asked)
	}
	for _, t := range all {
		if t.Reach == nil || t.Reach.Status != change.Reached {
			return fmt.Sprintf(w.asks, asked)
		}
	}
	return fmt.Sprintf(w.reached, asked)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
