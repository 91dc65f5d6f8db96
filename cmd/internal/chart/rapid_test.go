package chart

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

// anyName draws names: ordinary, empty, hostile, and random strings.
var anyName = rapid.OneOf(
	rapid.SampledFrom([]string{"", "Wren", "Merlin", "<script>alert(1)</script>", "Tree & Creeper", `"Knot"`, "]]>", "a\x00b\ufffe", "\u202eabc", "鷦鷯", "  "}),
	rapid.StringN(0, 90, -1),
)

var (
	anyWidth = rapid.Float64Range(MinWidthMM, 420)
	anyDeg   = rapid.Float64Range(-30, 240)
	anySD    = rapid.OneOf(rapid.Float64Range(0.05, 5), rapid.Float64Range(5, 150), rapid.Just(math.NaN()), rapid.Just(0.0))
)

func anyOptions(t *rapid.T) Options {
	return Options{WidthMM: anyWidth.Draw(t, "width"), Bare: rapid.Bool().Draw(t, "bare")}
}

func anyInterval(t *rapid.T, deg float64) [2]float64 {
	if u := anySD.Draw(t, "u"); u > 0 {
		return [2]float64{deg - 1.96*u, deg + 1.7*u}
	}
	return [2]float64{math.NaN(), math.NaN()}
}

// anyReading draws a reading, with or without a skill, in which some values may be unknown.
func anyReading(t *rapid.T) *reading.Reading {
	u := rapid.Float64Range(0.05, 60).Draw(t, "sd")
	r := sample(rapid.SampledFrom([]string{"hip-split", "knee-bend", "shoulder-flexion"}).Draw(t, "measure"), anyDeg.Draw(t, "angle"), u)
	if rapid.Bool().Draw(t, "skill") {
		edges := rapid.SliceOfNDistinct(rapid.Float64Range(0, 60), 1, 7, rapid.ID[float64]).Draw(t, "edges")
		slices.Sort(edges)
		words := make([]string, len(edges))
		for i := range words {
			words[i] = anyName.Draw(t, "deduction")
		}
		r = skill(r, "x", rapid.Float64Range(0, 200).Draw(t, "asked"), rapid.Bool().Draw(t, "at most"), edges, words...)
	}
	if rapid.Bool().Draw(t, "unknown") {
		r.IntervalDeg = [2]float64{math.NaN(), math.NaN()}
		r.Density = reading.Density{}
	}
	for i := range r.Budget {
		r.Budget[i].StandardUncertaintyDeg *= rapid.SampledFrom([]float64{1, 0, 40, math.NaN()}).Draw(t, "size")
	}
	return r
}

// drawnWell checks a drawing and returns it.
func drawnWell(t *rapid.T, d *Drawing, err error) *Drawing {
	require.NoError(t, err)
	sound(t, d)
	unobstructed(t, d)
	require.Len(t, alone(t, svgOf(t, d)), len(d.sheet.Texts))
	return d
}

func TestAnyRuler(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, who, opt := anyReading(t), anyName.Draw(t, "who"), anyOptions(t)
		d, err := Ruler(RulerData{who, r}, opt)
		drawnWell(t, d, err)
		d, err = Budget(BudgetData{Who: who, Reading: r}, opt)
		drawnWell(t, d, err)
	})
}

func TestAnySquad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := SquadData{Title: anyName.Draw(t, "title"), Day: anyName.Draw(t, "day")}
		for range rapid.IntRange(0, 18).Draw(t, "rows") {
			row := SquadRow{Who: anyName.Draw(t, "who"), Note: anyName.Draw(t, "note"), Gap: anyName.Draw(t, "gap"), Reason: anyName.Draw(t, "reason")}
			if rapid.Bool().Draw(t, "read") {
				row.Reading = anyReading(t)
			}
			in.Rows = append(in.Rows, row)
		}
		d, err := Squad(in, anyOptions(t))
		drawnWell(t, d, err)
	})
}

