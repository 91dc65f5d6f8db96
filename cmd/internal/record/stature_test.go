package record_test

import (
	"ecart/cmd/internal/record"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestStatureWords(t *testing.T) {
	assert.Empty(t, record.StatureWords(nil))
	assert.Equal(t, []string{"148 cm on 2 February 2026"}, record.StatureWords([]record.Stature{{Day: "2026-02-02", Mm: 1480}, {Day: "2026-03-02", Mm: 1480}}))
	assert.Equal(t, []string{"148 cm on 2 February 2026", "149.5 cm on 1 June 2026", "+1.5 cm from the first to the last"},
		record.StatureWords([]record.Stature{{Day: "2026-02-02", Mm: 1480}, {Day: "2026-03-02", Mm: 1480}, {Day: "2026-06-01", Mm: 1495}}))
}
