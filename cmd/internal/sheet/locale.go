package sheet

import (
	"regexp"
	"strconv"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"

	"ecart/geometry/uncertainty"
)

// locale formats numbers for a language and region.
type locale struct{ p *message.Printer }

func newLocale(tag language.Tag) locale { return locale{message.NewPrinter(tag)} }

// number formats v with the given number of decimals.
func (l locale) number(v float64, decimals int) string {
	s := l.p.Sprint(number.Decimal(v, number.Scale(decimals), number.NoSeparator()))
	return strings.Replace(s, "-", "−", 1)
}

// pair formats a value and its expanded uncertainty with the same number of decimals.
func (l locale) pair(v, u float64) (value, plus string) {
	a, b := uncertainty.Format(v, u)
	return l.digits(a), l.digits(b)
}

// value returns the value of pair.
func (l locale) value(v, u float64) string {
	a, _ := l.pair(v, u)
	return a
}

var numbers = regexp.MustCompile(`-?\d+(\.\d+)?`)
var decimals = regexp.MustCompile(`-?\d+\.\d+`)

// digits converts the numbers in s, written with a decimal point, to the locale.
func (l locale) digits(s string) string {
	return numbers.ReplaceAllStringFunc(s, l.reformat)
}

// text converts the decimal numbers in a text: "0.10" becomes "0,10" if the locale has a
// decimal comma. Whole numbers stay, since they may be years or names.
func (l locale) text(s string) string {
	return decimals.ReplaceAllStringFunc(s, l.reformat)
}

func (l locale) reformat(s string) string {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return s
	}
	places := 0
	if i := strings.IndexByte(s, '.'); i >= 0 {
		places = len(s) - i - 1
	}
	return l.number(v, places)
}

// figures formats an angle of a rule book with up to two decimals, without trailing zeros.
func (l locale) figures(v float64) string {
	return l.digits(strconv.FormatFloat(float64(int64(v*100+sign(v)*0.5))/100, 'f', -1, 64))
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// svgText matches the content of text elements of a drawing.
var svgText = regexp.MustCompile(`>[^<>]*</(text|title|desc)>`)

// svg converts the numbers in a drawing's text.
func (l locale) svg(s string) string {
	if l.number(0.5, 1) == "0.5" {
		return s
	}
	return svgText.ReplaceAllStringFunc(s, l.text)
}