// anyReadings draws readings in the order of their days.
func anyReadings(t *rapid.T, side string, firstID int64) []change.Reading {
	var out []change.Reading
	day := time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC)
	ask := rapid.Float64Range(0, 200).Draw(t, "asked")
	for i := range rapid.IntRange(1, 12).Draw(t, "readings") {
		day = day.AddDate(0, 0, rapid.IntRange(0, 60).Draw(t, "days"))
		out = append(out, change.Reading{ID: firstID + int64(i), Day: day, Measure: "hip-split", Definition: "x", Side: side,
			State: rapid.SampledFrom([]string{"", "cold", "warm", "after"}).Draw(t, "state"), AngleDeg: anyDeg.Draw(t, "angle"),
			StandardDeg: rapid.Float64Range(0.1, 20).Draw(t, "sd"), AskedDeg: &ask})
	}
	return out
}

func TestAnyChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in ChangeData
		in.Who = anyName.Draw(t, "who")
		sides := [][]string{{""}, {"left", "right"}, {"left"}}[rapid.IntRange(0, 2).Draw(t, "sides")]
		for i, side := range sides {
			rs := anyReadings(t, side, int64(1+100*i))
			n, err := change.NewTrend(rs, change.Options{})
			require.NoError(t, err)
			in.Trends = append(in.Trends, n)
			in.Readings = append(in.Readings, rs...)
		}
		switch rapid.IntRange(0, 3).Draw(t, "with") {
		case 0:
			in.Readings = nil
		case 1:
			in.Trends = nil
		case 2:
			in.Readings[0].StandardDeg = math.NaN()
		}
		d, err := Change(in, anyOptions(t))
		drawnWell(t, d, err)
	})
}

func TestAnySteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := StepsData{Who: anyName.Draw(t, "who"), Measure: "hip-split"}
		if rapid.Bool().Draw(t, "has asked") {
			ask := anyDeg.Draw(t, "asked")
			in.AskedDeg = &ask
		}
		states := []string{"cold", "warm", "after", anyName.Draw(t, "state")}
		for i := range rapid.IntRange(0, 20).Draw(t, "steps") {
			from := rapid.IntRange(0, 2).Draw(t, "from")
			var p change.Step
			p.From, p.To = states[from], states[rapid.IntRange(from+1, 3).Draw(t, "to")]
			p.Day = time.Date(2026, 1, 1+i/2, 0, 0, 0, 0, time.UTC)
			p.FromDeg, p.ToDeg = anyDeg.Draw(t, "a"), anyDeg.Draw(t, "b")
			p.ChangeDeg = p.ToDeg - p.FromDeg
			p.IntervalDeg = anyInterval(t, p.ChangeDeg)
			p.SmallestDeg, p.Real = anySD.Draw(t, "smallest"), rapid.Bool().Draw(t, "real")
			in.Steps = append(in.Steps, p)
		}
		d, err := Steps(in, anyOptions(t))
		drawnWell(t, d, err)
	})
}

func TestAnyScreen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &change.Screen{Measure: "hip-split", AskedDeg: anyDeg.Draw(t, "asked"), AtMost: rapid.Bool().Draw(t, "at most"),
			Sentence: anyName.Draw(t, "sentence"), Largest: rapid.SampledFrom([]string{"", change.Range, change.Use}).Draw(t, "largest")}
		last, lastDeg := "asked", s.AskedDeg
		for i, c := range []string{"passive", "active", "in-skill"} {
			if rapid.IntRange(0, 3).Draw(t, "there") == 0 {
				continue
			}
			l := change.Level{Condition: c, AngleDeg: anyDeg.Draw(t, "angle"), Takes: 1}
			l.IntervalDeg = anyInterval(t, l.AngleDeg)
			g := change.Gap{Name: []string{change.Range, change.Control, change.Use}[i], From: last, To: c, Deg: lastDeg - l.AngleDeg}
			g.IntervalDeg = anyInterval(t, g.Deg)
			if rapid.Bool().Draw(t, "has probability") {
				p := rapid.Float64Range(0, 1).Draw(t, "p")
				g.LargestProbability = &p
			}
			s.Levels, s.Gaps = append(s.Levels, l), append(s.Gaps, g)
			last, lastDeg = c, l.AngleDeg
		}
		d, err := Screen(ScreenData{anyName.Draw(t, "who"), s}, anyOptions(t))
		drawnWell(t, d, err)
	})
}

