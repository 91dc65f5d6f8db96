// Package desktest fills journals for tests. Only tests import it.
package desktest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// Keep adds the readings of a table, one a line in the form of [Entry], to the journal at
// path, which is created where there is none.
func Keep(path, table string) error {
	j, err := journal.Open(path, journal.Options{Create: true})
	if err != nil {
		return err
	}
	for n, line := range strings.Split(strings.TrimSpace(table), "\n") {
		e, err := Entry(n, strings.Fields(line))
		if err == nil {
			_, err = j.Keep(context.Background(), e)
		}
		if err != nil {
			return errors.Join(err, j.Close())
		}
	}
	return j.Close()
}

// measureLines are the two lines of each measure that tables use.
var measureLines = map[string][2]reading.Line{
	"hip-split":        {{From: "hip", To: "front-ankle"}, {From: "hip", To: "back-ankle"}},
	"shoulder-flexion": {{From: "shoulder", To: "hip"}, {From: "shoulder", To: "elbow"}},
	"leg-separation":   {{From: "right-hip", To: "right-ankle"}, {From: "left-hip", To: "left-ankle"}},
	"leg-rise":         {{From: "hip", To: "level"}, {From: "hip", To: "ankle"}},
	"pike":             {{From: "hip", To: "shoulder"}, {From: "hip", To: "ankle"}},
	"hip-flexion":      {{From: "shoulder", To: "hip"}, {From: "hip", To: "knee"}},
	"foot-point":       {{From: "ankle", To: "knee"}, {From: "ankle", To: "toe"}},
}

// Entry parses line n of a table: athlete, day, side, state, condition, measure, and in
// degrees the angle, its standard uncertainty and the required angle, with a hyphen for a
// column without a value; then further values such as session=evening. The take and the
// marks are made up: the code that reads a journal looks at neither.
func Entry(n int, f []string) (*journal.Entry, error) {
	const columns = 9
	if len(f) < columns {
		return nil, fmt.Errorf("line %d has %d columns of %d", n+1, len(f), columns)
	}
	given := func(s string) string { return strings.TrimPrefix(s, "-") }
	angle, err := strconv.ParseFloat(f[6], 64)
	if err != nil {
		return nil, err
	}
	sd, err := strconv.ParseFloat(f[7], 64)
	if err != nil {
		return nil, err
	}
	r := &reading.Reading{Schema: reading.Schema, Measure: f[5], AngleDeg: angle, StandardUncertaintyDeg: sd, ExpandedUncertaintyDeg: 1.96 * sd, Coverage: 0.95,
		IntervalDeg: [2]float64{angle - 1.96*sd, angle + 1.96*sd}, Lines: measureLines[f[5]], Turn: 1,
		Take: reading.Take{Name: fmt.Sprintf("take%d.mp4", n), SHA256: fmt.Sprintf("%064x", n+1), WidthPx: 1920, HeightPx: 1080},
		// half of the variance from the landmark, half from the camera
		Budget: []reading.BudgetRow{{Source: reading.SourceLandmark, StandardUncertaintyDeg: sd * math.Sqrt(0.5), Share: 0.5}, {Source: reading.SourceOblique, StandardUncertaintyDeg: sd * math.Sqrt(0.5), Share: 0.5}}}
	if asked := given(f[8]); asked != "" {
		deg, err := strconv.ParseFloat(asked, 64)
		if err != nil {
			return nil, err
		}
		r.Skill = &reading.SkillRef{Rulebook: "hall", Name: "goal", Title: "goal", ThresholdDeg: deg}
	}
	e := &journal.Entry{Athlete: f[0], Day: f[1], Side: given(f[2]), State: given(f[3]), Condition: given(f[4]), Tool: "0.9.0",
		Marks:   fmt.Appendf(nil, `{"schema": "ecart/marks/1", "frame": %d, "marks": [{"landmark": "hip", "x": 960, "y": 540}]}`, n),
		Request: journal.Request{Measure: f[5], Seed: 1}}
	for _, more := range f[columns:] {
		switch what, value, _ := strings.Cut(more, "="); what {
		case "session":
			e.Session = value
		case "rater":
			e.Rater = value
		case "setup":
			e.Setup = value
		case "stature": // mm
			if e.Request.StatureMm, err = strconv.ParseFloat(value, 64); err != nil {
				return nil, err
			}
		case "variant":
			e.Variant = value
		default:
			return nil, fmt.Errorf("line %d has the unknown value %q", n+1, more)
		}
	}
	e.Reading, err = json.Marshal(r)
	return e, err
}

// SplitEntry returns a real reading of a split as a journal entry.
func SplitEntry(t testing.TB, athlete, day string) *journal.Entry {
	const marks = `{"schema": "ecart/marks/1", "frame": 12, "marks": [{"landmark": "hip", "x": 960, "y": 500},
		{"landmark": "front-ankle", "x": 1260, "y": 540}, {"landmark": "back-ankle", "x": 660, "y": 540}, {"landmark": "shoulder", "x": 965, "y": 300}]}`
	m, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	parsed, err := reading.ParseMarks("marks", []byte(marks))
	require.NoError(t, err)
	q := reading.Request{Take: reading.Take{Name: "split.mp4", SHA256: fmt.Sprintf("%064x", 77), Frame: 12, TimeS: 0.2, WidthPx: 1920, HeightPx: 1080},
		Marks: parsed, Measure: m, Seed: 1, MaxDraws: 20_000,
		Skill: &reading.Skill{Rulebook: "hall", Name: "full-split", Title: "full split", Measure: "hip-split", AskedDeg: 180}}
	r, err := reading.Read(q)
	require.NoError(t, err)
	data, err := json.Marshal(r)
	require.NoError(t, err)
	return &journal.Entry{Athlete: athlete, Day: day, State: "warm", Condition: "passive", Side: "left", Rater: "Iris", Setup: "by the wall", Session: "evening",
		Marks: []byte(marks), Request: journal.NewRequest(&q, nil, nil), Reading: data}
}
