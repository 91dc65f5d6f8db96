package rulebook

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

func TestBuiltInFigures(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	assert.Empty(t, l.Warnings())
	for _, want := range figures {
		got, err := l.Find(want.ref)
		require.NoError(t, err, want.ref)
		assert.Equal(t, want.ref, got.Rulebook+"/"+got.Name)
		assert.Equal(t, want.measure, got.Measure, want.ref)
		assert.Equal(t, want.asked, got.AskedDeg, want.ref)
		assert.Equal(t, want.atMost, got.AtMost, want.ref)
		assert.Equal(t, want.free, got.FreeDeg, want.ref)
		assert.Equal(t, string(want.provenance), got.Provenance, want.ref)
		assert.Equal(t, want.edition, got.Edition, want.ref)
		assert.NotEmpty(t, got.Source, want.ref)
		assert.NotEmpty(t, got.Title, want.ref)
		assert.Contains(t, joined(got.Cautions), want.cautions, want.ref)
		bands := append([]reading.Band(nil), got.Bands...)
		for i := range bands {
			assert.NotEmpty(t, bands[i].Label, want.ref)
			bands[i].Label = ""
		}
		assert.Equal(t, want.bands, bands, want.ref)
	}
	count := 0
	for _, b := range l.Books() {
		assert.True(t, b.BuiltIn, b.ID)
		count += len(b.Skills)
	}
	assert.Equal(t, len(figures)+len(ratios)+len(unmeasured), count, "a built-in skill without its figures in the tables")
}

// Legs apart are judged in shoulder widths.
func TestBuiltInRatios(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	for _, want := range ratios {
		got, err := l.Find(want.ref)
		require.NoError(t, err, want.ref)
		assert.Equal(t, reading.ShoulderWidths, got.Ratio, want.ref)
		assert.Equal(t, "leg-separation", got.Measure, want.ref)
		assert.Equal(t, string(want.provenance), got.Provenance, want.ref)
		assert.Equal(t, want.edition, got.Edition, want.ref)
		assert.Empty(t, got.Bands, want.ref)
		var over []float64
		var deductions []string
		for i, b := range got.RatioBands {
			assert.NotEmpty(t, b.Label, want.ref)
			assert.Equal(t, i == len(got.RatioBands)-1, b.To == nil, want.ref)
			over, deductions = append(over, b.Over), append(deductions, b.Deduction)
		}
		assert.Equal(t, want.over, over, want.ref)
		assert.Equal(t, want.deductions, deductions, want.ref)
	}
}

// A quantity without a measure is shown in the book's words and never judged.
func TestBuiltInWordsThatAreNotMeasured(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	for _, want := range unmeasured {
		s, err := l.Skill(want.ref)
		require.NoError(t, err, want.ref)
		assert.Contains(t, s.NotMeasured, want.quantity, want.ref)
		assert.Equal(t, want.provenance, s.Origin.Provenance, want.ref)
		var deductions []string
		for _, b := range s.Bands {
			assert.NotEmpty(t, b.When, want.ref)
			deductions = append(deductions, b.Deduction)
		}
		assert.Equal(t, want.deductions, deductions, want.ref)
		_, err = l.Find(want.ref)
		assert.ErrorContains(t, err, "is worded for something no measure gives", want.ref)
	}
}

// Every figure has its source; one that was read or quoted has the day it was last looked at, and
// one from memory has none.
func TestBuiltInOriginsAreWhole(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	check := func(ref string, o Origin) {
		assert.NotEmpty(t, o.Document, ref)
		assert.NotEmpty(t, o.Edition, ref)
		assert.NotEmpty(t, o.Source, ref)
		switch o.Provenance {
		case Published, SecondHand:
			assert.NotEmpty(t, o.Section, ref)
			assert.NotEmpty(t, o.Seen, ref)
		case FromMemory:
			assert.NotEmpty(t, o.Section, ref)
			assert.Empty(t, o.Seen, "%s was not looked at anywhere", ref)
		case CommonPractice:
			assert.Equal(t, "no document", o.Document, ref)
		default:
			t.Errorf("%s: provenance %q", ref, o.Provenance)
		}
	}
	for _, b := range l.Books() {
		for _, s := range b.Skills {
			check(s.Ref(), s.Origin)
			for _, band := range s.Bands {
				if band.Origin != nil {
					check(s.Ref(), *band.Origin)
				}
			}
		}
	}
}

// The over-split is not a number anybody published, and its entry says so.
func TestOverSplitSaysThatNoFigureIsKnown(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	s, err := l.Skill("over-split")
	require.NoError(t, err)
	assert.Contains(t, s.Note, "no source says")
	assert.Contains(t, joined(s.Cautions), "Over-split work belongs with a qualified person.")
	assert.Contains(t, joined(s.Cautions), "Never through pain.")
}

func joined(lines []string) string {
	out := ""
	for _, s := range lines {
		out += s + "\n"
	}
	return out
}

func TestLabels(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	labels := func(ref string) (out []string) {
		s, err := l.Find(ref)
		require.NoError(t, err)
		for _, b := range s.Bands {
			out = append(out, b.Label)
		}
		return out
	}
	assert.Equal(t, []string{"0 to 20 short", "20 to 45 short", "more than 45 short"}, labels("fig-women/split-leap"))
	assert.Equal(t, []string{"10 to 30 off", "30 to 45 off", "more than 45 off"}, labels("bars-handstand"))
	assert.Equal(t, []string{"small, 180 to 170", "medium, 170 to 150", "large, below 150"}, labels("fig-aerobic/split-leap"))
	assert.Equal(t, []string{"short"}, labels("full-split"))
}