func TestAnyAgreement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(t, "frames")
		first, second := make([]float64, n), make([]float64, n)
		spread := rapid.SampledFrom([]float64{0.01, 1, 40}).Draw(t, "spread")
		for i := range first {
			first[i] = rapid.Float64Range(100, 200).Draw(t, "first")
			second[i] = first[i] + spread*rapid.Float64Range(-1, 1).Draw(t, "off")
		}
		a, err := change.NewAgreement(first, second)
		require.NoError(t, err)
		if rapid.Bool().Draw(t, "unknown") {
			a.MeanInterval = [2]float64{math.NaN(), math.NaN()}
		}
		d, err := Agreement(AgreementData{First: anyName.Draw(t, "a"), Second: anyName.Draw(t, "b"), Agreement: a}, anyOptions(t))
		drawnWell(t, d, err)
	})
}

// resolved is a difference in degrees that moves a mark by more than rounding.
const resolved = 1e-6

// On the vertical scale a larger angle is drawn higher, and a later day further right.
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rs := anyReadings(t, "", 1)
		for i := range rs {
			rs[i].State = "warm" // all marks are discs
		}
		d, err := Change(ChangeData{Readings: rs}, anyOptions(t))
		drawnWell(t, d, err)
		var discs []point // of the readings in their order, then that of the key
		for _, h := range d.sheet.Shapes {
			if h.Round > 0 {
				discs = append(discs, h.Lines[0][0])
			}
		}
		require.Len(t, discs, len(rs)+1)
		for i := range rs {
			for j := range rs[:i] {
				a, b := rs[j].AngleDeg, rs[i].AngleDeg
				if a+resolved < b {
					require.Greater(t, discs[j].Y, discs[i].Y, fmt.Sprintf("%g and %g", a, b))
				}
				if rs[j].Day.Before(rs[i].Day) {
					require.LessOrEqual(t, discs[j].X, discs[i].X+0.6*text*float64(len(rs)))
				}
			}
		}
	})
}

// slots keeps the order of the items and avoids overlap. A single item stays at its wanted
// place, and all items stay inside if there is room for them.
func TestSlots(t *testing.T) {
	const rounding = 1e-9
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		wanted, heights, total := make([]float64, n), make([]float64, n), 0.0
		for i := range n {
			wanted[i] = rapid.Float64Range(-20, 220).Draw(t, "wanted")
			heights[i] = rapid.Float64Range(1, 40).Draw(t, "height")
			total += heights[i]
		}
		lo, hi := 0.0, 200.0
		got := slots(wanted, heights, lo, hi)
		for i := range n {
			for j := range n {
				if i != j {
					require.GreaterOrEqual(t, math.Abs(got[i]-got[j])+rounding, (heights[i]+heights[j])/2)
				}
				if wanted[i] < wanted[j] {
					require.Less(t, got[i], got[j])
				}
			}
			if total <= hi-lo {
				require.GreaterOrEqual(t, got[i]-heights[i]/2, lo-rounding)
				require.LessOrEqual(t, got[i]+heights[i]/2, hi+rounding)
			}
		}
		if n == 1 && wanted[0]-heights[0]/2 >= lo && wanted[0]+heights[0]/2 <= hi {
			require.InDelta(t, wanted[0], got[0], rounding)
		}
	})
}
