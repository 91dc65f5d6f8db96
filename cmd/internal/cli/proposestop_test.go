package cli

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/needs"
	"ecart/vision/pose/model"
)

// childOf is the process that a process started and that holds the pose network, 0 until there is one. The network is larger
// than 100 MB in memory.
func childOf(pid int) int {
	lists, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	for _, list := range lists {
		data, _ := os.ReadFile(list)
		for _, field := range strings.Fields(string(data)) {
			status, _ := os.ReadFile("/proc/" + field + "/status")
			size := regexp.MustCompile(`VmRSS:\s+(\d+) kB`).FindSubmatch(status)
			if size == nil {
				continue
			}
			if kB, _ := strconv.Atoi(string(size[1])); kB > 100<<10 {
				child, _ := strconv.Atoi(field)
				return child
			}
		}
	}
	return 0
}

// Ctrl-C ends a proposal at once while the network runs, and neither the program that runs it nor a file is left.
func TestProposeStopped(t *testing.T) {
	network := needs.PoseNetwork(t)
	dir := t.TempDir()
	clip, _ := demotake.Files()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	before := listed(t, dir)
	c := ecart(dir, "propose", "leap.mp4", "--measure", "hip-split", "--out", "proposed.json", "--figure", "proposed.png")
	c.Env = append(c.Env, model.Variable+"="+network)
	var out, said bytes.Buffer
	c.Stdout, c.Stderr = &out, &said
	require.NoError(t, c.Start())
	child := 0
	require.Eventually(t, func() bool { child = childOf(c.Process.Pid); return child != 0 }, time.Minute, 5*time.Millisecond, "the network was never loaded")
	require.NoError(t, c.Process.Signal(syscall.SIGINT))
	stopped := time.Now()
	err := c.Wait()
	took := time.Since(stopped)

	var exited *exec.ExitError
	require.ErrorAs(t, err, &exited, "it was done before it was stopped")
	assert.Equal(t, exitFailed, exited.ExitCode())
	assert.Less(t, took, 2*time.Second) // some milliseconds; a machine may be busy
	assert.Eventually(t, func() bool { return syscall.Kill(child, 0) == syscall.ESRCH }, 2*time.Second, 10*time.Millisecond, "the network's program goes on")
	assert.Equal(t, 2, strings.Count(said.String(), "\n"), said.String())
	assert.Empty(t, out.String())
	assert.Equal(t, before, listed(t, dir))
	t.Logf("ended %d ms after Ctrl-C", took.Milliseconds())
}
