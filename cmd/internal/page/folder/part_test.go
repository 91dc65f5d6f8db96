package folder

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Parts have the bytes of their clip without being copies; each is removed by itself, and the bytes with the last.
func TestPartsShareAFile(t *testing.T) {
	s, err := Open(t.TempDir(), "")
	require.NoError(t, err)
	defer s.Close()
	id := strings.Repeat("b", 64)
	require.NoError(t, os.WriteFile(s.TakePath(id), []byte("a clip"), 0o600))
	a := About{ID: id, Name: "row.mp4"}
	require.NoError(t, s.SetAbout(a))
	parts := PartsOf(a, 100, []int{20, 70})
	for range 2 { // a second time after a run that was killed between
		require.NoError(t, s.Split(id, parts))
	}
	require.NoError(t, s.Hide(id))
	require.NoError(t, s.Erase(id))
	list, err := s.List()
	require.NoError(t, err)
	assert.Len(t, list, 2)
	for _, p := range parts {
		data, err := os.ReadFile(s.TakePath(p.ID))
		require.NoError(t, err)
		assert.Equal(t, "a clip", string(data))
	}
	assert.Equal(t, parts[1].ID, s.Holding(id, 60))
	assert.Equal(t, "", s.Holding(strings.Repeat("c", 64), 60))
	require.NoError(t, s.Hide(parts[1].ID))
	require.NoError(t, s.Erase(parts[1].ID))
	assert.Equal(t, s.TakePath(parts[0].ID), s.PathOf(id))
	assert.Equal(t, "", s.Holding(id, 60), "that part is gone")
}
