package takes

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
)

// Every leap of a pass has files of its own, even if there are many: in five minutes somebody can leap 75 times.
func TestEachLeapHasItsOwnFiles(t *testing.T) {
	p := &passFolder{folder: "row", stem: "leap"}
	assert.Equal(t, filepath.Join("row", "leap.pass-02.csv"), p.name(&desk.Pass{Number: 2, Leap: 1, Leaps: 1}, ".csv"))
	seen := map[string]bool{}
	for leap := 1; leap <= 800; leap++ {
		seen[p.name(&desk.Pass{Number: 2, Leap: leap, Leaps: 800}, ".csv")] = true
	}
	assert.Len(t, seen, 800)
	assert.Contains(t, seen, filepath.Join("row", "leap.pass-02z.csv"))
	assert.Contains(t, seen, filepath.Join("row", "leap.pass-02aa.csv"))
	assert.Contains(t, seen, filepath.Join("row", "leap.pass-02zz.csv"))
}

// A file of another kind under the name of any of a leap's files is an error before the clip is read.
func TestForeignFilesOfPassesAreRefusedFirst(t *testing.T) {
	for _, name := range []string{"leap.pass-01.marks.json", "leap.pass-02b.csv", "leap.pass-03.png"} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("my own notes"), 0o600))
		_, err := newPassFolder(&output.Set{}, dir, "leap.mp4")
		assert.ErrorContains(t, err, name)
	}
}
