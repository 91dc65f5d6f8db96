package sheet

import (
	"fmt"
	"html/template"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// plainPage is the data of the athlete's and the parent's sheet.
type plainPage struct {
	W           plainWords
	Picture     picture
	Value, Plus string
	Says        []string
	Key         []string
	Cannot      []string
	Care        []string
}

func (s *setting) plain(w io.Writer, in Input, who Audience) error {
	r, t := in.Reading, s.words.plain[who]
	value, off := plainAngle(r)
	p := plainPage{W: t, Value: s.number(value, places(r)), Plus: fmt.Sprintf(t.off, s.number(off, places(r))), Cannot: t.cannot, Care: t.care}
	p.Says = []string{s.angleSentence(r, t), s.goalSentence(r, t), fmt.Sprintf(t.sure, s.number(off, places(r)))}
	if len(r.BentWords()) > 0 {
		p.Cannot = append([]string{t.bent}, p.Cannot...)
	}
	for i, k := range t.key {
		if i != 1 || r.Skill != nil {
			p.Key = append(p.Key, k)
		}
	}
	if r.Measure == "hip-split" || r.Measure == "leg-separation" {
		p.Care = append(p.Care[:len(p.Care):len(p.Care)], t.overSplit)
	}
	if in.Rule != nil {
		for _, c := range in.Rule.Cautions {
			// left out: the page says it already in plainer words
			if low := strings.ToLower(c); !strings.Contains(low, "pain") && !strings.Contains(low, "over-split") && !strings.Contains(low, "passive split") {
				p.Care = append(p.Care[:len(p.Care):len(p.Care)], s.sentence(c))
			}
		}
	}
	var err error
	if p.Picture, err = s.printPicture(&in, s.widthMM(), 112, athletePart(&in)); err != nil {
		return err
	}
	facts := s.facts(&in)
	return s.writePage(w, "plain", lookup(s.measure, r.Measure), t.title, facts[:3], p)
}

// places returns the number of decimals of angles in plain words: 1 if the expanded
// uncertainty is below one degree, else 0.
func places(r *reading.Reading) int {
	if r.ExpandedUncertaintyDeg < 1 {
		return 1
	}
	return 0
}

// plainAngle returns the angle and how far it may be off, in degrees with the decimals of places.
// off is the distance to the farther end of the interval, rounded up.
func plainAngle(r *reading.Reading) (value, off float64) {
	scale := math.Pow(10, float64(places(r)))
	value = math.Round(r.AngleDeg*scale) / scale
	far := max(r.IntervalDeg[1]-value, value-r.IntervalDeg[0])
	return value + 0, math.Ceil(far*scale-1e-9) / scale
}

// angleSentence returns the first sentence, on the angle.
func (s *setting) angleSentence(r *reading.Reading, t plainWords) string {
	value, _ := plainAngle(r)
	pattern, ok := t.angle[r.Measure]
	if !ok {
		pattern = t.anyAngle
	}
	if below, ok := t.below[r.Measure]; ok && value < 0 {
		return fmt.Sprintf(below, s.number(-value, places(r)))
	}
	return fmt.Sprintf(pattern, s.number(value, places(r)))
}

// goalSentence returns the second sentence: the angle asked, and whether it is reached.
func (s *setting) goalSentence(r *reading.Reading, t plainWords) string {
	v, k := r.Verdict, r.Skill
	if j := r.Judged(); j != nil {
		return fmt.Sprintf(t.widths, s.number(j.Ratio, 1))
	}
	if v == nil || k == nil {
		return t.noSkill
	}
	value, off := plainAngle(r)
	fill := func(pattern, asked string, by float64, enough string) string {
		return fillIn(pattern, asked, s.number(math.Abs(by), places(r)), enough, s.number(off, places(r)))
	}
	free := v.FreeDeg()
	if k.AtMost {
		pattern := map[reading.Decision]string{reading.Meets: t.kept, reading.Short: t.more}[v.Decision]
		switch {
		case r.TellsNothing():
			pattern = t.none
		case pattern == "":
			pattern = t.notMore
		case v.Decision == reading.Short && r.LimitDeg() == 0:
			pattern = t.away
		}
		return fill(pattern, s.plainDeg(r.LimitDeg()), math.Abs(value)-r.LimitDeg(), "")
	}
	pattern := map[reading.Decision]string{reading.Meets: t.meets, reading.Short: t.short}[v.Decision]
	if pattern == "" {
		pattern = t.undecided
	}
	enough := ""
	if free > 0 {
		enough = fmt.Sprintf(t.enough, s.plainDeg(k.ThresholdDeg-free))
	}
	return fill(pattern, s.plainDeg(k.ThresholdDeg), k.ThresholdDeg-free-value, enough)
}

// fillIn formats a sentence that may use only some of the arguments.
func fillIn(pattern string, a ...string) string {
	for i, x := range a {
		pattern = strings.ReplaceAll(pattern, fmt.Sprintf("%%[%d]s", i+1), x)
	}
	return pattern
}

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

// plainAngleWords returns an angle and how far it may be off, rounded as by plainAngle.
func plainAngleWords(deg float64, interval [2]float64) (value, off string) {
	r := reading.Reading{AngleDeg: deg, IntervalDeg: interval, ExpandedUncertaintyDeg: halfWidth(interval)}
	v, o := plainAngle(&r)
	return fmt.Sprintf("%.*f", places(&r), v), fmt.Sprintf("%.*f", places(&r), o)
}

// whatShows returns what a measure shows, as a part of a sentence.
func (s *setting) whatShows(who Audience, measure string) string {
	if w, ok := s.kind().shows[who][measure]; ok {
		return w
	}
	return lookup(s.measure, measure)
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
		if sentence := s.changeSentence(one, t); sentence != "" {
			if len(in.Trends) > 1 {
				d := one.Days[len(one.Days)-1]
				value, off := plainAngleWords(d.AngleDeg, d.IntervalDeg)
				sentence = fmt.Sprintf(t.side, capital(one.Side)) + lower(fmt.Sprintf(t.last, s.digits(value), s.digits(off), s.dateOf(d.Day))) + " " + sentence
			}
			p.Says = append(p.Says, sentence)
		}
	}
	if sentence := s.askedSentence(first, in.Trends, t); sentence != "" {
		p.Says = append(p.Says, sentence)
		p.Key += " " + t.key["asked"]
	}
	if len(in.Trends) == 1 {
		last := first.Days[len(first.Days)-1]
		value, off := plainAngleWords(last.AngleDeg, last.IntervalDeg)
		p.Value, p.Plus = s.digits(value)+"°", fmt.Sprintf(t.off, s.digits(off), s.dateOf(last.Day))
	}
	var bare []*change.Trend
	for _, one := range in.Trends {
		b := *one // only the days: no line and no smallest real change
		b.Line, b.Reach, b.ChangeDeg, b.SmallestDeg, b.Sentence = nil, nil, math.NaN(), 0, ""
		bare = append(bare, &b)
	}
	d, err := chart.Change(chart.ChangeData{Measure: in.Measure, Trends: bare}, s.chartOptions(plainChartMM))
	drawing, err := s.chartSVG(d, err)
	if err != nil {
		return err
	}
	p.Charts = []template.HTML{drawing}
	return s.writePage(w, "plainkind", lookup(s.measure, in.Measure), t.monthsTitle, []string{in.Who}, p)
}

