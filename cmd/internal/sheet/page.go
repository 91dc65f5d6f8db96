package sheet

import (
	"bytes"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/jpeg"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

//go:embed templates
var files embed.FS

// pages are the templates, parsed at program start so that an error shows there.
var pages = template.Must(template.ParseFS(files, "templates/*.html"))

var style = template.CSS(must(files.ReadFile("templates/sheet.css"))) + template.CSS(must(files.ReadFile("templates/kinds.css")))

func must(data []byte, err error) []byte {
	if err != nil {
		panic("sheet: " + err.Error())
	}
	return data
}

// setting holds the words, the number format and the paper of a sheet.
type setting struct {
	*words
	locale
	paper Paper
}

func newSetting(opt Options) (*setting, error) {
	if err := opt.check(); err != nil {
		return nil, err
	}
	if opt.Paper == "" {
		opt.Paper = A4
	}
	return &setting{wordsFor(opt.Locale), newLocale(opt.Locale), opt.Paper}, nil
}

// The margin of a page, in millimetres, as in sheet.css.
const marginMM = 12

func (s *setting) widthMM() float64 {
	if s.paper == Letter {
		return 215.9 - 2*marginMM
	}
	return 210 - 2*marginMM
}

func (s *setting) heightMM() float64 {
	if s.paper == Letter {
		return 279.4
	}
	return 297
}

// frame is the data that every page has besides its body.
type frame struct {
	Lang, Paper, Kind string
	Title, Sub        string
	Facts             []string // who, when, which moment
	Style             template.CSS
	Made              string
	Body              any
}

func (s *setting) writePage(w io.Writer, kind, title, sub string, facts []string, body any) error {
	f := frame{s.lang, string(s.paper), kind, title, sub, nil, style, s.colophon, body}
	for _, x := range facts {
		if x = strings.TrimSpace(x); x != "" {
			f.Facts = append(f.Facts, x)
		}
	}
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, kind+".html", f); err != nil {
		return err
	}
	_, err := io.WriteString(w, keepUnits(b.String()))
	return err
}

var betweenTags = regexp.MustCompile(`>[^<>]+<`)

// keepUnits keeps figures and units of the page's text together; the markup is left as it is.
func keepUnits(page string) string {
	return betweenTags.ReplaceAllStringFunc(page, text.KeepUnits)
}

// facts returns who was measured, the day, the state and the moment. The take's file name is
// left out, since it may contain a child's name.
func (s *setting) facts(in *Input) []string {
	out := []string{in.Who, s.day(in.Day), lookup(s.state, in.State)}
	t := in.Reading.Take
	if t.Frame > 0 || t.TimeS > 0 {
		out = append(out, fmt.Sprintf(s.words.frame, t.Frame), fmt.Sprintf(s.second, s.number(t.TimeS, 3)))
	}
	return out
}

// day returns a date in the form 2006-01-02, which is the same in every language; "" if it is
// not a date.
func (s *setting) day(day string) string {
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return ""
	}
	return day
}

// printDPI is the resolution to which a picture is scaled down, pixels per inch: what can be
// seen on a print at arm's length.
const printDPI = 220

// picture is a picture embedded in a page.
type picture struct {
	URI           template.URL
	Alt           string
	Width, Height int     // pixels
	WidthMM       float64 // on paper
	Covered       string
}

// printPicture draws a part of the frame, at most maxWidth by maxHeight millimetres.
func (s *setting) printPicture(in *Input, maxWidth, maxHeight float64, part image.Rectangle) (picture, error) {
	const textMM = 2.9 // size of the text on the picture
	width, px := within(part, maxWidth, maxHeight)
	img, err := figure.Picture(in.Picture, in.Reading, figure.Options{
		Width: px, Text: textMM / width * float64(px), Covers: in.Covers, Part: part, Format: s.pair,
		Words: func(w string) string { return lookup(s.landmark, w) },
	})
	if err != nil {
		return picture{}, err
	}
	p := picture{WidthMM: width,
		Alt: fmt.Sprintf(s.alt, lookup(s.measure, in.Reading.Measure), s.value(in.Reading.AngleDeg, in.Reading.ExpandedUncertaintyDeg))}
	if len(in.Covers) > 0 {
		p.Covered = s.covered
	}
	return p, p.embed(img)
}

// within returns the width of a part of a frame that is at most maxWidth by maxHeight
// millimetres: on paper in millimetres, and in pixels.
func within(part image.Rectangle, maxWidth, maxHeight float64) (width float64, px int) {
	width = maxWidth
	ratio := float64(part.Dy()) / float64(part.Dx())
	if width*ratio > maxHeight {
		width = maxHeight / ratio
	}
	px = int(math.Round(width / 25.4 * printDPI))
	return width, max(figure.MinWidth, min(px, figure.MaxWidth))
}

// embed embeds a picture in the page as a JPEG. The encoder writes no EXIF, profile or comment.
func (p *picture) embed(img image.Image) error {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 92}); err != nil {
		return err
	}
	p.Width, p.Height = img.Bounds().Dx(), img.Bounds().Dy()
	p.URI = template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b.Bytes()))
	return nil
}

// athletePart returns the part of the frame that a sheet shows: the athlete, in portrait or
// landscape format as the frame.
func athletePart(in *Input) image.Rectangle {
	size := in.Picture.Bounds().Size()
	ratio := 0.72
	if size.Y > size.X {
		ratio = 1.3
	}
	return figure.Around(in.Reading, size, ratio)
}

// chartSVG returns a chart as SVG for the page, with numbers in the locale's form.
func (s *setting) chartSVG(d *chart.Drawing, err error) (template.HTML, error) {
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := d.SVG(&b); err != nil {
		return "", err
	}
	return template.HTML(s.svg(b.String())), nil
}

// heightOf returns the height of a chart at the given width, in millimetres.
func heightOf(d *chart.Drawing, widthMM float64) float64 {
	if d == nil {
		return 0
	}
	w, h := d.SizeMM()
	return h * widthMM / w
}

func (s *setting) chartOptions(widthMM float64) chart.Options {
	return chart.Options{WidthMM: widthMM, Bare: true, Format: s.pair}
}

// localised returns the reading for charts, with the deductions of its bands in the locale's
// number format.
func (s *setting) localised(r *reading.Reading) *reading.Reading {
	if r.Verdict == nil {
		return r
	}
	out, v := *r, *r.Verdict
	v.Bands = nil
	for _, b := range r.Verdict.Bands {
		b.Label, b.Deduction = s.text(b.Label), s.text(b.Deduction)
		v.Bands = append(v.Bands, b)
	}
	out.Verdict = &v
	return &out
}

// list joins items with commas and the word for "and".
func (s *setting) list(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	last := len(items) - 1
	return strings.Join(items[:last], ", ") + " " + s.and + " " + items[last]
}

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
