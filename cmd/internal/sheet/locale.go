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

// locale writes numbers as people of one place do.
type locale struct{ p *message.Printer }

func newLocale(tag language.Tag) locale { return locale{message.NewPrinter(tag)} }

// number writes v with so many decimals.
func (l locale) number(v float64, decimals int) string {
	s := l.p.Sprint(number.Decimal(v, number.Scale(decimals), number.NoSeparator()))
	return strings.Replace(s, "-", "−", 1)
}

// pair writes a value and its expanded uncertainty to the same place.
func (l locale) pair(v, u float64) (value, plus string) {
	a, b := uncertainty.Format(v, u)
	return l.digits(a), l.digits(b)
}

// value is the first of pair.
func (l locale) value(v, u float64) string {
	a, _ := l.pair(v, u)
	return a
}

var numbers = regexp.MustCompile(`-?\d+(\.\d+)?`)
var decimals = regexp.MustCompile(`-?\d+\.\d+`)

// digits writes a number that is written in digits already.
func (l locale) digits(s string) string {
	return numbers.ReplaceAllStringFunc(s, l.again)
}

// text writes the decimal numbers in a text: "0.10" is "0,10" where a comma
// belongs. Whole numbers stay, since they may be years and names.
func (l locale) text(s string) string {
	return decimals.ReplaceAllStringFunc(s, l.again)
}

func (l locale) again(s string) string {
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

// figures writes an angle of a rule book: up to two decimals, none that are zero.
func (l locale) figures(v float64) string {
	return l.digits(strconv.FormatFloat(float64(int64(v*100+sign(v)*0.5))/100, 'f', -1, 64))
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// svgText is what stands between the tags of a drawing's text.
var svgText = regexp.MustCompile(`>[^<>]*</(text|title|desc)>`)

// svg writes the numbers of a drawing.
func (l locale) svg(s string) string {
	if l.number(0.5, 1) == "0.5" {
		return s
	}
	return svgText.ReplaceAllStringFunc(s, l.text)
}
