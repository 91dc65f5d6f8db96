package text

import "regexp"

var (
	beforeUnit = regexp.MustCompile(`(\d) (%|°|(?:mm|cm|m|px|ms|s|Hz)\b)`)
	plusMinus  = regexp.MustCompile(`± (\d)`)
)

// KeepUnits puts a no-break space between a figure and its unit, and between "±" and a
// figure, so that no line of a page ends between them.
func KeepUnits(s string) string {
	return plusMinus.ReplaceAllString(beforeUnit.ReplaceAllString(s, "$1\u00a0$2"), "±\u00a0$1")
}
