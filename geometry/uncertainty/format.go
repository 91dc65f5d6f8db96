package uncertainty

import (
	"math"
	"strconv"
)

// Format formats a value and its expanded uncertainty for display: the uncertainty
// rounded up to two significant digits, the value rounded to the same decimal place
// (JCGM 100:2008, 7.2.6). If the uncertainty is unknown (NaN, infinite or negative) it
// is "?" and the value is rounded to a whole unit.
func Format(value, expanded float64) (v, u string) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return "?", "?"
	}
	if math.IsNaN(expanded) || math.IsInf(expanded, 0) || expanded < 0 {
		return fixed(value, 0), "?"
	}
	if expanded == 0 {
		return strconv.FormatFloat(value, 'f', -1, 64), "0"
	}
	places := Places(expanded)
	return fixed(value, places), fixed(roundUp(expanded, places), places)
}

// Places returns the number of decimal places that [Format] writes; it is negative if
// the uncertainty is 100 or more.
func Places(expanded float64) int {
	if !(expanded > 0) || math.IsInf(expanded, 1) {
		return 0
	}
	places := 1 - int(math.Floor(math.Log10(expanded)))
	// 0.0995 rounds up to 0.10, not to 0.100
	if roundUp(expanded, places) >= math.Pow(10, float64(2-places)) {
		places--
	}
	return places
}

// roundUp rounds u up in the given decimal place. An excess within the rounding of binary
// fractions (3.1 is stored as 3.10000000000000008...) is not rounded up.
func roundUp(u float64, places int) float64 {
	const roundOff = 1e-9 // in units of the last place
	p := math.Pow(10, float64(places))
	return math.Ceil(u*p-roundOff) / p
}

// fixed formats v with so many decimal places (negative: rounded to tens, hundreds...),
// without a minus sign before zero.
func fixed(v float64, places int) string {
	if places < 0 {
		p := math.Pow(10, float64(-places))
		v, places = math.Round(v/p)*p, 0
	}
	if s := strconv.FormatFloat(v, 'f', places, 64); s != "-"+strconv.FormatFloat(0, 'f', places, 64) {
		return s
	}
	return strconv.FormatFloat(0, 'f', places, 64)
}
