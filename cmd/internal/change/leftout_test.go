package change

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/trial/season"
)

// statement is a result from several readings, as the half-widths of its intervals, degrees.
type statement struct {
	name string
	plan season.Plan
	half func(rs []Reading) (map[string]float64, error)
}

// statements are all that this package says of several readings, but for the screen's gaps and the
// difference of two readings, which have property tests of their own.
func statements() []statement {
	contrast := movement.Contrasts()[0]
	both := []season.Condition{{Name: "active"}, {Name: "in-skill", AddDeg: 6}}
	width := func(i [2]float64) float64 { return (i[1] - i[0]) / 2 }
	return []statement{
		{"months", season.Plan{Days: 6, Takes: 1, SlopeDeg: 1, DayDeg: 2}, func(rs []Reading) (map[string]float64, error) {
			t, err := NewTrend(rs, Options{})
			if err != nil {
				return nil, err
			}
			_, low, high := t.Line.At(t.Line.To)
			return map[string]float64{"the change": t.SmallestDeg, "the line on the last day": (high - low) / 2, "the rate": width(t.Line.SlopeIntervalDeg),
				"the first day with the last": t.Difference.SmallestDeg, "a day": width(t.Days[0].IntervalDeg)}, nil
		}},
		{"two days", season.Plan{Days: 2, Takes: 2, DayDeg: 2}, func(rs []Reading) (map[string]float64, error) {
			t, err := NewTrend(rs, Options{})
			if err != nil {
				return nil, err
			}
			return map[string]float64{"the change": t.SmallestDeg, "a day": width(t.Days[0].IntervalDeg)}, nil
		}},
		{"sides", season.Plan{Days: 3, Takes: 2, Sides: []string{"left", "right"}}, func(rs []Reading) (map[string]float64, error) {
			a, err := Sides(rs, 0.95)
			if err != nil {
				return nil, err
			}
			return map[string]float64{"the difference": a.SmallestDeg, "of one day": a.Days[0].SmallestDeg}, nil
		}},
		{"warm-up", season.Plan{Days: 3, Takes: 1, Conditions: both}, func(rs []Reading) (map[string]float64, error) {
			for i := range rs {
				rs[i].State = map[string]string{"active": "cold", "in-skill": "warm"}[rs[i].Condition]
				rs[i].Condition = "active"
			}
			w, err := NewWarmUp(rs, 0.95)
			if err != nil {
				return nil, err
			}
			steps, err := Steps(rs, 0.95)
			if err != nil {
				return nil, err
			}
			return map[string]float64{"the effect": w.SmallestDeg, "of one session": steps[0].SmallestDeg}, nil
		}},
		{"contrast", season.Plan{Days: 1, Takes: 2, Conditions: both}, func(rs []Reading) (map[string]float64, error) {
			for i := range rs {
				rs[i].Variant = map[string]string{"active": contrast.Taut, "in-skill": contrast.Slack}[rs[i].Condition]
				rs[i].Condition, rs[i].Measure = "active", contrast.Measure
			}
			c, err := NewContrast(rs, contrast, 0.95)
			if err != nil {
				return nil, err
			}
			return map[string]float64{"the difference": width(c.IntervalDeg), "one position": width(c.Taut.IntervalDeg)}, nil
		}},
		{"group", season.Plan{Days: 3, Takes: 1, DayDeg: 2}, func(rs []Reading) (map[string]float64, error) {
			g, err := NewGroup(rs, GroupOptions{})
			if err != nil {
				return nil, err
			}
			return map[string]float64{"the mean": g.Mean.SmallestDeg}, nil
		}},
		{"plan", season.Plan{Days: 5, Takes: 2, DayDeg: 2}, func(rs []Reading) (map[string]float64, error) {
			few, err := SmallestFound(rs[len(rs)-1], PlanOptions{Before: rs}, 2, 1, 30)
			if err != nil {
				return nil, err
			}
			more, err := SmallestFound(rs[len(rs)-1], PlanOptions{Before: rs}, 5, 2, 14)
			return map[string]float64{"what two days find": few, "what five days find": more}, err
		}},
		{"screen", season.Plan{Days: 1, Takes: 2, Conditions: []season.Condition{{Name: "passive", AddDeg: 12}, {Name: "active", AddDeg: 6}, {Name: "in-skill"}}}, func(rs []Reading) (map[string]float64, error) {
			asked := 180.0
			s, err := NewScreen(rs, ScreenOptions{AskedDeg: &asked})
			if err != nil {
				return nil, err
			}
			out := map[string]float64{"what is missing": width(s.Missing.IntervalDeg)}
			for _, g := range s.Gaps {
				out["the gap "+g.Name] = width(g.IntervalDeg)
			}
			for _, l := range s.Levels {
				out["the level "+l.Condition] = width(l.IntervalDeg)
			}
			return out, nil
		}},
	}
}

// slack is the relative amount by which a half-width may shrink: it is averaged over a grid of values of an unknown
// variation, which changes with what is left out (variationSteps: less than 2 %).
const slack = 0.02

// No statement from several readings gets surer when fields of any of them are left out.
func TestLeavingOutNeverMakesAStatementSurer(t *testing.T) {
	for _, s := range statements() {
		t.Run(s.name, func(t *testing.T) {
			checks := 0
			rapid.Check(t, func(t *rapid.T) {
				if checks++; checks > 25 { // one takes up to 50 ms
					return
				}
				rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
				s.plan.Named = true
				var rs []Reading
				if s.name == "group" {
					rs = randomSquad(rnd, 4, s.plan, 1, 1)
				} else {
					rs = fromSeason(season.Make(s.plan, rnd))
				}
				before, err := s.half(append([]Reading(nil), rs...))
				require.NoError(t, err)
				someOnly := rapid.Bool().Draw(t, "of some readings only")
				for _, field := range []struct {
					name string
					of   func(*Reading) *string
				}{{"rater", func(r *Reading) *string { return &r.Rater }}, {"set-up", func(r *Reading) *string { return &r.Setup }}} {
					if !rapid.Bool().Draw(t, field.name) {
						continue
					}
					for i := range rs {
						if !someOnly || rapid.Bool().Draw(t, fmt.Sprint(field.name, i)) {
							*field.of(&rs[i]) = ""
						}
					}
				}
				if s.name != "sides" && rapid.Bool().Draw(t, "side") { // without which there are no sides
					for i := range rs {
						rs[i].Side = ""
					}
				}
				if s.name != "warm-up" && rapid.Bool().Draw(t, "state") {
					for i := range rs {
						rs[i].State = ""
					}
				}
				if rapid.Bool().Draw(t, "widest moment") {
					for i := range rs {
						rs[i].Missed = [2]float64{0, 5}
					}
				}
				after, err := s.half(rs)
				require.NoError(t, err)
				for what, half := range before {
					if after[what] < half*(1-slack) {
						t.Fatalf("%s: the half-width %.3f became %.3f", what, half, after[what])
					}
				}
			})
		})
	}
}
