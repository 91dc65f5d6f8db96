package sheet

import (
	"cmp"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
)

// judgePage is the data of the judge's sheet.
type judgePage struct {
	W       judgeWords
	Picture picture
	Value   string
	Plus    string
	Between string
	Raw     string
	Head    string
	Asked   string // "" where no angle is asked for
	Widths  string // how far the legs are apart, where that is judged
	Says    []string
	Ruler   template.HTML
	Rule    *rulePage
	NoRule  []string
	Budget  template.HTML
	Out     string
	Better  []string
	Notes   []string
	Cares   []string
	Dense   bool
	Take    string
}

// rulePage is a summary of the rule in our own words.
type rulePage struct {
	Title  string
	By     string // head of the first column
	Rows   []ruleRow
	Facts  [][2]string
	Known  string
	Says   []string
	Origin []string // sources of bands whose figures have their own source
}

type ruleRow struct{ Range, Deduction, Chance string }

func (s *setting) judge(w io.Writer, in Input) error {
	r, t := in.Reading, &s.words.judge
	v, u := s.pair(r.AngleDeg, r.ExpandedUncertaintyDeg)
	p := judgePage{W: *t, Value: v, Plus: u, Between: s.localLine(r.BetweenWords())}
	if raw := s.value(r.PictureAngleDeg, r.ExpandedUncertaintyDeg); raw != v {
		p.Raw = fmt.Sprintf(t.straight, raw)
	}
	width := s.widthMM()
	ruler, err := chart.Ruler(chart.RulerData{Reading: s.localised(r)}, s.chartOptions(width))
	if p.Ruler, err = s.chartSVG(ruler, err); err != nil {
		return err
	}
	if r.Verdict != nil && r.Skill != nil {
		p.Head, p.Asked, p.Says = s.verdictWords(r)
		p.Rule = s.rule(r, in.Rule)
		if in.Rule == nil {
			p.NoRule = []string{fmt.Sprintf(t.noRule, r.Skill.Rulebook)}
		}
	} else if j := r.Judged(); j != nil {
		says := j.Says()
		p.Head, p.Widths, p.Rule = s.localLine(says[0]), s.sentence(says[1]), s.ratioRule(j, in.Rule)
		if in.Rule == nil {
			p.NoRule = []string{fmt.Sprintf(t.noRule, j.Rule.Rulebook)}
		}
	} else {
		p.NoRule = []string{t.noSkill, t.noSkillDo}
	}
	for _, line := range slices.Concat(r.KneeWords(), r.BesideWords()) {
		p.Says = append(p.Says, s.sentence(line))
	}
	name := func(source string) string { return lookup(s.source, source) }
	bare, few := *r, 0
	bare.NotIncluded, bare.Budget = nil, nil // the text beside the chart lists what is left out
	for _, row := range r.Budget {
		if math.Abs(row.Share) < leastShare {
			few++
			continue
		}
		bare.Budget = append(bare.Budget, row)
	}
	budget, err := chart.Budget(chart.BudgetData{Reading: &bare, Name: name}, s.chartOptions(chart.MinWidthMM))
	if p.Budget, err = s.chartSVG(budget, err); err != nil {
		return err
	}
	var out []string
	for _, n := range r.NotIncluded {
		w := name(n)
		if m := r.Moment; n == reading.SourceTiming && m != nil {
			w = fmt.Sprintf(t.missed, w, s.number(m.LeastDeg, 1), s.number(m.MostDeg, 1))
		}
		out = append(out, w)
	}
	if few > 0 {
		p.Out = fmt.Sprintf(t.fewer, s.number(float64(few), 0)) + " "
	}
	if len(out) > 0 {
		p.Out += fmt.Sprintf(t.notIncluded, s.list(out))
	}
	p.Out = strings.TrimSpace(p.Out + " " + t.rests)
	p.Better = s.improvements(r)
	for _, n := range r.Notes {
		p.Notes = append(p.Notes, s.sentence(n))
	}
	for i, c := range r.Cautions {
		if i == 0 || !strings.Contains(strings.ToLower(c), "pain") { // the first one says that pain means stop
			p.Cares = append(p.Cares, s.sentence(c))
		}
	}
	if len(r.Take.SHA256) >= 8 {
		p.Take = fmt.Sprintf(s.take, r.Take.SHA256[:8])
	}
	// the picture gets the height that the text leaves, and stands beside a column
	high := p.pictureMM(s.heightMM(), heightOf(ruler, width), heightOf(budget, budgetMM))
	if p.Picture, err = s.printPicture(&in, 0.62*width, high, athletePart(&in)); err != nil {
		return err
	}
	return s.writePage(w, "judge", lookup(s.measure, r.Measure), t.title, s.facts(&in), p)
}

