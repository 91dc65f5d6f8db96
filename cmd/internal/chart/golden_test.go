package chart

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

var (
	update   = flag.Bool("update", false, "write the golden drawings anew")
	pictures = flag.String("pictures", "", "a folder to write every drawing into as a PNG, for inspection")
)

// drawings returns every kind of drawing, with ordinary and with difficult data.
func drawings(t testing.TB) map[string]func(Options) (*Drawing, error) {
	nan := math.NaN()
	unknown := leap(162.4, 1.6)
	unknown.IntervalDeg, unknown.ExpandedUncertaintyDeg, unknown.Density.Values = [2]float64{nan, nan}, nan, nil
	unknown.Verdict.MeetsProbability = nan
	for i := range unknown.Verdict.Bands {
		unknown.Verdict.Bands[i].Probability = nan
	}
	unknown.Verdict.Decision = reading.Undecided
	unknown.Budget[1].StandardUncertaintyDeg, unknown.Budget[1].Share, unknown.StandardUncertaintyDeg = nan, nan, nan
	few := func(n int) ChangeData {
		rs := takes("", "warm", 1, rightDays[:n], rightDegs[:n], 1.3)
		if n == 0 {
			return ChangeData{Who: "Dunlin", Measure: "shoulder-flexion"}
		}
		return ChangeData{Who: "Dunlin", Readings: rs, Trends: nil, Measure: "shoulder-flexion"}.with(trend(t, rs))
	}
	loose := monthsData(t)
	loose.Readings[3].StandardDeg = nan
	loose.Readings[5].StandardDeg = 45
	list := skill(sample("shoulder-flexion", 172, 3), "shoulder overhead", 180, false,
		[]float64{0, 2, 5, 10}, "0.05-0.10", "0.15-0.20", "0.25-0.30", "0.3-0.5 and the element is not recognised")
	return map[string]func(Options) (*Drawing, error){
		"ruler":           func(o Options) (*Drawing, error) { return Ruler(RulerData{"Wren", leap(162.4, 1.6)}, o) },
		"ruler-undecided": func(o Options) (*Drawing, error) { return Ruler(RulerData{"Merlin", leap(177.6, 2.6)}, o) },
		"ruler-list":      func(o Options) (*Drawing, error) { return Ruler(RulerData{"Siskin", list}, o) },
		"ruler-plain":     func(o Options) (*Drawing, error) { return Ruler(RulerData{"", sample("knee-bend", 24, 2.2)}, o) },
		"ruler-at-most": func(o Options) (*Drawing, error) {
			return Ruler(RulerData{"Knot", skill(sample("off-vertical", 13, 1.5), "handstand", 0, true, []float64{10, 30, 45}, "0.10", "0.30", "0.50")}, o)
		},
		"ruler-unknown": func(o Options) (*Drawing, error) { return Ruler(RulerData{"Wren <&> Co", unknown}, o) },
		"ruler-wide":    func(o Options) (*Drawing, error) { return Ruler(RulerData{"Wren", leap(162.4, 60)}, o) },
		"change":        func(o Options) (*Drawing, error) { return Change(monthsData(t), o) },
		"change-tall": func(o Options) (*Drawing, error) {
			in := monthsData(t)
			for i, r := range in.Readings {
				in.Statures = append(in.Statures, Stature{r.Day, 148 + float64(i/3)*0.5})
			}
			return Change(in, o)
		},
		"change-sides": func(o Options) (*Drawing, error) { return Change(sidesData(t), o) },
		"change-none":  func(o Options) (*Drawing, error) { return Change(few(0), o) },
		"change-one":   func(o Options) (*Drawing, error) { return Change(few(1), o) },
		"change-two":   func(o Options) (*Drawing, error) { return Change(few(2), o) },
		"change-loose": func(o Options) (*Drawing, error) { return Change(loose, o) },
		"change-reach": func(o Options) (*Drawing, error) { return Change(reachData(t), o) },
		"change-bend":  func(o Options) (*Drawing, error) { return Change(bendData(t), o) },
		"steps":        func(o Options) (*Drawing, error) { return Steps(stepsData(t, 1), o) },
		"steps-many":   func(o Options) (*Drawing, error) { return Steps(stepsData(t, 5), o) },
		"screen-sure":  func(o Options) (*Drawing, error) { return Screen(screenData(t, 178.4, 163.2, 161.1), o) },
		"screen":       func(o Options) (*Drawing, error) { return Screen(screenData(t, 176.1, 164.9, 158.2), o) },
		"screen-two":   func(o Options) (*Drawing, error) { return Screen(screenData(t, 171, nan, 173), o) },
		"squad":        func(o Options) (*Drawing, error) { return Squad(squadData(), o) },
		"group":        func(o Options) (*Drawing, error) { return Group(groupData(t, 15, true), o) },
		"group-two":    func(o Options) (*Drawing, error) { return Group(groupData(t, 2, false), o) },
		"group-many":   func(o Options) (*Drawing, error) { return Group(groupData(t, 40, false), o) },
		"plan":         func(o Options) (*Drawing, error) { return Plan(planData(t, "Wren", 10), o) },
		"plan-none":    func(o Options) (*Drawing, error) { return Plan(planData(t, "", 1), o) },
		"agreement":    func(o Options) (*Drawing, error) { return Agreement(agreementData(t), o) },
		"budget": func(o Options) (*Drawing, error) {
			return Budget(BudgetData{Who: "Wren", Reading: leap(162.4, 1.6)}, o)
		},
		"budget-unknown": func(o Options) (*Drawing, error) {
			return Budget(BudgetData{Who: "Wren", Reading: unknown}, o)
		},
	}
}

func (d ChangeData) with(ts ...*change.Trend) ChangeData {
	d.Trends = append(d.Trends, ts...)
	return d
}

// golden lists the drawings that are compared byte for byte. The other tests check what
// must hold for all drawings.
var golden = []string{"budget", "change", "ruler", "screen", "squad"}

func TestGolden(t *testing.T) {
	for name, draw := range drawings(t) {
		t.Run(name, func(t *testing.T) {
			d, err := draw(Options{})
			require.NoError(t, err)
			if *pictures != "" {
				f, err := os.Create(filepath.Join(*pictures, name+".png"))
				require.NoError(t, err)
				defer f.Close()
				require.NoError(t, d.PNG(f, 0))
			}
			if !slices.Contains(golden, name) {
				return
			}
			got, path := svgOf(t, d), filepath.Join("testdata", name+".svg")
			if *update {
				require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
				return
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err, "run the test with -update to write it")
			assert.Equal(t, string(want), got)
		})
	}
}
