package session

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// readAs returns a question whose reading is made up, since only the run is tested.
func readAs(ctx context.Context, row *Row, dir string) (Question, error) {
	path := filepath.Join(dir, row.Get("take"))
	q := Question{Files: Files{Take: path}, MarksOrigin: row.Get("marks"), Measure: "hip-split", DependsOn: []byte(row.Get("marks"))}
	q.Read = func(ctx context.Context, progress func(done, of int)) (*Result, error) {
		sum, err := FileSum(ctx, path)
		if err != nil {
			return nil, newError("look into "+path, "there is no file %q", path)
		}
		progress(1, 2)
		r := &Result{Reading: &reading.Reading{Schema: reading.Schema, Measure: "hip-split", Take: reading.Take{Name: row.Get("take"), SHA256: sum}}, Notes: []string{"noticed"}}
		return r, r.Entry.SetReading(r.Reading)
	}
	return q, nil
}

// listOf is a list of n rows, and the folder with their takes.
func listOf(t *testing.T, n int) (l *List, dir string) {
	dir = t.TempDir()
	text := "athlete,take,marks\n"
	for i := range n {
		text += fmt.Sprintf("Wren,%d.mp4,%d.json\n", i, i)
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%d.mp4", i)), fmt.Append(nil, i), 0o600))
	}
	l, err := Parse("list.csv", []byte(text))
	require.NoError(t, err)
	return l, dir
}

// Progress reports every row, a failed row stops no other and does not name its file, and a second run
// reads only what failed.
func TestRun(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	memory, err := OpenMemory()
	require.NoError(t, err)
	l, dir := listOf(t, 5)
	require.NoError(t, os.Remove(filepath.Join(dir, "3.mp4")))
	var mu sync.Mutex
	heard := map[Step]int{}
	opt := Options{Memory: memory, Version: "1",
		Reader: func(ctx context.Context, row *Row) (Question, error) { return readAs(ctx, row, dir) },
		Progress: func(e Event) {
			mu.Lock()
			defer mu.Unlock()
			heard[e.Step]++
		}}
	r := Run(t.Context(), l, opt).Report("list.csv", nil)
	assert.Equal(t, map[Step]int{Checking: 5, Started: 1, Opening: 5, Following: 4, Ended: 5}, heard)
	assert.Equal(t, []int{5, 4, 0}, []int{r.Rows, r.Read, r.Remembered})
	assert.Equal(t, []Failure{{5, "Wren", "there is no file (under take)", "look into (under take)"}}, r.NotRead)
	require.Len(t, r.Lines(), 5)
	assert.Nil(t, r.Lines()[3].Reading)
	assert.Equal(t, 6, r.Lines()[4].Reading.Line)
	assert.Empty(t, r.Lines()[4].Reading.Reading.Take.Name)

	clear(heard)
	r = Run(t.Context(), l, opt).Report("list.csv", nil)
	assert.Equal(t, 4, r.Remembered)
	assert.Equal(t, map[Step]int{Checking: 5, Started: 1, Opening: 1, Ended: 5}, heard)
	assert.Equal(t, []string{"noticed"}, r.Lines()[0].Reading.Notes)
}

// Rows read before ctx ended stay read; the others fail with context.Canceled.
func TestRunStopped(t *testing.T) {
	l, dir := listOf(t, 40)
	ctx, stop := context.WithCancel(t.Context())
	s := Run(ctx, l, Options{
		Reader: func(ctx context.Context, row *Row) (Question, error) { return readAs(ctx, row, dir) },
		Progress: func(e Event) {
			if e.Step == Ended {
				stop()
			}
		}})
	r := s.Report("list.csv", nil)
	assert.True(t, r.Stopped)
	assert.Positive(t, r.Read)
	assert.LessOrEqual(t, r.Read, 2*AtOnce)
	assert.Equal(t, 40, r.Read+len(r.NotRead))
	for _, f := range r.NotRead {
		assert.True(t, strings.HasPrefix(f.Reason, "it was not reached"), f.Reason)
	}
	last := s.Outcomes()[39]
	assert.True(t, errors.Is(last.Err, context.Canceled) && last.Reading == nil)
}

// A failure names the column in place of a file, also where one file's name is a part of another's.
func TestFilesAreNotNamed(t *testing.T) {
	l, err := Parse("monday.csv", []byte("athlete,take,seeds,measure\nLio,leap.mp4,one.json | none.json,hip-split\n"))
	require.NoError(t, err)
	w := rowWork{row: &l.Rows[0], question: Question{Files: Files{Take: "leap.mp4", Seeds: []string{"one.json", "none.json"}}}}
	f := w.failure(fault.New(`there is no marks file "none.json" for "leap.mp4"`, "look at one.json"), fault.Door{})
	assert.Equal(t, `there is no marks file (under seeds, file 2) for (under take)`, f.Reason)
	assert.Equal(t, "look at (under seeds, file 1)", f.Do)
}
