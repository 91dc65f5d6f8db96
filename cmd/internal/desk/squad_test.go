package desk

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"
)

// An error names the columns of the list if it is of a row, and flags if it is of a
// command.
func TestOptionsAreWordedByTheDoor(t *testing.T) {
	list, err := session.Parse("list.csv", []byte("athlete,take,marks,camera\nWren,a.mp4,a.json,aside\n"))
	require.NoError(t, err)
	_, err = New(Options{}).RowReader(Ask{Measure: "hip-split", Confidence: 0.95}, Filing{}, ".")(t.Context(), &list.Rows[0])
	require.EqualError(t, err, `camera "aside" is not known`)
	var hinted interface{ Hint() string }
	require.ErrorAs(t, err, &hinted)
	assert.Equal(t, "give camera as squared, by-eye or unknown", hinted.Hint())

	fact, hint := fault.Words(err, fault.Door{Option: func(name string) string { return "--" + name }})
	assert.Equal(t, `--camera "aside" is not known`, fact)
	assert.Equal(t, "give --camera as squared, by-eye or unknown", hint)
}
