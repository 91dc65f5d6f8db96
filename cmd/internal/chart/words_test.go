package chart

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/opentype"
	plotfont "gonum.org/v1/plot/font"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

func textsOf(d *Drawing) []string {
	var out []string
	for _, g := range d.sheet.labels {
		out = append(out, g.Text)
	}
	return out
}

// The numbers on the drawings are those they were given, as uncertainty.Format
// writes them.
func TestNumbers(t *testing.T) {
	r := leap(162.4, 1.6)
	v, u := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	short, _ := uncertainty.Format(r.Verdict.ShortfallDeg, r.ExpandedUncertaintyDeg)

	d, err := Ruler(RulerData{"Wren", r}, Options{})
	require.NoError(t, err)
	texts := textsOf(d)
	for _, want := range []string{v + "°", "± " + u, "asked 180°", "0.10", "0.30", "no value", "meets", "135", "160", "180"} {
		assert.Contains(t, texts, want)
	}
	for _, b := range r.Verdict.Bands {
		assert.Contains(t, texts, reading.Percent(b.Probability))
	}

	d, err = Squad(SquadData{Rows: []SquadRow{{Who: "Wren", Reading: r, Gap: "use"}, {Who: "Rail", Reason: "no marks"}}}, Options{})
	require.NoError(t, err)
	texts = textsOf(d)
	for _, want := range []string{"Wren", v + "°", "± " + u, "short by " + short + "°", "use", "Rail", "not read", "no marks", "1 falls short; 1 was not read"} {
		assert.Contains(t, texts, want)
	}

	n := screenData(t, 176.1, 164.9, 158.2)
	d, err = Screen(n, Options{})
	require.NoError(t, err)
	texts = textsOf(d)
	for _, g := range n.Screen.Gaps {
		half := (g.IntervalDeg[1] - g.IntervalDeg[0]) / 2
		size, _ := uncertainty.Format(g.Deg, half)
		lo, _ := uncertainty.Format(g.IntervalDeg[0], half)
		hi, _ := uncertainty.Format(g.IntervalDeg[1], half)
		assert.Subset(t, texts, []string{g.Name, size + "°", "(" + lo + " to " + hi + ")"})
	}

	m := monthsData(t)
	d, err = Change(m, Options{})
	require.NoError(t, err)
	_, smallest := uncertainty.Format(0, m.Trends[0].SmallestDeg)
	size, _ := uncertainty.Format(m.Trends[0].ChangeDeg, m.Trends[0].SmallestDeg)
	assert.Subset(t, textsOf(d), []string{"up " + size + "°", "a real change", "smallest real " + smallest + "°", "asked 180°", "cold", "warm", "after", wordLeftOut})

	d, err = Budget(BudgetData{Reading: r, Name: func(s string) string { return strings.ToUpper(s) }}, Options{})
	require.NoError(t, err)
	texts = textsOf(d)
	at := func(s string) int { return slices.Index(texts, s) }
	assert.True(t, at("OBLIQUE") < at("LANDMARK") && at("LANDMARK") < at("DEPTH") && at("DEPTH") < at("PLACEMENT"), "largest first: %v", texts)
	assert.Subset(t, texts, []string{"1.2°", "0.8°", "61 %", "25 %"}) // 0.78 and 0.5 of 1.6
}

// A locale's own way of writing numbers reaches every value.
func TestFormat(t *testing.T) {
	comma := func(v, u float64) (string, string) {
		a, b := uncertainty.Format(v, u)
		return strings.Replace(a, ".", ",", 1), strings.Replace(b, ".", ",", 1)
	}
	d, err := Ruler(RulerData{"Wren", leap(162.4, 1.6)}, Options{Format: comma})
	require.NoError(t, err)
	assert.Subset(t, textsOf(d), []string{"162,4°", "± 3,2"})
}

// Widths of words against two others' measuring: figures, which are not kerned, by
// their advances, and the rest by gonum's font package, which kerns.
func TestWidths(t *testing.T) {
	const rounding = 0.01 // of a point: kerning in whole units of 1/2048 em, advances in 1/64 of a point at 100 times the size
	l, err := newLetters()
	require.NoError(t, err)
	for f, data := range faceData {
		parsed, err := opentype.Parse(data)
		require.NoError(t, err)
		face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 900, DPI: 72})
		require.NoError(t, err)
		for _, w := range []string{"11111", "180", "2026"} {
			sum := 0.0
			for _, r := range w {
				a, ok := face.GlyphAdvance(r)
				require.True(t, ok)
				sum += float64(a) / 64
			}
			assert.InDelta(t, sum/100, l.width(typeface(f), 9, w), rounding, "%q in face %d", w, f)
		}
		reference := plotfont.Face{Font: plotfont.Font{Size: 9}, Face: parsed}
		for _, w := range []string{"± unknown", "AVAToYWa", "Whimbrel & Knot", "–−…"} {
			assert.InDelta(t, reference.Width(w).Points(), l.width(typeface(f), 9, w), rounding, "%q in face %d", w, f)
		}
	}
}

func TestSmallWords(t *testing.T) {
	assert.Equal(t, "−0.5", minus("-0.5"))
	assert.Equal(t, "0", deg(math.Copysign(0, -1)))
	assert.Equal(t, "fewer than 1 of 100", of100(0))
	assert.Equal(t, "more than 99 of 100", of100(1))
	assert.Equal(t, "unknown", of100(math.NaN()))
	assert.Equal(t, "at most 20°", askedWords(20, true))
	assert.Equal(t, "asked 0°", askedWords(0, true))
	assert.Equal(t, "0.05–0.10", bandWords(reading.BandProbability{Deduction: "0.05-0.10"}))
	assert.Equal(t, "ab c", clean("a\x00b\n\u202e c"))
}

// Denser is dearer: the strokes of every band lie closer than those of the one before,
// and what meets has none.
func TestHatching(t *testing.T) {
	for n := 1; n <= mostBands; n++ {
		assert.Zero(t, band{rank: 0, of: n}.hatch())
		last := math.Inf(1)
		for i := 1; i <= n; i++ {
			h := band{rank: i, of: n}.hatch()
			assert.Less(t, h, last)
			assert.Positive(t, h)
			last = h
		}
	}
}
