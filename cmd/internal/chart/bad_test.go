package chart

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

func TestBad(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	spoiled := func(f func(*reading.Reading)) *reading.Reading {
		r := leap(162.4, 1.6)
		f(r)
		return r
	}
	months := monthsData(t)
	other := *months.Trends[0]
	other.Measure = "knee-bend"
	step := func(from, to float64) StepsData {
		p := change.Step{From: "cold", To: "warm"}
		p.FromDeg, p.ToDeg = from, to
		return StepsData{Steps: []change.Step{p}}
	}
	cases := map[string]struct {
		says string
		draw func() (*Drawing, error)
	}{
		"too narrow":         {"cannot be 20 mm wide", func() (*Drawing, error) { return Ruler(RulerData{"", leap(160, 1)}, Options{WidthMM: 20}) }},
		"no width":           {"cannot be NaN mm wide", func() (*Drawing, error) { return Ruler(RulerData{"", leap(160, 1)}, Options{WidthMM: nan}) }},
		"range turned round": {"cannot run from 190 to 100", func() (*Drawing, error) { return Squad(squadData(), Options{RangeDeg: [2]float64{190, 100}}) }},
		"no reading":         {"there is no reading", func() (*Drawing, error) { return Ruler(RulerData{}, Options{}) }},
		"no angle": {"angle (NaN)", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.AngleDeg = nan })}, Options{})
		}},
		"a density without steps": {"density starts", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.Density.StepDeg = 0 })}, Options{})
		}},
		"a density below 0": {"density has no value", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.Density.Values[3] = -1 })}, Options{})
		}},
		"a probability of 2": {"given as 2", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.Verdict.Bands[1].Probability = 2 })}, Options{})
		}},
		"a band without extent": {"no extent", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.Verdict.Bands[1].FromDeg = inf })}, Options{})
		}},
		"bands out of order": {"stands before", func() (*Drawing, error) {
			return Ruler(RulerData{"", spoiled(func(r *reading.Reading) { r.Verdict.Bands[2].FromDeg = 1 })}, Options{})
		}},
		"whose reading": {`"Wren"`, func() (*Drawing, error) {
			return Squad(SquadData{Rows: []SquadRow{{Who: "Wren", Reading: spoiled(func(r *reading.Reading) { r.AngleDeg = inf })}}}, Options{})
		}},
		"no screen": {"there is no screen", func() (*Drawing, error) { return Screen(ScreenData{}, Options{}) }},
		"a level without angle": {`level "passive"`, func() (*Drawing, error) {
			return Screen(ScreenData{Screen: &change.Screen{AskedDeg: 180, Levels: []change.Level{{Condition: "passive", AngleDeg: nan}}}}, Options{})
		}},
		"a step into nothing": {`from "cold" to "warm"`, func() (*Drawing, error) { return Steps(step(150, nan), Options{}) }},
		"no agreement":        {"there is no agreement", func() (*Drawing, error) { return Agreement(AgreementData{}, Options{}) }},
		"an odd agreement": {"2 means and 1 differences", func() (*Drawing, error) {
			return Agreement(AgreementData{Agreement: &change.Agreement{Means: []float64{1, 2}, Differences: []float64{1}}}, Options{})
		}},
		"three trends": {"3 trends", func() (*Drawing, error) {
			n := months.Trends[0]
			return Change(ChangeData{Trends: []*change.Trend{n, n, n}}, Options{})
		}},
		"two measures": {"knee-bend", func() (*Drawing, error) {
			return Change(ChangeData{Trends: []*change.Trend{months.Trends[0], &other}}, Options{})
		}},
		"a reading without angle": {"4 March 2026", func() (*Drawing, error) {
			return Change(ChangeData{Readings: []change.Reading{{Day: time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC), AngleDeg: nan}}}, Options{})
		}},
		"no budget's reading": {"there is no reading", func() (*Drawing, error) { return Budget(BudgetData{}, Options{}) }},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			d, err := c.draw()
			assert.Nil(t, d)
			require.Error(t, err)
			assert.Contains(t, err.Error(), c.says)
			var hint interface{ Hint() string }
			require.ErrorAs(t, err, &hint)
			assert.NotEmpty(t, hint.Hint())
		})
	}
}

// A trend read back from JSON has no line with dates: its days are drawn without one.
func TestTrendWithoutLine(t *testing.T) {
	n := *monthsData(t).Trends[0]
	n.Line = &change.Line{SlopeDeg: 1}
	d, err := Change(ChangeData{Trends: []*change.Trend{&n}}, Options{})
	require.NoError(t, err)
	sound(t, d)
}

// An unknown interval is drawn over the whole ruler and labelled as unknown, never as a
// bar.
func TestUnknown(t *testing.T) {
	for name, iv := range map[string][2]float64{
		"missing": {math.NaN(), math.NaN()}, "one end": {160, math.NaN()}, "no width": {162.4, 162.4}, "turned round": {170, 150}, "endless": {150, math.Inf(1)},
	} {
		t.Run(name, func(t *testing.T) {
			r := leap(162.4, 1.6)
			r.IntervalDeg = iv
			d, err := Ruler(RulerData{"", r}, Options{})
			require.NoError(t, err)
			assert.Contains(t, svgOf(t, d), wordUnknown)
			found := false
			for _, h := range d.sheet.Shapes {
				if len(h.Dash) > 0 && h.Colour == draw.Measured {
					found = true
					assert.InDelta(t, d.sheet.W-2*margin, h.Lines[0][1].X-h.Lines[0][0].X, 1e-9)
				}
				if h.Width == 0 && h.Colour == draw.Measured && len(h.Lines[0]) == 4 {
					assert.Fail(t, "an unknown interval is drawn as a bar")
				}
			}
			assert.True(t, found)
		})
	}
}
