package journal

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// job is what a child does to the journal at path before it is killed. beside is
// another file of the same folder.
func job(name, path, beside string) error {
	if name == "migrate" {
		j, err := open(path, Options{Now: spring}, append(migrations(), next))
		if err != nil {
			return err
		}
		return j.Close()
	}
	j, err := Open(path, Options{Create: true, Now: spring})
	if err != nil {
		return err
	}
	switch name {
	case "relocate":
		return j.Relocate(ctx, beside)
	case "erase":
		_, err = j.Erase(ctx, "Kingfisher")
	case "move":
		_, err = j.Move(ctx, Filter{Athlete: "Kingfisher"}, "Athlete 7", false)
	case "erase rater":
		_, err = j.EraseRater(ctx, "Iris")
	case "import":
		f, err := os.Open(beside)
		if err != nil {
			return err
		}
		if _, err := j.Import(ctx, f); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	return j.Close()
}

func copyFolder(t *testing.T, from, to string) {
	require.NoError(t, os.CopyFS(to, os.DirFS(from)))
	require.NoError(t, filepath.WalkDir(to, func(p string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			err = os.Chmod(p, 0o600)
		}
		return err
	}))
}

// If an operation is killed at any moment, exactly one journal is live, with the readings of before or
// after the operation, and no other file is left beside it.
func TestKilledDuringEveryOperation(t *testing.T) {
	const rounds, all = 20, 24
	rnd := rand.New(rand.NewPCG(20, 2026))
	template := t.TempDir()
	j := openAt(t, filepath.Join(template, "hall.journal"))
	for n := range all {
		if n%6 == 0 {
			keep(t, j, secret(t, n))
		} else {
			keep(t, j, sample(t, n))
		}
	}
	const secrets = all / 6
	require.NoError(t, os.WriteFile(filepath.Join(template, "out.json"), []byte(export(t, j, Filter{})), 0o600))
	require.NoError(t, j.Close())

	for name, left := range map[string][]int{ // how many readings there may be, and how many of Kingfisher's
		"relocate": {all, secrets}, "erase": {all, secrets, all - secrets, 0}, "move": {all, secrets, all, 0},
		"erase rater": {all, secrets}, "import": {0, 0, all, secrets}, "migrate": {all, secrets},
	} {
		t.Run(name, func(t *testing.T) {
			killed := 0
			var took time.Duration
			for round := range rounds + 1 { // the first is not killed, and says how long it takes
				dir := filepath.Join(t.TempDir(), "hall")
				copyFolder(t, template, dir)
				path, beside := filepath.Join(dir, "hall.journal"), filepath.Join(dir, "moved.journal")
				if name == "import" {
					beside = filepath.Join(dir, "out.json")
					require.NoError(t, os.Remove(path))
				}
				begun := time.Now()
				cmd, out := start(t, "work", path, name, beside)
				if round > 0 {
					time.AfterFunc(time.Duration(rnd.Float64()*1.1*float64(took)), func() { cmd.Process.Kill() })
				}
				for out.Scan() {
					t.Error(out.Text())
				}
				if err := cmd.Wait(); err != nil {
					require.ErrorContains(t, err, "killed")
					killed++
				} else if d := time.Since(begun); took == 0 || d < took { // other work on the machine only makes it longer
					took = d
				}
				checkLeft(t, name, dir, path, left)
			}
			t.Logf("%d of %d were killed, of %v each", killed, rounds, took)
			assert.Greater(t, killed, rounds/3)
		})
	}
}

// checkLeft checks what a killed operation left.
func checkLeft(t *testing.T, work, dir, path string, left []int) {
	opened := func(path string) (*Journal, error) {
		if work == "migrate" {
			return open(path, Options{Now: spring}, append(migrations(), next))
		}
		return Open(path, Options{Now: spring})
	}
	old, err := opened(path)
	moved, err2 := opened(filepath.Join(dir, "moved.journal"))
	live, keeps := old, path
	switch {
	case old != nil && moved != nil:
		t.Fatal("two journals are live")
	case old == nil && moved == nil:
		require.Equal(t, "import", work, "no journal is left: %v, %v", err, err2)
		require.ErrorIs(t, err, ErrAbsent)
		return
	case moved != nil: // killed before or after the old file was removed
		if !errors.Is(err, ErrAbsent) {
			require.ErrorContains(t, err, "was moved to")
		}
		require.NoFileExists(t, path)
		live, keeps = moved, filepath.Join(dir, "moved.journal")
	}
	rows, err := live.List(ctx, Filter{})
	require.NoError(t, err)
	secrets := 0
	for _, r := range rows {
		_, err := live.Show(ctx, r.ID)
		require.NoError(t, err)
		if r.Athlete == "Kingfisher" {
			secrets++
		}
	}
	fits := false
	for i := 0; i < len(left); i += 2 {
		fits = fits || len(rows) == left[i] && secrets == left[i+1]
	}
	require.True(t, fits, "%d readings, %d of them Kingfisher's", len(rows), secrets)
	e := sample(t, 900)
	_, err = live.Keep(ctx, &e)
	require.NoError(t, err, "the one that is left takes what is kept")
	require.NoError(t, live.Close())
	sound(t, keeps)
	if work == "erase" && secrets == 0 {
		require.NoError(t, os.Remove(filepath.Join(dir, "out.json")))
		require.Empty(t, traces(t, dir, "Kingfisher"))
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		known := e.Name() == filepath.Base(keeps) || e.Name() == "out.json" || work == "migrate" && strings.HasSuffix(e.Name(), ".backup")
		require.True(t, known, "%s is left over", e.Name())
	}
}

// A move through a link moves the file, and leaves none of it.
func TestRelocateThroughALink(t *testing.T) {
	j := openNew(t)
	keep(t, j, secret(t, 1))
	target := j.Path()
	require.NoError(t, j.Close())
	dir := t.TempDir()
	link := filepath.Join(dir, "link.journal")
	require.NoError(t, os.Symlink(target, link))
	j, err := Open(link, Options{Now: spring})
	require.NoError(t, err)
	require.NoError(t, j.Relocate(ctx, filepath.Join(dir, "moved.journal")))
	require.Empty(t, traces(t, filepath.Dir(target), "Kingfisher"))
	require.NoFileExists(t, target)
	_, err = Open(filepath.Join(dir, "moved.journal"), Options{Now: spring})
	require.NoError(t, err)
}

// A file of the user's with the temporary name of the copy is left as it is.
func TestRelocateBesideAForeignPart(t *testing.T) {
	j := openNew(t)
	keep(t, j, sample(t, 1))
	to := filepath.Join(t.TempDir(), "moved.journal")
	require.NoError(t, os.WriteFile(to+".part", []byte("mine"), 0o600))
	require.ErrorContains(t, j.Relocate(ctx, to), "there is a file")
	data, err := os.ReadFile(to + ".part")
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	keep(t, j, sample(t, 2))
}

// Eight programs write at once: nothing is lost, nothing refused.
func TestEightProgramsWrite(t *testing.T) {
	const each = 12
	path := filepath.Join(t.TempDir(), "shared.journal")
	var wait []func() error
	for n := range 8 {
		cmd, out := start(t, "keep", path, strconv.Itoa(n*each), strconv.Itoa(n*each+each-1))
		go func() {
			for out.Scan() {
			}
		}()
		wait = append(wait, cmd.Wait)
	}
	for _, w := range wait {
		require.NoError(t, w())
	}
	rows, err := openAt(t, path).List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 8*each)
	sound(t, path)
}
