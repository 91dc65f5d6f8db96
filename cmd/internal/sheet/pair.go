package sheet

import (
	"fmt"
	"html/template"
	"image"
	"io"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
)

// pairPage is the data of the page with two takes side by side.
type pairPage struct {
	W      pairWords
	Sides  [2]pairSide
	Verb   string
	Says   []string
	Shared string
	Notes  []string
	Cares  []string
}

type pairSide struct {
	Name, Value, Plus, Head, Between string
	Facts                            []string
	Picture                          picture
	Ruler                            template.HTML
	Say                              string
	Covered                          bool
	Take                             string
}

// WritePair writes a page with two readings of one measure side by side, both athletes at the
// same scale and level, and with their difference and its uncertainty. a and b are in the
// order of d.
func WritePair(w io.Writer, a, b Input, d *change.Difference, opt Options) error {
	s, err := newSetting(opt)
	if err != nil {
		return err
	}
	ins := [2]Input{a, b}
	for i := range ins {
		if err := ins[i].check(); err != nil {
			return err
		}
	}
	if d == nil {
		return problem("compare them first", "how the two readings differ is not known")
	}
	if err := Alike(a.Reading, b.Reading); err != nil {
		return err
	}
	return s.writePair(w, ins, d)
}

// Alike returns the error of two readings that cannot stand side by side: of different measures,
// or against different skills.
func Alike(a, b *reading.Reading) error {
	if a.Measure != b.Measure {
		return problem("give two readings of one measure", "one reading is of %s and the other of %s", a.Measure, b.Measure)
	}
	if x, y := a.Skill, b.Skill; x != nil && y != nil && (x.Rulebook != y.Rulebook || x.Name != y.Name || x.ThresholdDeg != y.ThresholdDeg) {
		return problem("read both against one skill", "one reading is compared with %s/%s and the other with %s/%s", x.Rulebook, x.Name, y.Rulebook, y.Name)
	}
	return nil
}

// PairWords says whether two readings differ, by how much, and what cancels between them.
func PairWords(d *change.Difference, opt Options) ([]string, error) {
	s, err := newSetting(opt)
	if err != nil {
		return nil, err
	}
	var p pairPage
	s.describeDifference(&p, d)
	return append(append([]string{s.words.beside.Differ + ": " + p.Verb}, p.Says...), p.Shared), nil
}

func (s *setting) writePair(w io.Writer, ins [2]Input, d *change.Difference) error {
	t := &s.words.beside
	p := pairPage{W: *t}
	notLevelled := ""
	for i, name := range [2]string{t.first, t.second} {
		p.Sides[i].Name = name
		if rotated, ok := rotatedLevel(ins[i]); ok {
			ins[i] = rotated
		} else {
			notLevelled = s.list(append(listed(notLevelled), name))
		}
	}
	rs, sizes := [2]*reading.Reading{ins[0].Reading, ins[1].Reading}, [2]image.Point{ins[0].Picture.Bounds().Size(), ins[1].Picture.Bounds().Size()}
	parts, equal := EquallyLarge(rs, sizes)
	if !equal {
		parts = [2]image.Rectangle{athletePart(&ins[0]), athletePart(&ins[1])}
	}
	if equal {
		p.Notes = append(p.Notes, t.scale)
	} else {
		p.Notes = append(p.Notes, t.noScale)
	}
	if notLevelled == "" {
		p.Notes = append(p.Notes, t.level)
	} else {
		p.Notes = append(p.Notes, fmt.Sprintf(t.asHeld, notLevelled))
	}
	ends := CommonRange(rs[0], rs[1])
	rulers := 0.0
	for i := range ins {
		high, err := s.side(&p.Sides[i], &ins[i], ends)
		if err != nil {
			return err
		}
		rulers += high + 1
	}
	s.describeDifference(&p, d)
	p.Notes = append(p.Notes, t.cautions)
	for _, c := range d.Cautions {
		p.Notes = append(p.Notes, s.sentence(c))
	}
	for i := range ins {
		for _, c := range ins[i].Reading.ChiefCautions() {
			if c = s.sentence(c); !slices.Contains(p.Cares, c) {
				p.Cares = append(p.Cares, c)
			}
		}
	}
	// the pictures get the height that the text leaves
	high := min(max(s.heightMM()-edgesMM-headMM-rulers-p.textMM(), leastPair), 96)
	for i := range ins {
		var err error
		if p.Sides[i].Picture, err = s.printPicture(&ins[i], (s.widthMM()-8)/2-2.4, high, parts[i]); err != nil {
			return err
		}
	}
	var facts []string
	if ins[0].Who == ins[1].Who {
		facts = append(facts, ins[0].Who)
		for i := range p.Sides {
			if f := p.Sides[i].Facts; ins[0].Who != "" && len(f) > 0 {
				p.Sides[i].Facts = f[1:]
			}
		}
	}
	return s.writePage(w, "pair", lookup(s.measure, ins[0].Reading.Measure), t.title, facts, p)
}

