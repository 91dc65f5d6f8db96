package journal

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestKeepAndShow(t *testing.T) {
	j := openNew(t)
	e := sample(t, 0)
	id, err := j.Keep(ctx, &e)
	require.NoError(t, err)
	assert.Len(t, e.UID, 32)
	assert.Equal(t, "2026-06-01T18:30:00Z", e.KeptAt)
	got, err := j.Show(ctx, id)
	require.NoError(t, err)
	assert.Equal(t, &e, got)

	info, err := os.Stat(j.Path())
	require.NoError(t, err)
	assert.Equal(t, privateFile, info.Mode().Perm(), "athletes are mostly minors: the file is its owner's alone")
}

// A row of the list agrees with the complete reading.
func TestListAgreesWithReading(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 3))
	r, err := e.Parse()
	require.NoError(t, err)
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	require.Len(t, rows, 1)
	got := rows[0]
	budget, err := got.Budget()
	require.NoError(t, err)
	require.Len(t, budget, len(r.Budget))
	for _, b := range r.Budget {
		assert.Equal(t, b.StandardUncertaintyDeg, budget[b.Source], b.Source)
	}
	got.budget, got.key, got.sum = "", "", ""
	asked, meets := r.Skill.ThresholdDeg, r.Verdict.MeetsProbability
	assert.Equal(t, Row{ID: e.ID, UID: e.UID, Athlete: "Siskin", Day: "2025-09-01", State: "warm", Condition: "in-skill", Side: "left", Rater: "Iris", Setup: "mat by the wall", Note: "left knee taped",
		Tool: "0.9.0", KeptAt: e.KeptAt, Take: r.Take, Measure: "hip-split", Lines: "hip>front-ankle|hip>back-ankle", Rulebook: "hall", Skill: "split-leap", AskedDeg: &asked,
		AngleDeg: r.AngleDeg, StandardUncertaintyDeg: r.StandardUncertaintyDeg, ExpandedUncertaintyDeg: r.ExpandedUncertaintyDeg, Coverage: 0.95, IntervalDeg: r.IntervalDeg,
		Decision: string(r.Verdict.Decision), MeetsProbability: &meets}, got)
}

func TestFilters(t *testing.T) {
	j := openNew(t)
	var all []Entry
	for n := range 45 { // three days of fifteen
		e := sample(t, n)
		e.State = States[n%3]
		e.Condition = Conditions[n%4]
		all = append(all, keep(t, j, e))
	}
	count := func(f func(e Entry) bool) (n int) {
		for _, e := range all {
			if f(e) {
				n++
			}
		}
		return n
	}
	for _, c := range []struct {
		name string
		f    Filter
		want func(e Entry) bool
	}{
		{"all", Filter{}, func(Entry) bool { return true }},
		{"athlete, whatever the case", Filter{Athlete: "  mERLIN "}, func(e Entry) bool { return e.Athlete == "Merlin" }},
		{"state", Filter{State: "cold"}, func(e Entry) bool { return e.State == "cold" }},
		{"condition and athlete", Filter{Condition: "passive", Athlete: "Wren"}, func(e Entry) bool { return e.Condition == "passive" && e.Athlete == "Wren" }},
		{"days", Filter{From: "2025-09-02", To: "2025-09-02"}, func(e Entry) bool { return e.Day == "2025-09-02" }},
		{"numbers", Filter{IDs: []int64{all[4].ID, all[7].ID}}, func(e Entry) bool { return e.ID == all[4].ID || e.ID == all[7].ID }},
		{"no numbers", Filter{IDs: []int64{}}, func(Entry) bool { return false }},
		{"another measure", Filter{Measure: "pike"}, func(Entry) bool { return false }},
		{"take", Filter{Take: strings.ToUpper(fmt.Sprintf("%064x", 0xec))}, func(Entry) bool { return true }},
		{"side and skill", Filter{Side: "left", Skill: "split-leap"}, func(Entry) bool { return true }},
	} {
		rows, err := j.List(ctx, c.f)
		require.NoError(t, err, c.name)
		assert.Len(t, rows, count(c.want), c.name)
	}
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	for i := 1; i < len(rows); i++ {
		a, b := rows[i-1], rows[i]
		assert.True(t, key(a.Athlete) < key(b.Athlete) || a.Athlete == b.Athlete && a.Day <= b.Day, "by athlete, then by day")
	}
	who, err := j.Athletes(ctx)
	require.NoError(t, err)
	require.Len(t, who, len(birds))
	assert.Equal(t, Athlete{ID: who[0].ID, Name: "Brambling", Days: 3, Readings: 3, First: "2025-09-01", Last: "2025-09-03"}, who[0])
	_, err = j.List(ctx, Filter{Athlete: "Heron"})
	require.ErrorIs(t, err, ErrAbsent)
	assert.Contains(t, err.Error(), `"Heron"`)
	assert.NotEmpty(t, hint(t, err))
	_, err = j.Show(ctx, 4711)
	require.ErrorIs(t, err, ErrAbsent)
	assert.Contains(t, err.Error(), "4711")
}

func TestNamesAreOneWhateverTheirCase(t *testing.T) {
	j := openNew(t)
	for i, name := range []string{"Zoë", "ZOË", "zoë", " Zoe\u0308 ", "Straße", "STRASSE"} {
		e := sample(t, 15*i)
		e.Athlete = name
		keep(t, j, e)
	}
	who, err := j.Athletes(ctx)
	require.NoError(t, err)
	require.Len(t, who, 2)
	assert.Equal(t, "Straße", who[0].Name)
	assert.Equal(t, "Zoë", who[1].Name)
	assert.Equal(t, 4, who[1].Readings)
}