// plainChartMM is the width of a drawing before it is enlarged to the page, in millimetres.
// Its text then has the size of the text around it.
const plainChartMM = 136

// changeSentence says whether an angle changed; "" if there is only one day.
func (s *setting) changeSentence(t *change.Trend, w plainKindWords) string {
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

// askedSentence returns the angle asked in words, and that it is reached if this holds for every
// trend.
func (s *setting) askedSentence(first *change.Trend, all []*change.Trend, w plainKindWords) string {
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

// levelRow is one row of the plain drawing: an angle with its interval, in degrees.
type levelRow struct {
	Name     string
	Deg      float64
	Interval [2]float64
}

// Sizes of the plain drawing, in millimetres.
const (
	levelsWide  = 186.0
	levelsLeft  = 46.0 // where the names end
	levelsRight = 178.0
	levelHigh   = 15.0
	levelsTop   = 11.0
)

// levels draws rows below each other on one ruler, each with a dot and a bar, and a dashed
// line for the angle asked, if that is not nil.
func (s *setting) levels(rows []levelRow, asked *float64, askedWords string) template.HTML {
	const halo = 0.45
	var e draw.Extent
	for _, r := range rows {
		e.Hold(r.Interval[0], r.Interval[1])
	}
	if asked != nil {
		e.Hold(*asked)
	}
	bottom := levelsTop + levelHigh*float64(len(rows))
	d := &draw.Sheet{W: levelsWide, H: bottom + 8, T: 3.4, L: draw.NewLetters()}
	k := draw.Scale{A: levelsLeft, B: levelsRight}
	k.From, k.To = e.Ends([2]float64{})
	label := func(x, y, align, size float64, face draw.Face, c color.NRGBA, text string) {
		d.HaloText(draw.Label{Text: text, X: x, Y: y, Align: align, Size: size, Face: face, Colour: c}, halo)
	}
	line := func(x1, y1, x2, y2 float64, p draw.Pen) {
		d.Line(p, draw.Point{X: x1, Y: y1}, draw.Point{X: x2, Y: y2})
	}
	for _, deg := range draw.Rounds(k, 5*d.T) {
		line(k.At(deg), levelsTop-3, k.At(deg), bottom, draw.Pen{Colour: draw.Rule, Width: 0.15})
		label(k.At(deg), bottom+5, 0.5, d.T, draw.Sans, draw.Faint, s.figures(deg))
	}
	line(k.A, bottom, k.B, bottom, draw.Pen{Colour: draw.Ink, Width: 0.3})
	var alt []string
	if asked != nil {
		x, half := k.At(*asked), d.L.Width(draw.Sans, 3.6, askedWords)/2
		line(x, levelsTop-4.5, x, bottom, draw.Pen{Colour: draw.Asked, Width: 0.45, Dash: []float64{2, 1.2}})
		label(min(x, levelsWide-half), levelsTop-6, 0.5, 3.6, draw.Sans, draw.Asked, askedWords)
		alt = append(alt, askedWords)
	}
	for i, r := range rows {
		y := levelsTop + levelHigh*(float64(i)+0.62)
		value, off := plainAngleWords(r.Deg, r.Interval)
		label(0, y+1.3, 0, 4.6, draw.Serif, draw.Ink, d.L.Cut(draw.Serif, 4.6, r.Name, levelsLeft-2))
		a, c := k.At(r.Interval[0]), k.At(r.Interval[1])
		line(a, y, c, y, draw.Pen{Colour: draw.Measured, Width: 1.1})
		for _, x := range []float64{a, c} {
			line(x, y-1.5, x, y+1.5, draw.Pen{Colour: draw.Measured, Width: 0.4})
		}
		at := draw.Point{X: k.At(r.Deg), Y: y}
		d.Disc(draw.White, at, 1.9)
		d.Disc(draw.Measured, at, 1.5)
		label(at.X, y-3.2, 0.5, 5.2, draw.Serif, draw.Ink, s.digits(value)+"° ± "+s.digits(off))
		alt = append(alt, fmt.Sprintf("%s %s° ± %s°", r.Name, s.digits(value), s.digits(off)))
	}
	return template.HTML(d.SVG(strings.Join(alt, "; "), "", 0))
}
