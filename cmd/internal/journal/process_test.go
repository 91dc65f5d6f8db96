package journal

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The test binary is also the second program: with childEnv set it does one job on
// a journal and prints what it did.
const (
	childEnv   = "ECART_JOURNAL_TEST_CHILD"
	childEntry = "ECART_JOURNAL_TEST_ENTRY" // the entry of sampleOnce, so that the child starts at once
)

func TestMain(m *testing.M) {
	if job := os.Getenv(childEnv); job != "" {
		os.Exit(child(job, os.Args[1], os.Args[2:]))
	}
	os.Exit(m.Run())
}

// child: "keep" keeps the entries first..last and prints each number once it is
// kept; "unprivileged" opens the journal as nobody and prints the error.
func child(what, path string, args []string) int {
	var t panicking
	fail := func(err error) int {
		var h interface{ Hint() string }
		text := err.Error()
		if h, _ = err.(interface{ Hint() string }); h != nil {
			text += "\n" + h.Hint()
		}
		fmt.Println(text)
		return 1
	}
	if what == "work" {
		if err := job(args[0], path, args[1]); err != nil {
			return fail(err)
		}
		return 0
	}
	if what == "unprivileged" && os.Getuid() == 0 {
		const nobody = 65534
		if err := syscall.Setuid(nobody); err != nil {
			return fail(err)
		}
	}
	if what == "unprivileged" && args[0] == "read" {
		j, err := Open(path, Options{Read: true, Now: spring})
		if err != nil {
			return fail(err)
		}
		rows, err := j.List(ctx, Filter{})
		if err != nil {
			return fail(err)
		}
		fmt.Println(len(rows))
		e := sample(t, 99)
		if _, err := j.Keep(ctx, &e); err != nil {
			return fail(err)
		}
		return 0
	}
	j, err := Open(path, Options{Create: true, Now: spring})
	if err != nil {
		return fail(err)
	}
	if what == "unprivileged" {
		return 0
	}
	first, _ := strconv.Atoi(args[0])
	last, _ := strconv.Atoi(args[1])
	for n := first; n <= last; n++ {
		e := sample(t, n)
		if _, err := j.Keep(ctx, &e); err != nil {
			return fail(err)
		}
		fmt.Println(n)
	}
	if err := j.Close(); err != nil {
		return fail(err)
	}
	return 0
}

func start(t *testing.T, job, path string, args ...string) (*exec.Cmd, *bufio.Scanner) {
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self, append([]string{path}, args...)...)
	e, err := sampleOnce()
	require.NoError(t, err)
	cmd.Env = append(os.Environ(), childEnv+"="+job, childEntry+"="+mustJSON(e))
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	return cmd, bufio.NewScanner(out)
}

// Two programs that open one new journal at the same time and write to it lose
// nothing and refuse nothing.
func TestTwoProgramsWrite(t *testing.T) {
	const each = 60
	path := filepath.Join(t.TempDir(), "shared.journal")
	a, fromA := start(t, "keep", path, "0", strconv.Itoa(each-1))
	b, fromB := start(t, "keep", path, strconv.Itoa(each), strconv.Itoa(2*each-1))
	said := 0
	for fromA.Scan() {
		said++
	}
	for fromB.Scan() {
		said++
	}
	require.NoError(t, a.Wait())
	require.NoError(t, b.Wait())
	assert.Equal(t, 2*each, said)
	rows, err := openAt(t, path).List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 2*each)
	sound(t, path)
}

// A program that is killed at any moment leaves every reading that it said it had
// kept, and a file that opens.
func TestKilledAtAnyMoment(t *testing.T) {
	const rounds, most = 15, 2000
	rnd := rand.New(rand.NewPCG(6, 2026))
	path := filepath.Join(t.TempDir(), "killed.journal")
	kept := map[string]bool{}
	next, killed := 0, 0
	for round := range rounds {
		cmd, out := start(t, "keep", path, strconv.Itoa(next), strconv.Itoa(next+most))
		armed := false
		kill := func(within int) {
			armed = true
			time.AfterFunc(time.Duration(rnd.IntN(within))*time.Millisecond, func() { cmd.Process.Kill() })
		}
		if round < rounds/3 { // while the program starts and the file is being made
			kill(120)
		}
		for out.Scan() {
			if !armed { // while it keeps one reading after the other
				kill(150)
			}
			n, err := strconv.Atoi(out.Text())
			require.NoError(t, err, out.Text())
			e := sample(t, n)
			_, err = e.complete(spring().Format(time.DateOnly))
			require.NoError(t, err)
			kept[e.UID] = true
			next = n + 1
		}
		if err := cmd.Wait(); err != nil {
			require.ErrorContains(t, err, "killed")
			killed++
		}
		if _, err := os.Stat(path); err != nil {
			require.ErrorIs(t, err, os.ErrNotExist)
			continue
		}
		j, err := Open(path, Options{Now: spring})
		require.NoError(t, err)
		rows, err := j.List(ctx, Filter{})
		require.NoError(t, err)
		present := map[string]bool{}
		for _, r := range rows {
			present[r.UID] = true
			_, err := j.Show(ctx, r.ID)
			require.NoError(t, err)
		}
		for uid := range kept {
			assert.True(t, present[uid], "a reading that was kept is gone")
		}
		// at most one was on its way when the program was killed, and may be whole
		next += len(rows) - len(kept)
		for uid := range present {
			kept[uid] = true
		}
		require.NoError(t, j.Close())
		sound(t, path)
	}
	assert.Greater(t, killed, rounds/2, "the kills came too late to test anything")
	assert.Greater(t, len(kept), 20, "the kills came too early to test anything")
}

// Without the right to write, writing is an error and reading works.
func TestReadOnlyJournal(t *testing.T) {
	dir, err := os.MkdirTemp("", "ecart-journal-") // t.TempDir lies in a folder that others may not enter
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	path := filepath.Join(dir, "read.journal")
	j := openAt(t, path)
	keep(t, j, sample(t, 0))
	keep(t, j, sample(t, 1))
	require.NoError(t, j.Close())
	require.NoError(t, os.Chmod(path, 0o444))
	require.NoError(t, os.Chmod(dir, 0o555))
	defer os.Chmod(dir, 0o700)

	run := func(args ...string) []string {
		cmd, out := start(t, "unprivileged", path, args...)
		var lines []string
		for out.Scan() {
			lines = append(lines, out.Text())
		}
		var exit *exec.ExitError
		require.ErrorAs(t, cmd.Wait(), &exit)
		require.Equal(t, 1, exit.ExitCode())
		return lines
	}
	got := run("write")
	require.Len(t, got, 2)
	assert.Contains(t, got[0], "cannot be written: it was not opened")
	assert.Contains(t, got[1], "journal FILE")

	got = run("read")
	require.Len(t, got, 3)
	assert.Equal(t, "2", got[0])
	assert.Contains(t, got[1], "cannot be written: the reading was not kept")

	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "nothing is put beside it")
}
