package rulebook

import (
	"regexp"
	"strconv"
	"strings"
)

// checkBands checks the bands of one skill together: they have to cover all shortfalls from
// free_deg on (of a ratio, all from the first band on) without gap or overlap, the last without
// an end, and deductions may not decrease as the shortfall grows. places are the bands' places in
// the file.
func (d *decoder) checkBands(s Skill, places []place) {
	d.checkDeductions(s, places)
	switch {
	case s.NotMeasured != "" || len(s.Bands) == 0:
		return
	case s.Ratio != "":
		d.checkSpans(s.Bands, places, s.Bands[0].OverRatio, spanKeys{"over_ratio", "to_ratio", "the band before", "", "ratio", func(b Band) (float64, *float64) { return b.OverRatio, b.ToRatio }})
	default:
		d.checkSpans(s.Bands, places, s.FreeDeg, spanKeys{"over_deg", "to_deg", "free_deg", " degrees", "shortfall", func(b Band) (float64, *float64) { return b.OverDeg, b.ToDeg }})
	}
}

// spanKeys are the words about the ends of bands, and the ends.
type spanKeys struct {
	over, to, start, unit, what string
	of                          func(Band) (over float64, to *float64)
}

// checkSpans checks that bands cover everything from a value on.
func (d *decoder) checkSpans(bands []Band, places []place, from float64, k spanKeys) {
	what, before := k.start, 0.0
	for i, b := range bands {
		at, last := places[i], i == len(bands)-1
		over, to := k.of(b)
		switch {
		case i > 0 && over < before:
			d.bad(at, "put the bands in order, the smallest "+k.what+" first", "the bands fall: this one starts at %g after one from %g", over, before)
			return
		case over < from:
			d.bad(at, "let each band start where the one before it ends", "the band starts at %g and overlaps what ends at %g (%s)", over, from, what)
		case over > from && k.start == "free_deg":
			d.bad(at, "let each band start where the one before it ends, the first at free_deg (0 where there is none)",
				"a gap: nothing covers %g to %g%s", from, over, k.unit)
		case over > from:
			d.bad(at, "let each band start where the one before it ends", "a gap: nothing covers %g to %g%s", from, over, k.unit)
		}
		switch {
		case to == nil && !last:
			d.bad(at, "give it "+k.to+", or remove the bands after it", "the band has no end, and another follows it")
			return
		case to != nil && *to <= over:
			d.bad(at, k.over+" is the smaller "+k.what+", "+k.to+" the larger", "the band ends at %g, where it has not begun (%g)", *to, over)
			return
		case to != nil && last:
			d.bad(at, "leave "+k.to+" out in the last band", "a gap: nothing covers more than %g%s", *to, k.unit)
		case to != nil:
			from, what = *to, "the band before"
		}
		before = over
	}
}

// amountPattern finds the amount in the words of a deduction: one number or a range.
var amountPattern = regexp.MustCompile(`([0-9]+(?:[.,][0-9]+)?)(?:\s*[-–]\s*([0-9]+(?:[.,][0-9]+)?))?`)

// amount returns the range of points that a deduction names; false if it has words only.
func amount(deduction string) (low, high float64, ok bool) {
	m := amountPattern.FindStringSubmatch(deduction)
	if m == nil {
		return 0, 0, false
	}
	number := func(s string) float64 {
		v, _ := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64) // the pattern lets only numbers through
		return v
	}
	low = number(m[1])
	high = low
	if m[2] != "" {
		high = number(m[2])
	}
	return low, high, true
}

// deduction reads the text of a deduction; "" if there is none.
func (d *decoder) deduction(n *node) string {
	s := d.text(n, "deduction", false)
	switch {
	case strings.HasPrefix(s, "-"), strings.HasPrefix(s, "−"):
		d.bad(n.Get("deduction").At, "write the points taken off as a positive number", "deduction %q is negative", clip(s))
	case strings.EqualFold(s, ".nan"), strings.HasSuffix(strings.ToLower(s), ".inf"):
		d.bad(n.Get("deduction").At, "write the points, such as \"0.10\", or the rule's words", "deduction %q is not an amount", clip(s))
	}
	return s
}

// checkDeductions checks the deductions of one skill together: all bands have one or none
// has, and they do not decrease.
func (d *decoder) checkDeductions(s Skill, places []place) {
	var before string // the last deduction with an amount
	for i, b := range s.Bands {
		if (b.Deduction == "") != (s.Bands[0].Deduction == "") {
			d.bad(places[i], "name a deduction in every band or in none", "some bands have a deduction and some have none")
			return
		}
		low, high, ok := amount(b.Deduction)
		switch {
		case ok && high < low:
			d.bad(places[i], "write the smaller amount first", "deduction %q runs backwards", clip(b.Deduction))
			return
		case ok && before != "":
			if l, h, _ := amount(before); low < l || high < h {
				d.bad(places[i], "look the figures up again: more degrees short cannot cost less", "deduction %q after %q falls as the shortfall grows", clip(b.Deduction), clip(before))
				return
			}
		}
		if ok {
			before = b.Deduction
		}
	}
}
