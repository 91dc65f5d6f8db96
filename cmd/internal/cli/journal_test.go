package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
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

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/trial/desktest"
	"ecart/cmd/internal/trial/needs"
)

// Kept readings are recomputed to the last bit.
func TestRemake(t *testing.T) {
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	r, err := desk.Remake(e)
	require.NoError(t, err)
	data, err := json.Marshal(r)
	require.NoError(t, err)
	assert.Equal(t, string(e.Reading), string(data))

	e.Request.Measure = "hip-splits"
	_, err = desk.Remake(e)
	require.ErrorContains(t, err, `no measure "hip-splits"`)
}

// Ctrl-C stops cleanly: readings that were replaced until then stay so, and are counted.
func TestRecomputeStopped(t *testing.T) {
	const all = 250 // far more than are made again until the first is seen to be replaced
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "hall.journal")
	j, err := journal.Open(file, journal.Options{Create: true})
	require.NoError(t, err)
	defer j.Close()
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	older := bytes.Replace(e.Reading, []byte(`"expanded_uncertainty_deg":`), []byte(`"expanded_uncertainty_deg":1`), 1)
	for n := range all {
		f := *e
		f.Reading = older
		f.Marks = bytes.Replace(e.Marks, []byte(`"x": 960`), fmt.Appendf(nil, `"x": %v`, 960+float64(n)/1024), 1)
		_, err := j.Keep(ctx, &f)
		require.NoError(t, err)
	}
	replaced := func() (n int) {
		for e, err := range j.Entries(ctx, journal.Filter{}) {
			require.NoError(t, err)
			n += len(e.Former)
		}
		return n
	}

	var out, errs bytes.Buffer
	c := ecart(t.TempDir(), "journal", "recompute", "--write", "--journal", file)
	c.Stdout, c.Stderr = &out, &errs
	require.NoError(t, c.Start())
	require.Eventually(t, func() bool { return replaced() > 0 }, time.Minute, 10*time.Millisecond)
	require.NoError(t, c.Process.Signal(syscall.SIGINT))
	var exited *exec.ExitError
	require.True(t, errors.As(c.Wait(), &exited))
	assert.Equal(t, exitFailed, exited.ExitCode())

	n := replaced()
	require.Less(t, n, all, "it was done before it could be stopped")
	assert.Contains(t, errs.String(), fmt.Sprintf("of %d readings; %d were replaced and stay so\n", all, n))
	assert.Contains(t, out.String(), fmt.Sprintf("\n%s replaced\n", desk.Count(n, "reading")))
}

// TestEraseOnAFullDisk erases with space for little more than the journal: the message says what was done or not, and the journal
// can be read afterwards in every case.
func TestEraseOnAFullDisk(t *testing.T) {
	dir := t.TempDir()
	var months strings.Builder
	for day := range 20 {
		fmt.Fprintf(&months, "Wren 2026-01-%02d left warm passive hip-split 171.3 1.8 180\nLio 2026-01-%02d left warm passive hip-split 161.3 1.8 180\n", day+1, day+1)
	}
	require.NoError(t, desktest.Keep(filepath.Join(dir, "hall.journal"), months.String()))
	journal, err := os.ReadFile(filepath.Join(dir, "hall.journal"))
	require.NoError(t, err)
	for _, kB := range []int{0, 32, 96, 160, 256, 400, 700, 4000} {
		spare := kB << 10
		disk := t.TempDir()
		script := `cp "$1/hall.journal" "$2/" && "$0" journal erase Lio --yes --journal "$2/hall.journal"; echo "erase $?"; "$0" journal list --journal "$2/hall.journal"; echo "list $?"`
		c := needs.SmallDisk(t, disk, (len(journal)+4095)/4096*4096+spare, "sh", "-c", script, os.Args[0], dir, disk)
		if c == nil {
			return
		}
		c.Env = append(os.Environ(), asProgram+"=1", "TMPDIR="+dir)
		out, err := c.CombinedOutput()
		require.NoError(t, err, "%s", out)
		said := string(out)
		t.Logf("%d bytes of room: %s", spare, said)
		assert.Contains(t, said, "list 0", "%d bytes of room: %s", spare, said)
		assert.Contains(t, said, "Wren", "%d bytes of room", spare)
		assert.NotRegexp(t, `\(\d{3,}\)|locked`, said)
		if strings.Contains(said, "erase 0") {
			assert.NotContains(t, said[strings.Index(said, "erase 0"):], "Lio", "%d bytes of room", spare)
		}
	}
}
