package draw

import (
	"math"
	"strings"
	"testing"
	"unicode"

	"github.com/golang/freetype/truetype"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/math/fixed"

	"ecart/cmd/internal/reading"
)

// Text widths agree with those of freetype without kerning between digits.
func TestWidths(t *testing.T) {
	const rounding = 0.01 // of a point: kerning in whole units of 1/2048 em, advances in 1/64 of a point at 100 times the size
	const size = fixed.Int26_6(900 * 64)
	l := NewLetters()
	for f, data := range faceData {
		face, err := truetype.Parse(data)
		require.NoError(t, err)
		for _, w := range []string{"11111", "180", "2026", "± unknown", "AVAToYWa", "Whimbrel & Knot", "–−…"} {
			var sum fixed.Int26_6
			var last truetype.Index
			for _, r := range w {
				i := face.Index(r)
				if !unicode.IsDigit(r) {
					sum += face.Kern(size, last, i)
				}
				sum += face.HMetric(size, i).AdvanceWidth
				last = i
			}
			assert.InDelta(t, float64(sum)/64/100, l.Width(Face(f), 9, w), rounding, "%q in face %d", w, f)
		}
	}
}

// Text that is cut or wrapped is no wider than the room, and text that fits is unchanged.
func TestCutAndWrapKeepToTheRoom(t *testing.T) {
	const words = "a leap with a change of legs and a turn, first year squad"
	l := NewLetters()
	whole := l.Width(Serif, 10, words)
	assert.Equal(t, words, l.Cut(Serif, 10, words, whole))
	assert.Equal(t, []string{words}, l.Wrap(Serif, 10, words, whole, 3))
	for room := 20.0; room < whole; room += 7 {
		cut := l.Cut(Serif, 10, words, room)
		assert.LessOrEqual(t, l.Width(Serif, 10, cut), room)
		assert.Contains(t, cut, "…")
		lines := l.Wrap(Serif, 10, words, room, 3)
		assert.LessOrEqual(t, len(lines), 3)
		for _, line := range lines {
			assert.LessOrEqual(t, l.Width(Serif, 10, line), room, "%q", line)
		}
		assert.LessOrEqual(t, l.Width(Serif, l.Fit(Serif, 10, 0.1, words, room), words), room*(1+1e-12))
	}
}

func TestSmallWords(t *testing.T) {
	assert.Equal(t, "−0.5", Minus("-0.5"))
	assert.Equal(t, "between −5 and 0-20 (−1°), hip-split", Minus("between -5 and 0-20 (-1°), hip-split"))
	assert.Equal(t, "0", Deg(math.Copysign(0, -1)))
	assert.Equal(t, "0", Deg(-0.001))
	assert.Equal(t, "−4.5", Deg(-4.5))
	assert.Equal(t, "at most 20°", AskedWords(20, true))
	assert.Equal(t, "asked 0°", AskedWords(0, true))
	assert.Equal(t, "hip split", MeasureTitle("hip-split"))
	assert.Equal(t, "angle", MeasureTitle(" \n"))
	assert.Equal(t, "0.05–0.10", bandWords(reading.BandProbability{Deduction: "0.05-0.10"}))
	assert.Equal(t, "out-of-plane", bandWords(reading.BandProbability{Label: "out-of-plane"}))
	assert.Equal(t, "band", bandWords(reading.BandProbability{}))
}

func TestOf100IsNeverCertain(t *testing.T) {
	for p, want := range map[float64]string{
		0: "fewer than 1 of 100", 0.004: "fewer than 1 of 100", 0.006: "1 of 100",
		0.94: "94 of 100", 0.996: "more than 99 of 100", 1: "more than 99 of 100",
	} {
		assert.Equal(t, want, Of100(p), "%g", p)
	}
	assert.Equal(t, "unknown", Of100(math.NaN()))
	for p, want := range map[float64]string{0: "under 1 %", 0.004: "under 1 %", 0.006: "1 %", 0.94: "94 %", 0.996: "over 99 %", 1: "over 99 %", math.NaN(): "unknown"} {
		assert.Equal(t, want, chance(p), "%g", p)
	}
}

func TestClean(t *testing.T) {
	assert.Equal(t, "ab c", Clean("a\x00b\n\u202e c"))
	assert.Equal(t, "Éloïse a b", Clean("E\u0301loi\u0308se\x00 a\n\tb "))
	assert.Equal(t, strings.Repeat("W", longest)+"…", Clean(strings.Repeat("W", 3000)))
}

// Wherever a line ends, a number keeps its unit.
func TestWrapKeepsUnits(t *testing.T) {
	l := NewLetters()
	words := "the picture cannot decide between 0.30 (77 %) and at most 0.10 (23 %), short by 16.5° ± 6.3°"
	whole := l.Width(Serif, 10, words)
	for room := 60.0; room < whole; room += 2 {
		lines := l.Wrap(Serif, 10, words, room, 40)
		assert.Equal(t, words, strings.Join(lines, " "), "%g", room)
		for _, line := range lines[1:] {
			assert.NotRegexp(t, `^[%°]`, line, "%g", room)
		}
		for _, line := range lines {
			assert.NotRegexp(t, `±$`, line, "%g", room)
		}
	}
}
