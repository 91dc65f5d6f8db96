package needs

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNotRun(t *testing.T) {
	list := filepath.Join(t.TempDir(), "list")
	t.Setenv(listVariable, list)
	ran := false
	t.Run("refused", func(t *testing.T) {
		NotRun(t, "needs a right of its own")
		ran = true
	})
	assert.False(t, ran)
	require.NoError(t, List("journal.txtar", "needs a terminal"))
	got, err := os.ReadFile(list)
	require.NoError(t, err)
	assert.Equal(t, t.Name()+"/refused: needs a right of its own\njournal.txtar: needs a terminal\n", string(got))
}

func TestSmallDisk(t *testing.T) {
	dir := t.TempDir()
	cmd := SmallDisk(t, dir, 64<<10, "sh", "-c", `head -c 40000 /dev/zero >"$0/fits" && ! head -c 40000 /dev/zero >"$0/more"`, dir)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "No space left")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left, "the disk is the command's own")
}

// The script that runs the tests prints the list, and its exit code is that of the tests.
func TestListIsPrinted(t *testing.T) {
	top, err := filepath.Abs(filepath.Join("..", "..", "..", ".."))
	require.NoError(t, err)
	fake := filepath.Join(t.TempDir(), "go")
	require.NoError(t, os.WriteFile(fake, []byte("#!/bin/sh\necho \"$*\"\necho 'TestX: needs a terminal' >>\"$ECART_NOT_RUN\"\nexit 3\n"), 0o755))
	cmd := exec.Command(filepath.Join(top, ".ci", "test"), "-shuffle=on", "./...")
	cmd.Env = append(os.Environ(), "GO="+fake, "LC_ALL=C")
	out, err := cmd.CombinedOutput()
	assert.Equal(t, 3, cmd.ProcessState.ExitCode(), "%s %v", out, err)
	assert.True(t, bytes.HasPrefix(out, []byte("test -shuffle=on ./...\n")), "%s", out)
	assert.Contains(t, string(out), "NOT RUN")
	assert.Contains(t, string(out), "TestX: needs a terminal")
}
