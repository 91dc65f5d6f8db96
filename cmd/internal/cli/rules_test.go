package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/rulebook"
)

// The schema by which editors complete a rule book knows the measures that
// there are.
func TestSchemaKnowsEveryMeasure(t *testing.T) {
	var schema struct {
		Defs struct{ Measure struct{ Enum []string } } `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(rulebook.JSONSchema(), &schema))
	assert.ElementsMatch(t, measureNames(), schema.Defs.Measure.Enum)
}

// A file that is there stays as it is, and nothing is left beside it.
func TestWriteNewTakesNoOthersPlace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "club.yaml")
	require.NoError(t, writeNew(path, []byte("first")))
	err := writeNew(path, []byte("second"))
	assert.ErrorContains(t, err, "there is already a file")
	assert.ErrorContains(t, err, path)
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "first", string(got))

	link := filepath.Join(dir, "link.yaml") // to nowhere, and still a name that is taken
	require.NoError(t, os.Symlink(filepath.Join(dir, "gone"), link))
	assert.ErrorContains(t, writeNew(link, []byte("third")), "there is already a file")

	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2)
}
