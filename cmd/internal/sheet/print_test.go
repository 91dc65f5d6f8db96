package sheet_test

import (
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/trial/browsertest"
)

// paperPoints are the sizes of the papers as Chromium writes them, in points of 1/72
// inch: ISO 216 has 210 by 297 mm, ANSI Y14.1 has 8.5 by 11 inches.
var paperPoints = map[sheet.Paper]string{sheet.A4: "594.95996 x 841.91998", sheet.Letter: "612 x 792"}

// singleSheets are a sheet of each kind that shows a picture.
func singleSheets(t testing.TB) map[string]func(w io.Writer, p sheet.Paper) error {
	leap := skill(t, "fig-women/split-leap")
	write := func(in sheet.Input, who sheet.Audience) func(io.Writer, sheet.Paper) error {
		return func(w io.Writer, p sheet.Paper) error {
			return sheet.Write(w, in, sheet.Options{For: who, Paper: p, Locale: english})
		}
	}
	return map[string]func(w io.Writer, p sheet.Paper) error{
		"judge":         write(readPose(t, "hip-split", leap, false), sheet.Judge),
		"judge-upright": write(readPose(t, "hip-split", leap, true), sheet.Judge),
		"judge-noskill": write(readPose(t, "shoulder-flexion", nil, false), sheet.Judge),
		"athlete":       write(readPose(t, "hip-split", leap, false), sheet.Athlete),
		"parent":        write(covered(t, readPose(t, "hip-split", leap, false)), sheet.Parent),
		"pair": func(w io.Writer, p sheet.Paper) error {
			a, b := covered(t, readPose(t, "hip-split", leap, false)), covered(t, readPose(t, "hip-split", leap, true))
			b.Level = &[2]reading.Pixel{{100, 900}, {600, 880}}
			return sheet.WritePair(w, a, b, difference(t, a, b), sheet.Options{Paper: p, Locale: english})
		},
		"parent-upright": write(covered(t, readPose(t, "hip-split", leap, true)), sheet.Parent),
	}
}

// difference is the difference of two readings without circumstances.
func difference(t testing.TB, a, b sheet.Input) *change.Difference {
	t.Helper()
	from, to := change.FromReading(a.Reading), change.FromReading(b.Reading)
	from.Day, to.Day = time.Date(2026, 3, 21, 0, 0, 0, 0, time.UTC), time.Date(2026, 6, 20, 0, 0, 0, 0, time.UTC)
	d, err := change.Compare([]change.Reading{from}, []change.Reading{to}, 0.95)
	require.NoError(t, err)
	return d
}

// A sheet of each kind prints on one page of both papers, is accessible and loads nothing.
func TestOnePage(t *testing.T) {
	axe := browsertest.Axe(t)
	w := blank(t)
	for name, write := range singleSheets(t) {
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			t.Run(fmt.Sprintf("%s on %s", name, p), func(t *testing.T) {
				w.t = t
				w.show(func(out io.Writer) error { return write(out, p) })
				w.fits("as printed")
				pages, size := w.pdf(name + "-" + string(p))
				assert.Equal(t, 1, pages)
				assert.Equal(t, paperPoints[p], size)
				if p == sheet.A4 { // the paper changes no word and no role
					w.accessible(axe, name)
				}
				w.alone()
			})
		}
	}
}

// On every page a figure and its unit stay on one line.
func TestUnitsStayWithFigures(t *testing.T) {
	separate := regexp.MustCompile(`\d (%|mm\b|m\b|px\b|s\b)|± \d`)
	texts := regexp.MustCompile(`>[^<>]+<`)
	together := 0
	check := func(name string, write func(io.Writer) error) {
		var b strings.Builder
		require.NoError(t, write(&b))
		page := b.String()
		for _, text := range texts.FindAllString(page[strings.Index(page, "<body"):], -1) {
			assert.NotRegexp(t, separate, text, name)
		}
		together += strings.Count(page, "\u00a0")
	}
	for name, write := range singleSheets(t) {
		check(name, func(w io.Writer) error { return write(w, sheet.A4) })
	}
	for name, write := range kindsOfPages(t) {
		check(name, func(w io.Writer) error { return write(w, sheet.Options{}) })
	}
	assert.Greater(t, together, 50)
}

// On a narrow screen nothing scrolls sideways, and the sheets stay accessible.
func TestOnAPhone(t *testing.T) {
	axe := browsertest.Axe(t)
	w := blank(t)
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 360, Height: 740, DeviceScaleFactor: 2, Mobile: true})
	for name, write := range singleSheets(t) {
		w.show(func(out io.Writer) error { return write(out, sheet.A4) })
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), 360, name)
		assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("main *")].filter((e) => !(e.closest("svg") && e.tagName !== "svg") && e.getBoundingClientRect().right > 361).map((e) => e.tagName + "." + e.className)`), name)
		if name == "judge" || name == "parent" {
			w.accessible(axe, name)
		}
	}
}

// The judge's sheet of every built-in skill fits on the shorter and on the narrower paper.
func TestEveryRuleFits(t *testing.T) {
	skills := measuredSkills()
	require.Greater(t, len(skills), 20)
	w := blank(t)
	for _, k := range skills {
		for _, upright := range []bool{false, true} {
			in, p := readPose(t, k.Measure, &k, upright), sheet.Letter
			if upright {
				p = sheet.A4
			}
			write := func(out io.Writer) error {
				return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Paper: p})
			}
			w.show(write)
			w.fits(fmt.Sprintf("%s on %s, upright %t", k.Ref(), p, upright))
		}
	}
}

// Two takes side by side fit, for every built-in skill.
func TestPairsFit(t *testing.T) {
	w := blank(t)
	for _, k := range measuredSkills() {
		a, b := readPose(t, k.Measure, &k, false), readPose(t, k.Measure, &k, true)
		write := func(out io.Writer) error {
			return sheet.WritePair(out, a, b, difference(t, a, b), sheet.Options{Paper: sheet.Letter})
		}
		w.show(write)
		w.fits(k.Ref())
	}
}

// The sheet fits with each text of a rule as long as the longest built-in one, all at once, and a long name.
func TestLongestWordsFit(t *testing.T) {
	k := *skill(t, "fig-women/split-leap")
	for _, o := range measuredSkills() {
		longer := func(a *string, b string) {
			if len(b) > len(*a) {
				*a = b
			}
		}
		longer(&k.Title, o.Title)
		longer(&k.Origin.Document, o.Origin.Document)
		longer(&k.Origin.Edition, o.Origin.Edition)
		longer(&k.Origin.Section, o.Origin.Section)
		longer(&k.Origin.Source, o.Origin.Source)
		if len(o.Bands) > len(k.Bands) {
			k.Bands = o.Bands
		}
	}
	k.Origin.Seen, k.Origin.Provenance = "2026-11-25", "from-memory"
	for _, upright := range []bool{false, true} {
		in := readPose(t, "hip-split", &k, upright)
		in.Who = "Spotted-Flycatcher-of-the-Second-Year-Squad"
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			w := open(t, func(out io.Writer) error { return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Paper: p}) })
			w.fits(string(p))
			pages, _ := w.pdf(fmt.Sprintf("longest-%s-%t", p, upright))
			assert.Equal(t, 1, pages)
		}
	}
}
