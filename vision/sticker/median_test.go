package sticker

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// A median is what stands in the middle of the sorted list.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float32Range(-3, 3), 1, 60).Draw(t, "v")
		sorted := slices.Sorted(slices.Values(v))
		assert.Equal(t, sorted[len(v)/2], median(v))
	})
}