func TestKeepTwice(t *testing.T) {
	j := openNew(t)
	first := keep(t, j, sample(t, 0))
	second := sample(t, 0)
	second.Athlete = "WREN"
	second.Tool = "1.0.0"
	id, err := j.Keep(ctx, &second)
	require.NoError(t, err, "the same reading once more")
	assert.Equal(t, first.ID, id)

	for what, change := range map[string]func(e *Entry){
		"athlete":              func(e *Entry) { e.Athlete = "Merlin" },
		"day":                  func(e *Entry) { e.Day = "2025-09-02" },
		"state":                func(e *Entry) { e.State = "cold" },
		"condition":            func(e *Entry) { e.Condition = "passive" },
		"rater":                func(e *Entry) { e.Rater = "Otto" },
		"set-up":               func(e *Entry) { e.Setup = "" },
		"note":                 func(e *Entry) { e.Note = "right knee" },
		"side":                 func(e *Entry) { e.Side = "right" },
		"its request":          func(e *Entry) { e.Request.Camera = "squared" },
		"figures":              func(e *Entry) { e.Reading = sample(t, 1).Reading },
		"session":              func(e *Entry) { e.Session = "evening" },
		`"warm" there, "cold"`: func(e *Entry) { e.State = "cold" },
	} {
		e := sample(t, 0)
		change(&e)
		_, err := j.Keep(ctx, &e)
		require.Error(t, err, what)
		assert.Contains(t, err.Error(), what)
		assert.Contains(t, err.Error(), "kept already as reading 1")
		assert.Contains(t, hint(t, err), "“show the reading 1”")
	}
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 1)
}

func TestRefused(t *testing.T) {
	j := openNew(t)
	edit := func(e *Entry, f func(map[string]any)) {
		var m map[string]any
		require.NoError(t, json.Unmarshal(e.Reading, &m))
		f(m)
		var err error
		e.Reading, err = json.Marshal(m)
		require.NoError(t, err)
	}
	for what, change := range map[string]func(e *Entry){
		"no athlete":               func(e *Entry) { e.Athlete = " \t" },
		"the note":                 func(e *Entry) { e.Note = strings.Repeat("x", longestNote+1) },
		`the note "a\ab"`:          func(e *Entry) { e.Note = "a\ab" },
		`athlete "W\aren"`:         func(e *Entry) { e.Athlete = "W\aren" },
		"athlete":                  func(e *Entry) { e.Athlete = strings.Repeat("x", longest+1) },
		`rater "\xff"`:             func(e *Entry) { e.Rater = "\xff" },
		`state "hot"`:              func(e *Entry) { e.State = "hot" },
		`condition "asleep"`:       func(e *Entry) { e.Condition = "asleep" },
		`side "top"`:               func(e *Entry) { e.Side = "top" },
		`"3.3.2026" is no date`:    func(e *Entry) { e.Day = "3.3.2026" },
		`"2026-02-30" is no date`:  func(e *Entry) { e.Day = "2026-02-30" },
		`"" is no date`:            func(e *Entry) { e.Day = "" },
		"ahead of today":           func(e *Entry) { e.Day = "2026-06-02" },
		"marks are no JSON":        func(e *Entry) { e.Marks = []byte(`{"schema": `) },
		"reading are no JSON":      func(e *Entry) { e.Reading = nil },
		"lens are no JSON":         func(e *Entry) { e.Request.Lens = []byte("lens") },
		"what was measured":        func(e *Entry) { e.Request.Measure = "" },
		`unknown landmark "nose"`:  func(e *Entry) { e.Marks = []byte(strings.Replace(splitMarks, `"hip"`, `"nose"`, 1)) },
		"standard uncertainty is":  func(e *Entry) { edit(e, func(m map[string]any) { m["standard_uncertainty_deg"] = 0 }) },
		`schema "ecart/reading/2"`: func(e *Entry) { edit(e, func(m map[string]any) { m["schema"] = "ecart/reading/2" }) },
		"no SHA-256":               func(e *Entry) { edit(e, func(m map[string]any) { m["take"].(map[string]any)["sha256"] = "ab" }) },
	} {
		e := sample(t, 0)
		change(&e)
		_, err := j.Keep(ctx, &e)
		require.Error(t, err, what)
		assert.Contains(t, err.Error(), what)
		assert.NotEmpty(t, hint(t, err))
		assert.False(t, strings.HasSuffix(err.Error(), "."), err.Error())
	}
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Empty(t, rows)
}

// A take made late on an evening west of Greenwich carries tomorrow's date in UTC.
func TestTodayIsWhicheverIsAhead(t *testing.T) {
	j := openNew(t)
	e := sample(t, 0)
	e.Day = "2026-06-01"
	keep(t, j, e)
}

// A variant is a short word, and the same reading in another position is a difference.
func TestVariantIsKept(t *testing.T) {
	j := openNew(t)
	e := sample(t, 0)
	e.Variant = "Knee Bent"
	_, err := j.Keep(ctx, &e)
	require.ErrorContains(t, err, `the variant "Knee Bent" cannot be kept`)
	e.Variant = "knee-bent"
	e = keep(t, j, e)
	usual := e
	usual.Variant = ""
	_, err = j.Keep(ctx, &usual)
	require.ErrorContains(t, err, `variant ("knee-bent" there, "" here)`)
}
