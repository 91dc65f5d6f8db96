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
	"strings"
	"time"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
)

//go:embed templates
var files embed.FS

// pages are the templates, parsed at the start so that a broken one fails there.
var pages = template.Must(template.ParseFS(files, "templates/*.html"))

var style = template.CSS(must(files.ReadFile("templates/sheet.css"))) + template.CSS(must(files.ReadFile("templates/kinds.css")))

func must(data []byte, err error) []byte {
	if err != nil {
		panic("sheet: " + err.Error())
	}
	return data
}

// setting is what every part of a sheet is written with.
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

// The room on a page, in millimetres; sheet.css has the same.
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

// frame is what every page has around what it says.
type frame struct {
	Lang, Paper, Kind string
	Title, Sub        string
	Facts             []string // who, when, which moment
	Style             template.CSS
	Made              string
	Body              any
}

func (s *setting) page(w io.Writer, kind, title, sub string, facts []string, body any) error {
	f := frame{s.lang, string(s.paper), kind, title, sub, nil, style, s.made, body}
	for _, x := range facts {
		if x = strings.TrimSpace(x); x != "" {
			f.Facts = append(f.Facts, x)
		}
	}
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, kind+".html", f); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// facts are whose the reading is and which moment it is of. The name of the take's
// file is not among them: it may be a child's.
func (s *setting) facts(in *Input) []string {
	out := []string{in.Who, s.day(in.Day), look(s.state, in.State)}
	t := in.Reading.Take
	if t.Frame > 0 || t.TimeS > 0 {
		out = append(out, fmt.Sprintf(s.words.frame, t.Frame), fmt.Sprintf(s.second, s.number(t.TimeS, 3)))
	}
	return out
}

// day is a date as it is written everywhere: with the month in front of nothing.
func (s *setting) day(day string) string {
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return ""
	}
	return day
}

// printDPI is what a picture is brought down to: what a print shows at arm's length.
const printDPI = 220

// print is a picture as a page holds it.
type print struct {
	URI           template.URL
	Alt           string
	Width, Height int     // pixels
	WidthMM       float64 // on paper
	Covered       string
}

// printed draws the part of the frame that shows the athlete, no wider than so many
// millimetres and no higher.
func (s *setting) printed(in *Input, maxWidth, maxHeight float64, part image.Rectangle) (print, error) {
	const textMM = 2.9 // of the words on the picture
	width, px := within(part, maxWidth, maxHeight)
	img, err := figure.Picture(in.Picture, in.Reading, figure.Options{
		Width: px, Text: textMM / width * float64(px), Covers: in.Covers, Part: part, Format: s.pair,
		Words: func(w string) string { return look(s.landmark, w) },
	})
	if err != nil {
		return print{}, err
	}
	p := print{WidthMM: width,
		Alt: fmt.Sprintf(s.alt, look(s.measure, in.Reading.Measure), s.value(in.Reading.AngleDeg, in.Reading.ExpandedUncertaintyDeg))}
	if len(in.Covers) > 0 {
		p.Covered = s.covered
	}
	return p, p.hold(img)
}

// within is how wide a part of a frame comes out that is to be no wider and no higher
// than so many millimetres, on paper and in pixels.
func within(part image.Rectangle, maxWidth, maxHeight float64) (width float64, px int) {
	width = maxWidth
	ratio := float64(part.Dy()) / float64(part.Dx())
	if width*ratio > maxHeight {
		width = maxHeight / ratio
	}
	px = int(math.Round(width / 25.4 * printDPI))
	return width, max(figure.MinWidth, min(px, figure.MaxWidth))
}

// hold puts a picture into the page, as a file that is the picture alone: the
// encoder writes no EXIF, no profile and no comment.
func (p *print) hold(img image.Image) error {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 92}); err != nil {
		return err
	}
	p.Width, p.Height = img.Bounds().Dx(), img.Bounds().Dy()
	p.URI = template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b.Bytes()))
	return nil
}

// shown is the part of the frame that a sheet shows: the athlete, upright or lying as
// the frame itself.
func shown(in *Input) image.Rectangle {
	size := in.Picture.Bounds().Size()
	ratio := 0.72
	if size.Y > size.X {
		ratio = 1.3
	}
	return figure.Around(in.Reading, size, ratio)
}

// drawn is a chart as SVG within the page, its numbers as the locale has them.
func (s *setting) drawn(d *chart.Drawing, err error) (template.HTML, error) {
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	if err := d.SVG(&b); err != nil {
		return "", err
	}
	return template.HTML(s.svg(b.String())), nil
}

// heightOf is how high a chart comes out where it is so wide.
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

// localised is the reading with the deductions of its bands as the locale writes
// numbers, for charts.
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

// list joins with commas and an and.
func (s *setting) list(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	last := len(items) - 1
	return strings.Join(items[:last], ", ") + " " + s.and + " " + items[last]
}
