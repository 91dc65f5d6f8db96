package record_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/record"
)

// Growth is said beside an angle that surely went down, and only as surely as statures
// that are good to a centimetre each say it.
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
