package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/session"
)

// squadHall returns a folder with the built-in take, its marks, and a list.
func squadHall(t *testing.T, list string) string {
	dir := t.TempDir()
	clip, marks := demotake.Files()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"), []byte(list), 0o600))
	return dir
}

// ecartAt returns ecart with a cache folder of its own in dir.
func ecartAt(dir string, args ...string) *exec.Cmd {
	c := ecart(dir, args...)
	c.Env = append(c.Env, "XDG_CACHE_HOME="+filepath.Join(dir, "cache"))
	return c
}

// remembered returns the files in which readings are remembered.
func remembered(t *testing.T, dir string) []string {
	files, err := filepath.Glob(filepath.Join(dir, "cache", "ecart", "squad", "*.sealed"))
	require.NoError(t, err)
	return files
}

// TestSquadStopped sends the signal of Ctrl-C once the first row is read, while the
// second is far from its frame: rows that were read are printed and remembered, and the
// next run goes on from there.
func TestSquadStopped(t *testing.T) {
	dir := squadHall(t, "")
	last := longClip(t, filepath.Join(dir, "long.mp4"))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "legs.json"), []byte(threeMarks), 0o600))
	list := "athlete,take,marks,at\nWren,leap.mp4,marks.json,\n"
	for i := range 6 { // with more rows than can be read before the signal comes
		marks := fmt.Sprintf("legs%d.json", i)
		require.NoError(t, os.WriteFile(filepath.Join(dir, marks), []byte(strings.Replace(threeMarks, "450", fmt.Sprint(450+i), 1)), 0o600))
		list += fmt.Sprintf("Plover,long.mp4,%s,%s\n", marks, last)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"), []byte(list), 0o600))

	c := ecartAt(dir, "squad", "list.csv", "--measure", "hip-split", "--csv", "out.csv")
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	require.NoError(t, c.Start())
	require.Eventually(t, func() bool { return len(remembered(t, dir)) > 0 }, time.Minute, time.Millisecond)
	require.NoError(t, c.Process.Signal(syscall.SIGINT))
	err := c.Wait()
	var exited *exec.ExitError
	require.ErrorAs(t, err, &exited)
	assert.Equal(t, exitFailed, exited.ExitCode())
	assert.Regexp(t, `^stopped with \d of 7 rows read, which are remembered\ngive the same command again`, errs.String())
	assert.Contains(t, out.String(), "Wren")
	assert.Contains(t, out.String(), "line 8, Plover: it was not reached before the work was stopped")
	assert.FileExists(t, filepath.Join(dir, "out.csv"))
	before := len(remembered(t, dir))
	assert.Less(t, before, 7)

	data, err := ecartAt(dir, "squad", "list.csv", "--measure", "hip-split", "--json").Output()
	require.NoError(t, err)
	var r session.Report
	require.NoError(t, json.Unmarshal(data, &r))
	assert.Equal(t, 7, r.Read)
	assert.Equal(t, before, r.Remembered)
	assert.Empty(t, r.NotRead)
}

// A damaged file of a remembered reading counts as if there were none.
func TestDamagedMemory(t *testing.T) {
	dir := squadHall(t, "athlete,take,marks\nWren,leap.mp4,marks.json\n")
	run := func() (r session.Report) {
		out, err := ecartAt(dir, "squad", "list.csv", "--measure", "hip-split", "--json").Output()
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(out, &r))
		return r
	}
	first := run()
	assert.Equal(t, 0, first.Remembered)
	file := remembered(t, dir)
	require.Len(t, file, 1)
	whole, err := os.ReadFile(file[0])
	require.NoError(t, err)
	for _, part := range [][]byte{{}, whole[:len(whole)/2], []byte("{}"), []byte(`{"entry": {"reading": {}}}`)} {
		require.NoError(t, os.WriteFile(file[0], part, 0o600))
		second := run()
		assert.Equal(t, 0, second.Remembered, "%.40s", part)
		assert.Equal(t, first.Athletes[0].Readings[0].Reading, second.Athletes[0].Readings[0].Reading)
	}
	assert.Equal(t, 1, run().Remembered)
}
