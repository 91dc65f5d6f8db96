package session

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

// decided is a reading in a condition with a verdict.
func decided(condition string, d reading.Decision) Reading {
	return Reading{Condition: condition, Reading: &reading.Reading{Measure: "hip-split", Verdict: &reading.Verdict{Decision: d}, Skill: &reading.SkillRef{}}}
}

// The condition nearest to the skill counts. If its takes disagree, the athlete stands
// under each decision, with how many takes say so.
func TestWhatCounts(t *testing.T) {
	for _, c := range []struct {
		rows                    []Reading
		short, meets, undecided []string
	}{
		{[]Reading{decided("passive", reading.Meets), decided("active", reading.Undecided), decided("in-skill", reading.Short)}, []string{"Wren"}, nil, nil},
		{[]Reading{decided("passive", reading.Meets), decided("active", reading.Undecided)}, nil, nil, []string{"Wren (active)"}},
		{[]Reading{decided("active", reading.Meets), decided("", reading.Short)}, []string{"Wren"}, nil, nil},
		{[]Reading{decided("in-skill", reading.Short), decided("in-skill", reading.Short), decided("in-skill", reading.Meets)}, []string{"Wren (2 of 3)"}, []string{"Wren (1 of 3)"}, nil},
	} {
		a := Athlete{Athlete: "Wren", Readings: c.rows}
		a.markCounting()
		var r Report
		r.addStandings(&a)
		words := func(ss []Standing) (out []string) {
			for _, s := range ss {
				out = append(out, s.String())
			}
			return out
		}
		assert.Equal(t, [][]string{c.short, c.meets, c.undecided}, [][]string{words(r.Short), words(r.Meets), words(r.Undecided)})
	}
}

// Athletes with the same advice are gathered, each once; readings that are decided or do
// not count get none.
func TestAdvice(t *testing.T) {
	advised := func(d reading.Decision, counts bool, advice ...string) Reading {
		r := decided("in-skill", d)
		r.Counts, r.Reading.Advice = counts, advice
		return r
	}
	r := Report{Athletes: []Athlete{
		{Athlete: "Wren", Readings: []Reading{advised(reading.Undecided, true, "move back", "wait"), advised(reading.Undecided, true, "move back")}},
		{Athlete: "Lio", Readings: []Reading{advised(reading.Undecided, true, "square the camera"), advised(reading.Undecided, false, "wait"), advised(reading.Undecided, true)}},
		{Athlete: "Iris", Readings: []Reading{advised(reading.Undecided, true, "move back"), advised(reading.Short, true, "wait")}},
	}}
	assert.Equal(t, []Advice{{[]string{"Wren", "Iris"}, "move back"}, {[]string{"Lio"}, "square the camera"}}, r.Advice())
}

// Two sessions of one day have a screen each, and a reading gets the gap of its own.
func TestGapOfTheSession(t *testing.T) {
	screen := func(largest string) *change.Screen { return &change.Screen{Measure: "hip-split", Largest: largest} }
	a := Athlete{Screens: []Screen{
		{Day: "2026-10-05", Session: "morning", Screen: screen("range")},
		{Day: "2026-10-05", Session: "evening", Screen: screen("use")},
	}}
	read := &reading.Reading{Measure: "hip-split"}
	assert.Equal(t, "range", a.Gap(&Reading{Day: "2026-10-05", Session: "morning", Reading: read}))
	assert.Equal(t, "use", a.Gap(&Reading{Day: "2026-10-05", Session: "evening", Reading: read}))
}
