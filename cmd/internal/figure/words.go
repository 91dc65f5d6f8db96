package figure

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// written is a reading's numbers as people read them.
type written struct {
	Value, Plus string // "162.4°", "± 3.1"
	Between     string // "between 159.4 and 165.6 in 95 of 100 such readings"
	Picture     string // how the angle looks on the picture, where that differs
}

func write(r *reading.Reading, opt Options) written {
	v, u := opt.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	lo, _ := opt.Format(r.IntervalDeg[0], r.ExpandedUncertaintyDeg)
	hi, _ := opt.Format(r.IntervalDeg[1], r.ExpandedUncertaintyDeg)
	p, _ := opt.Format(r.PictureAngleDeg, r.ExpandedUncertaintyDeg)
	w := written{
		Value:   hand.Minus(v) + "°",
		Plus:    "± " + u,
		Between: fmt.Sprintf("between %s and %s in %s such readings", hand.Minus(lo), hand.Minus(hi), hand.Of100(r.Coverage)),
	}
	if p != v {
		w.Picture = fmt.Sprintf("straight off the picture %s°", hand.Minus(p))
	}
	return w
}

// decided is a verdict in words: a headline and what stands below it.
type decided struct{ Head, Tail string }

func decide(r *reading.Reading, opt Options) decided {
	s, v := r.Skill, r.Verdict
	if s == nil || v == nil {
		return decided{}
	}
	short, _ := opt.Format(math.Abs(v.ShortfallDeg), r.ExpandedUncertaintyDeg)
	what := hand.Deg(s.ThresholdDeg) + "°"
	if s.AtMost && s.ThresholdDeg > 0 {
		what = "at most " + what
	}
	is := " is asked"
	if free := freeDeg(v); free > 0 {
		what += fmt.Sprintf(", %s° free", hand.Deg(free))
		is = " asked"
	}
	switch v.Decision {
	case reading.Meets:
		return decided{"meets what is asked", fmt.Sprintf("%s, in %s", what, hand.Of100(v.MeetsProbability))}
	case reading.Short:
		word := "short"
		if s.AtMost {
			word = "off"
		}
		return decided{fmt.Sprintf("%s by %s°", word, short), fmt.Sprintf("%s%s; %s in %s", what, is, word, hand.Of100(1-v.MeetsProbability))}
	}
	d := decided{"not decided", fmt.Sprintf("it meets %s in %s", what, hand.Of100(v.MeetsProbability))}
	if n := v.NeededStandardUncertaintyDeg; n > 0 && r.StandardUncertaintyDeg > n && hand.Finite(r.StandardUncertaintyDeg) {
		if times := r.StandardUncertaintyDeg / n; times < 100 {
			// Rounded up: 1.7 times better must be enough.
			d.Tail += fmt.Sprintf("; to decide, it would have to be known %s times better", strconv.FormatFloat(math.Ceil(times*10)/10, 'f', -1, 64))
		}
	}
	return d
}

// freeDeg is how far short still meets: where the first band begins.
func freeDeg(v *reading.Verdict) float64 {
	if len(v.Bands) == 0 {
		return 0
	}
	return max(0, v.Bands[0].FromDeg)
}

// origin says how the bands' figures are known, whose they are and where from.
func origin(s *reading.SkillRef) string {
	how, ok := map[string]string{
		"published":       "bands as published",
		"second-hand":     "bands at second hand",
		"common-practice": "bands by common practice",
		"from-memory":     "bands from memory",
		"":                "bands of unstated origin",
	}[hand.Clean(s.Provenance)]
	if !ok {
		how = "bands: " + hand.Clean(s.Provenance)
	}
	title := hand.Clean(s.Title)
	if title == "" {
		title = hand.Clean(s.Name)
	}
	parts := []string{title}
	for _, p := range []string{hand.Clean(s.Source), hand.Clean(s.Edition)} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return how + ": " + strings.Join(parts, "; ")
}

// stills are the endings of takes that have one frame.
var stills = []string{".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}

// moment says which frame of which take was read; a still has only one.
func moment(t reading.Take) string {
	var parts []string
	if n := hand.Clean(t.Name); n != "" {
		parts = append(parts, n)
	}
	if still := slices.Contains(stills, strings.ToLower(path.Ext(t.Name))); still && t.Frame == 0 {
		return strings.Join(parts, " · ")
	}
	parts = append(parts, fmt.Sprintf("frame %d", t.Frame))
	if hand.Finite(t.TimeS) {
		parts = append(parts, fmt.Sprintf("%.3f s", t.TimeS))
	}
	return strings.Join(parts, " · ")
}

// nameless is moment without the take's name, which may be a child's; a take that
// is known to be a still has no moment.
func nameless(t reading.Take) string {
	if moment(t) == hand.Clean(t.Name) {
		return ""
	}
	t.Name = ""
	return moment(t)
}

// percent is the short form of hand.Of100.
func percent(p float64) string {
	switch n := math.Round(100 * p); {
	case n <= 0:
		return "< 1 %"
	case n >= 100:
		return "> 99 %"
	default:
		return fmt.Sprintf("%.0f %%", n)
	}
}