// leastShare is the smallest share of the variance of a source that the sheet shows.
const leastShare = 0.005

// budgetMM is the width of the budget chart on the page, in millimetres.
const budgetMM = 102

// verdictWords returns the verdict in words: the band, or those between which the picture cannot
// decide, as head; the angle asked; and sentences on the difference.
func (s *setting) verdictWords(r *reading.Reading) (head, asked string, says []string) {
	all := r.Says()
	for _, line := range all[1:] {
		says = append(says, s.sentence(line))
	}
	return s.localLine(all[0]), s.askedOf(r), says
}

func bandName(b reading.BandProbability) string {
	if b.Deduction != "" {
		return b.Deduction
	}
	return b.Label
}

// plainDeg formats an angle of a rule book.
func (s *setting) plainDeg(v float64) string { return s.figures(v) }

// rule summarises the rule: the bands with their deductions and their probabilities for
// this reading, and the source of the figures.
func (s *setting) rule(r *reading.Reading, k *rulebook.Skill) *rulePage {
	t, ref := &s.words.judge, r.Skill
	p := &rulePage{Title: ref.Title, Known: lookup(s.known, ref.Provenance)}
	p.By = t.Band
	meet := t.meet
	if ref.AtMost {
		p.By, meet = t.BandOff, t.meetOff
	}
	met := r.Outcomes()[0]
	if r.EitherWay() {
		meet = met.Words
	}
	p.Rows = append(p.Rows, ruleRow{meet, "–", reading.Percent(met.Probability)})
	if free := r.Verdict.FreeDeg(); free > 0 {
		p.Rows[0].Range = fmt.Sprintf(t.to, s.plainDeg(free))
	}
	for _, b := range r.Verdict.Bands {
		row := ruleRow{Range: s.rangeOf(b), Deduction: s.text(bandName(b)), Chance: reading.Percent(b.Probability)}
		p.Rows = append(p.Rows, row)
	}
	s.origins(p, ref.Edition, ref.Source, k)
	return p
}

// ratioRule is rule for a ratio of lengths.
func (s *setting) ratioRule(j *reading.Proportion, k *rulebook.Skill) *rulePage {
	t := &s.words.judge
	p := &rulePage{Title: j.Rule.Title, By: t.Widths, Known: lookup(s.known, j.Rule.Provenance)}
	for _, b := range j.Outcomes() {
		p.Rows = append(p.Rows, ruleRow{s.text(b.Where()), s.text(cmp.Or(b.Deduction, b.Label)), reading.Percent(b.Probability)})
	}
	s.origins(p, j.Rule.Edition, j.Rule.Source, k)
	return p
}

// origins adds where the figures of a rule come from: those of its entry k, or edition and source if it is not at hand.
func (s *setting) origins(p *rulePage, edition, source string, k *rulebook.Skill) {
	t := &s.words.judge
	addFact := func(name, value string) {
		if value != "" {
			p.Facts = append(p.Facts, [2]string{name, value})
		}
	}
	if k == nil {
		addFact(t.edition, edition)
		addFact(t.source, source)
		return
	}
	addFact(t.document, k.Origin.Document)
	addFact(t.edition, k.Origin.Edition)
	addFact(t.section, k.Origin.Section)
	addFact(t.source, k.Origin.Source)
	addFact(t.seen, k.Origin.Seen)
	for _, b := range k.Bands {
		if o := b.Origin; o != nil {
			name := b.Deduction
			if name == "" {
				name = b.Label
			}
			p.Origin = append(p.Origin, fmt.Sprintf(t.bandOrigin, s.text(name), strings.Join([]string{o.String(), o.Edition, lookup(s.known, string(o.Provenance))}, "; ")))
		}
	}
}

