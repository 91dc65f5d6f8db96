package terminal

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
)

func band(from, to float64) reading.BandProbability {
	b := reading.BandProbability{FromDeg: from}
	if !math.IsInf(to, 1) {
		b.ToDeg = &to
	}
	return b
}

func ruled(lo, angle, hi, asked float64, atMost bool, bands ...reading.BandProbability) *reading.Reading {
	return &reading.Reading{AngleDeg: angle, IntervalDeg: [2]float64{lo, hi},
		Skill: &reading.SkillRef{ThresholdDeg: asked, AtMost: atMost}, Verdict: &reading.Verdict{Bands: bands}}
}

var end = math.Inf(1)

// The ruler runs from 8 % of its length and 1 degree below the least value it shows
// to as much above the largest. Each is computed by hand: the column of d is
// (d - from) / (to - from) * (width - 1), rounded.
func TestRuler(t *testing.T) {
	for _, c := range []struct {
		name string
		r    *reading.Reading
		want string
	}{
		{
			// 155 to 180: margin 0.08*25+1 = 3, so 152 to 183, 31 columns, one a degree
			"short", ruled(155, 160, 166, 180, false, band(0, 20), band(20, end)), `
   ┣━━━━●━━━━━┫             ╷
▒▒▒▒▒▒▒▒░░░░░░░░░░░░░░░░░░░░┃───
152    160                 180`,
		},
		{
			// the same past what is asked: 175 to 200, so 172 to 203
			"over", ruled(175, 190, 200, 180, false, band(0, 20), band(20, end)), `
   ┣━━━━━━━━━━━━━━●━━━━━━━━━┫
░░░░░░░░┃───────────────────────
172    180                   203`,
		},
		{
			// at most 10, one side in view: -2 to 10 and 10 to 30: -2 to 23, margin 3: -5 to 26
			"at most", ruled(-2, 8, 23, 0, true, band(10, 30), band(30, end)), `
   ┣━━━━━━━━━●━━━━━━━━━━━━━━┫
───────────────┃░░░░░░░░░░░░░░░░
-5            10              26`,
		},
		{
			// at most 10, leaning the other way: mirrored, -23 to 2 with -10 near: -26 to 5
			"at most, below", ruled(-23, -8, 2, 0, true, band(10, 30), band(30, end)), `
   ┣━━━━━━━━━━━━━━●━━━━━━━━━┫
░░░░░░░░░░░░░░░░┃───────────────
-26            -10             5`,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ruler(c.r, 32)
			assert.Equal(t, strings.Split(c.want, "\n")[1:], got, "\n%s", strings.Join(got, "\n"))
		})
	}
}

// For any reading the ruler has three rows of at most its width, and the angle
// is within its interval and on its side of the limit.
func TestRulerHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-200, 360).Draw(t, "angle")
		lo := angle - rapid.Float64Range(0, 90).Draw(t, "below")
		hi := angle + rapid.Float64Range(0, 90).Draw(t, "above")
		atMost := rapid.Bool().Draw(t, "at most")
		asked := rapid.Float64Range(-90, 360).Draw(t, "asked")
		if atMost {
			asked = math.Abs(asked)
		}
		free := rapid.Float64Range(0, 20).Draw(t, "free")
		r := ruled(lo, angle, hi, asked, atMost, band(free, free+20), band(free+20, free+45), band(free+45, end))
		rows := ruler(r, 46)
		require.Len(t, rows, 3)
		for _, row := range rows {
			require.LessOrEqual(t, len([]rune(row)), 46)
		}
		dot := strings.IndexRune(rows[0], '●')
		require.GreaterOrEqual(t, dot, 0, "the angle is on it")
		column := len([]rune(rows[0][:dot]))
		band := []rune(rows[1])[column]
		short := asked - angle
		if atMost {
			short = math.Abs(angle) - asked
		}
		column1 := 560.0 / 45 * 2 // degrees that the widest ruler puts into a column, and its neighbour
		switch {
		case short < free-column1:
			require.NotContains(t, "░▒▓", string(band), "it meets what is asked")
		case short > free+column1:
			require.NotEqual(t, '─', band, "it falls short")
		}
	})
}