func listed(s string) []string {
	if s == "" {
		return nil
	}
	return []string{s}
}

// leastPair is the least height of each of the two pictures, in millimetres.
const leastPair = 36

// textMM estimates the height of the page's text, in millimetres.
func (p *pairPage) textMM() float64 {
	const half = 48.0 // characters of a column
	h := 0.0
	for _, s := range p.Sides {
		one := headingMM + 15 + lineMM*lineCount(s.Between, half) + lineMM*lineCount(s.Say, half)
		if s.Covered {
			one += lineMM
		}
		if s.Head != "" {
			one += 9
		}
		h = max(h, one)
	}
	h += 2*gapMM + headingMM + 7.5 // the two rules across, and the last part's heads
	for _, s := range append(p.Says, p.Shared) {
		h += lineMM * lineCount(s, footChars)
	}
	return h + 3 + footMM*(lineCount(strings.Join(p.Notes, " "), footChars)+lineCount(strings.Join(p.Cares, " "), footChars)+1) + 2
}

// side fills in one of the two sides, except for its picture, and returns the height of its
// ruler in millimetres.
func (s *setting) side(out *pairSide, in *Input, ends [2]float64) (rulerMM float64, err error) {
	r := in.Reading
	out.Covered = len(in.Covers) > 0
	out.Value, out.Plus = s.pair(r.AngleDeg, r.ExpandedUncertaintyDeg)
	out.Between = s.localLine(r.BetweenWords())
	for _, f := range s.facts(in) {
		if f != "" {
			out.Facts = append(out.Facts, f)
		}
	}
	if r.Verdict != nil && r.Skill != nil {
		head, _, says := s.verdictWords(r)
		out.Head, out.Say = head, strings.Join(says, " ")
	}
	if len(r.Take.SHA256) >= 8 {
		out.Take = fmt.Sprintf(s.take, r.Take.SHA256[:8])
	}
	o := s.chartOptions(s.widthMM())
	o.RangeDeg = ends
	d, err := chart.Ruler(chart.RulerData{Reading: s.localised(r)}, o)
	out.Ruler, err = s.chartSVG(d, err)
	return heightOf(d, s.widthMM()), err
}

// describeDifference words the difference of the two readings in words.
func (s *setting) describeDifference(p *pairPage, d *change.Difference) {
	t := &s.words.beside
	p.Verb = t.realNot
	if d.Real {
		p.Verb = t.real
	}
	by, plus := s.pair(math.Abs(d.ChangeDeg), d.SmallestDeg)
	pattern := t.wider
	if d.ChangeDeg < 0 {
		pattern = t.narrower
	}
	p.Says = append(p.Says, fmt.Sprintf(pattern, by, plus))
	var shared []string
	for _, x := range d.Shared {
		shared = append(shared, lookup(s.source, x.Source))
	}
	if len(shared) == 0 {
		p.Shared = t.sharedNothing
		return
	}
	_, alone := s.pair(d.AloneDeg, d.AloneDeg)
	p.Shared = fmt.Sprintf(t.shared, s.list(shared), alone)
}

// CommonRange returns the ends of both rulers of two readings, multiples of 5 degrees.
func CommonRange(a, b *reading.Reading) [2]float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range [2]*reading.Reading{a, b} {
		u := r.ExpandedUncertaintyDeg
		lo, hi = min(lo, r.AngleDeg-2.2*u), max(hi, r.AngleDeg+2.2*u)
		if r.Skill != nil {
			lo, hi = min(lo, r.Skill.ThresholdDeg-5), max(hi, r.Skill.ThresholdDeg+5)
		}
	}
	return [2]float64{5 * math.Floor(lo/5), 5 * math.Ceil(hi/5)}
}

// EquallyLarge returns parts of the frames of two readings, of the sizes given, that are of equal
// size in statures around the vertex of the angle; they may reach beyond the frame. It reports
// false if the marks do not give the size of an athlete in the picture.
func EquallyLarge(rs [2]*reading.Reading, sizes [2]image.Point) (parts [2]image.Rectangle, ok bool) {
	var tall [2]float64
	var left, right, up, down float64
	for i, r := range rs {
		parts[i] = figure.Around(r, sizes[i], 0.9)
		tall[i] = figure.Stature(r)
		if !(tall[i] > 0) {
			return parts, false
		}
		at := r.Lines[1]
		left = max(left, (at.FromX-float64(parts[i].Min.X))/tall[i])
		right = max(right, (float64(parts[i].Max.X)-at.FromX)/tall[i])
		up = max(up, (at.FromY-float64(parts[i].Min.Y))/tall[i])
		down = max(down, (float64(parts[i].Max.Y)-at.FromY)/tall[i])
	}
	for i, r := range rs {
		at := r.Lines[1]
		round := func(v float64) int { return int(math.Round(v)) }
		parts[i] = image.Rect(round(at.FromX-left*tall[i]), round(at.FromY-up*tall[i]), round(at.FromX+right*tall[i]), round(at.FromY+down*tall[i]))
	}
	return parts, true
}