// rangeOf returns the range of a band in words, in degrees short.
func (s *setting) rangeOf(b reading.BandProbability) string {
	t := &s.words.judge
	switch {
	case b.ToDeg == nil && b.FromDeg == 0:
		return fmt.Sprintf(t.over, "0")
	case b.ToDeg == nil:
		return fmt.Sprintf(t.over, s.plainDeg(b.FromDeg))
	}
	return fmt.Sprintf(t.from, s.plainDeg(b.FromDeg), s.plainDeg(*b.ToDeg))
}

// askedOf returns the angle that a skill asks for, in words.
func (s *setting) askedOf(r *reading.Reading) string {
	return fmt.Sprintf(s.words.judge.asked, s.localLine(r.AskedWords()))
}

// localLine returns a line of text from the reading, with numbers in the locale's form.
func (s *setting) localLine(line string) string {
	return reading.Minus(s.text(line))
}

// improvements says how small the uncertainty would have to be for a decision, and which frames
// would help. Advice on camera and marks is for the person who films and is not on the sheet.
func (s *setting) improvements(r *reading.Reading) []string {
	t := &s.words.judge
	var out []string
	if name, u, ok := s.neededUncertainty(r); ok {
		need := u * r.ExpandedUncertaintyDeg / r.StandardUncertaintyDeg
		_, now := s.pair(r.AngleDeg, r.ExpandedUncertaintyDeg)
		out = append(out, fmt.Sprintf(t.needed, s.text(name), s.value(need, need), now))
	}
	if slices.Contains(r.NotIncluded, reading.SourceTiming) && (r.Take.Frame > 0 || r.Take.TimeS > 0) {
		out = append(out, t.moment)
	}
	return out
}

// sentence returns a line of text from the reading as a sentence.
func (s *setting) sentence(line string) string {
	line = strings.TrimSpace(line)
	if line == "" {
		return ""
	}
	rs := []rune(s.localLine(line))
	out := strings.ToUpper(string(rs[:1])) + string(rs[1:])
	if !strings.ContainsAny(out[len(out)-1:], ".!?") {
		out += "."
	}
	return out
}

// neededUncertainty returns the largest standard uncertainty, in degrees, at which the most probable
// outcome would have the probability needed for a decision, if the angle were the same and
// normally distributed. It reports false if the outcome is already decided, or if no
// uncertainty would be small enough.
func (s *setting) neededUncertainty(r *reading.Reading) (name string, standard float64, ok bool) {
	v := r.Verdict
	if v == nil || r.Skill == nil || !(r.StandardUncertaintyDeg > 0) {
		return "", 0, false
	}
	o := r.Likely()[0]
	m := v.ShortfallDeg
	if o.Probability >= v.Confidence || r.TellsNothing() || m <= o.FromDeg || m >= o.ToDeg {
		return "", 0, false
	}
	inside := func(u float64) float64 {
		cdf := func(x float64) float64 { return 0.5 * math.Erfc(-(x-m)/(u*math.Sqrt2)) }
		return cdf(o.ToDeg) - cdf(o.FromDeg)
	}
	// inside decreases from 1 as u grows
	lo, hi := 0.0, 2*r.StandardUncertaintyDeg
	for range 60 {
		if mid := (lo + hi) / 2; inside(mid) >= v.Confidence {
			lo = mid
		} else {
			hi = mid
		}
	}
	const least = 1e-3 // degrees: not achievable; the angle is then on a limit
	if lo < least || lo >= r.StandardUncertaintyDeg {
		return "", 0, false
	}
	return o.Words, lo, true
}
