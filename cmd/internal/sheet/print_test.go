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

// kinds are a sheet of each kind.
func kinds(t testing.TB) map[string]func(w io.Writer, p sheet.Paper) error {
	leap := skill(t, "fig-women/split-leap")
	write := func(in sheet.Input, who sheet.Audience) func(io.Writer, sheet.Paper) error {
		return func(w io.Writer, p sheet.Paper) error {
			return sheet.Write(w, in, sheet.Options{For: who, Paper: p, Locale: english})
		}
	}
	return map[string]func(w io.Writer, p sheet.Paper) error{
		"judge":         write(take(t, "hip-split", leap, false), sheet.Judge),
		"judge-upright": write(take(t, "hip-split", leap, true), sheet.Judge),
		"judge-noskill": write(take(t, "shoulder-flexion", nil, false), sheet.Judge),
		"athlete":       write(take(t, "hip-split", leap, false), sheet.Athlete),
		"parent":        write(covered(t, take(t, "hip-split", leap, false)), sheet.Parent),
		"pair": func(w io.Writer, p sheet.Paper) error {
			a, b := covered(t, take(t, "hip-split", leap, false)), covered(t, take(t, "hip-split", leap, true))
			b.Level = &[2]reading.Pixel{{100, 900}, {600, 880}}
			return sheet.WritePair(w, a, b, difference(t, a, b), sheet.Options{Paper: p, Locale: english})
		},
		"parent-upright": write(covered(t, take(t, "hip-split", leap, true)), sheet.Parent),
	}
}

// difference is what package change makes of two readings of which nothing more is
// known.
func difference(t testing.TB, a, b sheet.Input) *change.Difference {
	t.Helper()
	from, to := change.FromReading(a.Reading), change.FromReading(b.Reading)
	from.Day, to.Day = time.Date(2026, 3, 21, 0, 0, 0, 0, time.UTC), time.Date(2026, 6, 20, 0, 0, 0, 0, time.UTC)
	d, err := change.Compare([]change.Reading{from}, []change.Reading{to}, 0.95)
	require.NoError(t, err)
	return d
}

// TestOnePage prints a sheet of each kind on both papers and looks at what comes out.
func TestOnePage(t *testing.T) {
	axe := browsertest.Axe(t)
	for name, write := range kinds(t) {
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			t.Run(fmt.Sprintf("%s on %s", name, p), func(t *testing.T) {
				w := open(t, func(out io.Writer) error { return write(out, p) })
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

// In the words of every page a figure keeps its unit on its line.
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
	for name, write := range kinds(t) {
		check(name, func(w io.Writer) error { return write(w, sheet.A4) })
	}
	for name, write := range kindsOfPages(t) {
		check(name, func(w io.Writer) error { return write(w, sheet.Options{}) })
	}
	assert.Greater(t, together, 50)
}

// TestOnAPhone opens a sheet of each kind on a narrow screen: nothing has to be pushed
// sideways, and all of it can be reached.
func TestOnAPhone(t *testing.T) {
	axe := browsertest.Axe(t)
	for name, write := range kinds(t) {
		w := open(t, func(out io.Writer) error { return write(out, sheet.A4) })
		call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 360, Height: 740, DeviceScaleFactor: 2, Mobile: true})
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), 360, name)
		assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("main *")].filter((e) => !(e.closest("svg") && e.tagName !== "svg") && e.getBoundingClientRect().right > 361).map((e) => e.tagName + "." + e.className)`), name)
		if name == "judge" || name == "parent" {
			w.accessible(axe, name)
		}
	}
}

// TestEveryRuleFits lays out the judge's sheet of every skill that is built in, on
// the shorter paper and on the narrower one.
func TestEveryRuleFits(t *testing.T) {
	skills := measuredSkills()
	require.Greater(t, len(skills), 20)
	var w *window
	for _, k := range skills {
		for _, upright := range []bool{false, true} {
			in, p := take(t, k.Measure, &k, upright), sheet.Letter
			if upright {
				p = sheet.A4
			}
			write := func(out io.Writer) error {
				return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Paper: p})
			}
			if w == nil {
				w = open(t, write)
			} else {
				w.show(write)
			}
			w.fits(fmt.Sprintf("%s on %s, upright %t", k.Ref(), p, upright))
		}
	}
}

// TestPairsFit lays out two takes of every built-in skill side by side.
func TestPairsFit(t *testing.T) {
	var w *window
	for _, k := range measuredSkills() {
		a, b := take(t, k.Measure, &k, false), take(t, k.Measure, &k, true)
		write := func(out io.Writer) error {
			return sheet.WritePair(out, a, b, difference(t, a, b), sheet.Options{Paper: sheet.Letter})
		}
		if w == nil {
			w = open(t, write)
		} else {
			w.show(write)
		}
		w.fits(k.Ref())
	}
}

// TestLongestWordsFit has every text of a rule at the length of the longest that is
// built in, all at once, and long names and notes with it.
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
		in := take(t, "hip-split", &k, upright)
		in.Who = "Spotted-Flycatcher-of-the-Second-Year-Squad"
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			w := open(t, func(out io.Writer) error { return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Paper: p}) })
			w.fits(string(p))
			pages, _ := w.pdf(fmt.Sprintf("longest-%s-%t", p, upright))
			assert.Equal(t, 1, pages)
		}
	}
}
