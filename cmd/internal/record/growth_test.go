package record_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/record"
)

// The note stands beside an angle that really went down, and allows for an error of 1 cm of each stature.
func TestGrowthNote(t *testing.T) {
	falls := []*change.Trend{{ChangeDeg: -9, Real: true}}
	tall := func(from, to string, a, b float64) []record.Stature {
		return []record.Stature{{Day: from, Mm: a}, {Day: to, Mm: b}}
	}
	// by hand: 9 cm in a year; 1.96 sqrt(2) 1 cm is 2.8 cm
	year := tall("2025-03-01", "2026-03-01", 1480, 1570)
	assert.Contains(t, record.GrowthNote(year, falls), "from 148 to 157 cm from 1 March 2025 to 1 March 2026, 9 ± 3 cm a year; that is faster")
	half := tall("2025-09-01", "2026-03-01", 1480, 1520)
	assert.Contains(t, record.GrowthNote(half, falls), "8 ± 6 cm a year; that may be faster")
	assert.Empty(t, record.GrowthNote(tall("2025-03-01", "2026-03-01", 1480, 1530), falls), "5 cm a year is no spurt")
	assert.Empty(t, record.GrowthNote(tall("2023-03-01", "2026-03-01", 1480, 1700), falls), "what was before a year ago says nothing of now")
	assert.Empty(t, record.GrowthNote(year, []*change.Trend{{ChangeDeg: 9, Real: true}}), "the angle goes up")
	assert.Empty(t, record.GrowthNote(year, []*change.Trend{{ChangeDeg: -9}}), "the fall is not sure")
	assert.NotEmpty(t, record.GrowthNote(year, []*change.Trend{{ChangeDeg: 9, Real: true, AtMost: true}}), "less is asked")
	assert.Empty(t, record.GrowthNote(year[:1], falls))
}

func TestStatureWords(t *testing.T) {
	assert.Empty(t, record.StatureWords(nil))
	assert.Equal(t, []string{"148 cm on 2 February 2026"}, record.StatureWords([]record.Stature{{Day: "2026-02-02", Mm: 1480}, {Day: "2026-03-02", Mm: 1480}}))
	assert.Equal(t, []string{"148 cm on 2 February 2026", "149.5 cm on 1 June 2026", "+1.5 cm from the first to the last"},
		record.StatureWords([]record.Stature{{Day: "2026-02-02", Mm: 1480}, {Day: "2026-03-02", Mm: 1480}, {Day: "2026-06-01", Mm: 1495}}))
}
