package chart

import (
	"strconv"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// Words on the drawings that contain no numbers.
const (
	wordMeets      = draw.WordMeets
	wordUnknown    = "± unknown"
	wordNoReadings = "no readings yet"
	wordLeftOut    = "not in the line"
	wordNotRead    = "not read"
)

// gapWords explains the gaps of a screen.
var gapWords = []struct{ name, means string }{
	{change.Range, "not reached even when helped"},
	{change.Control, "reached when helped and not by own strength"},
	{change.Use, "reached by own strength and not in the skill"},
}

// value formats an angle and the half width of its interval: "162.4°", "± 3.1". If the
// interval is unknown, the second is "± unknown".
func (o Options) value(v float64, iv [2]float64) (angle, plus string) {
	if !draw.Known(iv) {
		return draw.Minus(strconv.FormatFloat(v, 'f', 1, 64)) + "°", wordUnknown
	}
	a, u := o.Format(v, (iv[1]-iv[0])/2)
	return draw.Minus(a) + "°", "± " + u
}

// size formats an angle with as many decimal places as value does.
func (o Options) size(v float64, iv [2]float64) string {
	a, _ := o.value(v, iv)
	return a
}

// between formats an interval: "7.8 to 14.5".
func (o Options) between(iv [2]float64) string {
	if !draw.Known(iv) {
		return "interval unknown"
	}
	u := (iv[1] - iv[0]) / 2
	lo, _ := o.Format(iv[0], u)
	hi, _ := o.Format(iv[1], u)
	return draw.Minus(lo) + " to " + draw.Minus(hi)
}

// uncertain formats an uncertainty, "unknown" if it is not a positive number.
func (o Options) uncertain(u float64) string {
	if !draw.Finite(u) || u <= 0 {
		return "unknown"
	}
	_, s := o.Format(0, u)
	return s + "°"
}

// verdictWords returns a verdict in a few words: the band, or the possible bands.
func verdictWords(r *reading.Reading) string {
	return draw.Clean(r.Brief())
}

// first returns the first string that is not empty, or "".
func first(ss ...string) string {
	for _, s := range ss {
		if s != "" {
			return s
		}
	}
	return ""
}
