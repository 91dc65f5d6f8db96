package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/needs"
	"ecart/vision/pose/model"
)

// A file that is missing, cut short or altered is refused with an error and a hint.
func TestOnlyTheRightFileIsUsed(t *testing.T) {
	good := needs.PoseNetwork(t)
	data, err := model.Load(good)
	require.NoError(t, err)
	require.Len(t, data, model.Size)

	path := filepath.Join(t.TempDir(), model.Name)
	fails := func(what string) {
		t.Helper()
		got, err := model.Load(path)
		var e *model.Error
		require.ErrorAs(t, err, &e, what)
		assert.Nil(t, got, what)
		assert.Contains(t, e.Hint(), "make pose", what)
	}
	fails("missing")
	require.NoError(t, os.WriteFile(path, data[:len(data)-1], 0o600))
	fails("cut short")
	_, err = model.Load(path)
	assert.ErrorContains(t, err, "it has 54631506 of 54631507 bytes")
	data[len(data)/2] ^= 1
	require.NoError(t, os.WriteFile(path, data, 0o600))
	fails("altered")
	require.NoError(t, os.Remove(path))
	require.NoError(t, os.Mkdir(path, 0o700))
	fails("a folder")
}
