package sheet

import (
	"fmt"
	"io"
	"math"
	"strings"

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
	value, off := whole(r)
	p := plainPage{W: t, Value: s.number(value, places(r)), Plus: fmt.Sprintf(t.off, s.number(off, places(r))), Cannot: t.cannot, Care: t.care}
	p.Says = []string{s.sees(r, t), s.goal(r, t), fmt.Sprintf(t.sure, s.number(off, places(r)))}
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
	if p.Picture, err = s.printed(&in, s.widthMM(), 112, shown(&in)); err != nil {
		return err
	}
	facts := s.facts(&in)
	return s.page(w, "plain", look(s.measure, r.Measure), t.title, facts[:3], p)
}

// places returns the number of decimals of angles in plain words: 1 if the expanded
// uncertainty is below one degree, else 0.
func places(r *reading.Reading) int {
	if r.ExpandedUncertaintyDeg < 1 {
		return 1
	}
	return 0
}

// whole returns the angle and how far it may be off, in degrees with the decimals of places.
// off is the distance to the farther end of the interval, rounded up.
func whole(r *reading.Reading) (value, off float64) {
	scale := math.Pow(10, float64(places(r)))
	value = math.Round(r.AngleDeg*scale) / scale
	far := max(r.IntervalDeg[1]-value, value-r.IntervalDeg[0])
	return value + 0, math.Ceil(far*scale-1e-9) / scale
}

// sees returns the first sentence, on the angle.
func (s *setting) sees(r *reading.Reading, t plainWords) string {
	value, _ := whole(r)
	say, ok := t.angle[r.Measure]
	if !ok {
		say = t.anyAngle
	}
	if below, ok := t.below[r.Measure]; ok && value < 0 {
		return fmt.Sprintf(below, s.number(-value, places(r)))
	}
	return fmt.Sprintf(say, s.number(value, places(r)))
}

// goal returns the second sentence: the angle asked, and whether it is reached.
func (s *setting) goal(r *reading.Reading, t plainWords) string {
	v, k := r.Verdict, r.Skill
	if v == nil || k == nil {
		return t.noSkill
	}
	value, off := whole(r)
	fill := func(say, asked string, by float64, enough string) string {
		return clip(say, asked, s.number(math.Abs(by), places(r)), enough, s.number(off, places(r)))
	}
	free := v.FreeDeg()
	if k.AtMost {
		say := map[reading.Decision]string{reading.Meets: t.kept, reading.Short: t.more}[v.Decision]
		switch {
		case r.TellsNothing():
			say = t.none
		case say == "":
			say = t.notMore
		case v.Decision == reading.Short && r.LimitDeg() == 0:
			say = t.away
		}
		return fill(say, s.plainDeg(r.LimitDeg()), math.Abs(value)-r.LimitDeg(), "")
	}
	say := map[reading.Decision]string{reading.Meets: t.meets, reading.Short: t.short}[v.Decision]
	if say == "" {
		say = t.undecided
	}
	enough := ""
	if free > 0 {
		enough = fmt.Sprintf(t.enough, s.plainDeg(k.ThresholdDeg-free))
	}
	return fill(say, s.plainDeg(k.ThresholdDeg), k.ThresholdDeg-free-value, enough)
}

// clip formats a sentence that may use only some of the arguments.
func clip(say string, a ...string) string {
	for i, x := range a {
		say = strings.ReplaceAll(say, fmt.Sprintf("%%[%d]s", i+1), x)
	}
	return say
}
