package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

// The words on the drawings; those that carry numbers are made below.
const (
	wordMeets      = "meets"
	wordUndecided  = "not decided"
	wordUnknown    = "± unknown"
	wordNoReadings = "no readings yet"
	wordLeftOut    = "not in the line"
	wordNotRead    = "not read"
)

// gapWords say what the gaps of a screen mean.
var gapWords = []struct{ name, means string }{
	{change.Range, "not reached even when helped"},
	{change.Control, "reached when helped and not by own strength"},
	{change.Use, "reached by own strength and not in the skill"},
}

// value writes an angle with the half width of its interval, "162.4°", "± 3.1"; the
// second says where that is not known.
func (o Options) value(v float64, iv [2]float64) (angle, plus string) {
	if !known(iv) {
		return minus(strconv.FormatFloat(v, 'f', 1, 64)) + "°", wordUnknown
	}
	a, u := o.Format(v, (iv[1]-iv[0])/2)
	return minus(a) + "°", "± " + u
}

// size writes an angle to the same places as value would; below 0 with a minus.
func (o Options) size(v float64, iv [2]float64) string {
	a, _ := o.value(v, iv)
	return a
}

// between writes an interval: "7.8 to 14.5".
func (o Options) between(iv [2]float64) string {
	if !known(iv) {
		return "interval unknown"
	}
	u := (iv[1] - iv[0]) / 2
	lo, _ := o.Format(iv[0], u)
	hi, _ := o.Format(iv[1], u)
	return minus(lo) + " to " + minus(hi)
}

// uncertain writes an uncertainty.
func (o Options) uncertain(u float64) string {
	if !finite(u) || u <= 0 {
		return "unknown"
	}
	_, s := o.Format(0, u)
	return s + "°"
}

// askedWords says what is asked.
func askedWords(ask float64, atMost bool) string {
	if atMost && ask > 0 {
		return "at most " + deg(ask) + "°"
	}
	return "asked " + deg(ask) + "°"
}

// verdictWords is a verdict in two or three words.
func (o Options) verdictWords(r *reading.Reading) string {
	v := r.Verdict
	if v == nil || r.Skill == nil {
		return ""
	}
	switch v.Decision {
	case reading.Meets:
		return wordMeets
	case reading.Short:
		word := "short by "
		if r.Skill.AtMost {
			word = "off by "
		}
		return word + o.size(math.Abs(v.ShortfallDeg), r.IntervalDeg)
	}
	return wordUndecided
}

// bandWords words a band's deduction; ranges of figures get a dash.
func bandWords(b reading.BandProbability) string {
	s := clean(b.Deduction)
	if s == "" {
		s = clean(b.Label)
	}
	rs := []rune(s)
	digit := func(r rune) bool { return r >= '0' && r <= '9' }
	for i := 1; i+1 < len(rs); i++ {
		if rs[i] == '-' && digit(rs[i-1]) && digit(rs[i+1]) {
			rs[i] = '–'
		}
	}
	if len(rs) == 0 {
		return "band"
	}
	return string(rs)
}

// of100 words a probability: "94 of 100". What is not certain is never worded as
// if it were.
func of100(p float64) string {
	switch n := math.Round(100 * p); {
	case !finite(p):
		return "unknown"
	case n <= 0:
		return "fewer than 1 of 100"
	case n >= 100:
		return "more than 99 of 100"
	default:
		return fmt.Sprintf("%.0f of 100", n)
	}
}

// chance is the short form of of100.
func chance(p float64) string {
	if !finite(p) {
		return "unknown"
	}
	return reading.Percent(p)
}

// deg writes a round figure, at most two decimals.
func deg(v float64) string {
	// Adding 0 makes a plain zero of a negative one.
	return minus(strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64))
}

// minus puts a true minus sign in place of the hyphen.
func minus(s string) string {
	if rest, ok := strings.CutPrefix(s, "-"); ok {
		return "−" + rest
	}
	return s
}

// spaced turns a name as typed into one as read: "hip-split", "hip split".
func spaced(name string) string { return strings.ReplaceAll(clean(name), "-", " ") }

// measureTitle is a drawing's heading.
func measureTitle(measure string) string {
	if s := spaced(measure); s != "" {
		return s
	}
	return "angle"
}

// first returns the first that is not empty.
func first(ss ...string) string {
	for _, s := range ss {
		if s != "" {
			return s
		}
	}
	return ""
}
