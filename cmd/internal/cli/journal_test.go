package cli

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What was kept is made again to the last bit.
func TestRemake(t *testing.T) {
	e := splitEntry(t, "Wren", "2026-03-03")
	r, err := remake(e)
	require.NoError(t, err)
	data, err := json.Marshal(r)
	require.NoError(t, err)
	assert.Equal(t, string(e.Reading), string(data))

	e.Request.Measure = "hip-splits"
	_, err = remake(e)
	require.ErrorContains(t, err, `no measure "hip-splits"`)
}
