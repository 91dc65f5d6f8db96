package chart

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

func textsOf(d *Drawing) []string {
	var out []string
	for _, g := range d.sheet.Texts {
		out = append(out, g.Text)
	}
	return out
}

// The numbers on the drawings are those of the data, as formatted by
// uncertainty.Format.
func TestNumbers(t *testing.T) {
	r := leap(162.4, 1.6)
	v, u := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)

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
	for _, want := range []string{"Wren", v + "°", "± " + u, "0.10 or 0.30", "use", "Rail", "not read", "no marks", "1 falls short; 1 was not read"} {
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
		assert.Subset(t, texts, []string{g.Name, size + "°", draw.Minus("(" + lo + " to " + hi + ")")})
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

// The same for the drawings of agreement, of steps and of two sides.
func TestMoreNumbers(t *testing.T) {
	between := func(iv [2]float64) string {
		half := (iv[1] - iv[0]) / 2
		lo, _ := uncertainty.Format(iv[0], half)
		hi, _ := uncertainty.Format(iv[1], half)
		return draw.Minus("(" + lo + " to " + hi + ")")
	}
	size := func(v float64, iv [2]float64) string {
		s, _ := uncertainty.Format(v, (iv[1]-iv[0])/2)
		return draw.Minus(s) + "°"
	}
	in := agreementData(t)
	a := in.Agreement
	d, err := Agreement(in, Options{})
	require.NoError(t, err)
	assert.Subset(t, textsOf(d), []string{
		"bias", size(a.MeanDeg, a.MeanInterval), between(a.MeanInterval),
		"lower limit", size(a.LimitsDeg[0], a.LimitsEach[0]), between(a.LimitsEach[0]),
		"upper limit", size(a.LimitsDeg[1], a.LimitsEach[1]), between(a.LimitsEach[1]),
	})
	s := stepsData(t, 1)
	d, err = Steps(s, Options{})
	require.NoError(t, err)
	for _, p := range s.Steps {
		_, smallest := uncertainty.Format(0, p.SmallestDeg)
		verdict := map[bool]string{true: "a real change: over ", false: "not a real change: that takes "}[p.Real]
		assert.Subset(t, textsOf(d), []string{"up " + size(p.ChangeDeg, p.IntervalDeg), p.From + " to " + p.To + ", " + p.Day.Format("2 Jan 2006"), verdict + smallest + "°", "asked 180°"})
	}
	two := sidesData(t)
	d, err = Change(two, Options{})
	require.NoError(t, err)
	for _, n := range two.Trends {
		change, _ := uncertainty.Format(n.ChangeDeg, n.SmallestDeg)
		_, smallest := uncertainty.Format(0, n.SmallestDeg)
		assert.Subset(t, textsOf(d), []string{n.Side, n.Side + ": up " + change + "°", "smallest real " + smallest + "°"})
	}
}

// On the drawing of agreement larger differences are drawn higher, and larger means
// further right.
func TestAgreementIsInOrder(t *testing.T) {
	in := agreementData(t)
	a := in.Agreement
	d, err := Agreement(in, Options{})
	require.NoError(t, err)
	var dots []point
	for _, h := range d.sheet.Shapes {
		if h.Round > 0 && h.Width > 0 {
			dots = append(dots, h.Lines[0][0])
		}
	}
	require.Len(t, dots, len(a.Means))
	for i := range dots {
		for j := range dots {
			assert.Equal(t, a.Means[i] < a.Means[j], dots[i].X < dots[j].X)
			assert.Equal(t, a.Differences[i] < a.Differences[j], dots[i].Y > dots[j].Y)
		}
	}
}

// Options.Format applies to every value, such as a decimal comma.
func TestFormat(t *testing.T) {
	comma := func(v, u float64) (string, string) {
		a, b := uncertainty.Format(v, u)
		return strings.Replace(a, ".", ",", 1), strings.Replace(b, ".", ",", 1)
	}
	d, err := Ruler(RulerData{"Wren", leap(162.4, 1.6)}, Options{Format: comma})
	require.NoError(t, err)
	assert.Subset(t, textsOf(d), []string{"162,4°", "± 3,2"})
}

// With a trend for each side, a reading that the trend of its own side left out is drawn as left out.
func TestLeftOutOfItsOwnSide(t *testing.T) {
	left, right := takes("left", "warm", 1, rightDays, leftDegs, 1.3), takes("right", "warm", 50, rightDays, rightDegs, 1.3)
	left = append(left, takes("left", "cold", 100, []int{160}, []float64{178}, 1.3)...)
	in := sidesData(t)
	in.Trends[0], in.Readings = trend(t, left), append(left, right...)
	require.Len(t, in.Trends[0].LeftOut, 1)
	require.Empty(t, in.Trends[1].LeftOut)
	dots, err := dotsOf(in.Readings, in.Trends)
	require.NoError(t, err)
	for _, d := range dots {
		assert.Equal(t, d.state == "cold", d.leftOut, "%s %s on %s", d.side, d.state, d.day)
	}
	d, err := Change(in, Options{})
	require.NoError(t, err)
	assert.Contains(t, textsOf(d), wordLeftOut)
}
