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

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/scene"
	"ecart/cmd/internal/squad"
)

// squadHall is a folder with the built-in take, its marks, and a list.
func squadHall(t *testing.T, list string) string {
	dir := t.TempDir()
	clip, marks := scene.Demo()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"), []byte(list), 0o600))
	return dir
}

// ecartAt is ecart with a cache folder of its own in dir.
func ecartAt(dir string, args ...string) *exec.Cmd {
	c := ecart(dir, args...)
	c.Env = append(c.Env, "XDG_CACHE_HOME="+filepath.Join(dir, "cache"))
	return c
}

// remembered are the files in which readings are remembered.
func remembered(t *testing.T, dir string) []string {
	files, err := filepath.Glob(filepath.Join(dir, "cache", "ecart", "squad", "*"+sealedExt))
	require.NoError(t, err)
	return files
}

// TestSquadStopped sends the signal of Ctrl-C once the first row is read, while the
// second is far from its frame: what was read is printed and remembered, and the
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
	assert.Contains(t, out.String(), "line 8, Plover: it was not come to before the work was stopped")
	assert.FileExists(t, filepath.Join(dir, "out.csv"))
	before := len(remembered(t, dir))
	assert.Less(t, before, 7)

	data, err := ecartAt(dir, "squad", "list.csv", "--measure", "hip-split", "--json").Output()
	require.NoError(t, err)
	var r squadReport
	require.NoError(t, json.Unmarshal(data, &r))
	assert.Equal(t, 7, r.Read)
	assert.Equal(t, before, r.Remembered)
	assert.Empty(t, r.NotRead)
}

// A file of the memory that is not whole is as if there were none.
func TestMemoryNotWhole(t *testing.T) {
	dir := squadHall(t, "athlete,take,marks\nWren,leap.mp4,marks.json\n")
	run := func() (r squadReport) {
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
		again := run()
		assert.Equal(t, 0, again.Remembered, "%.40s", part)
		assert.Equal(t, first.Athletes[0].Readings[0].Reading, again.Athletes[0].Readings[0].Reading)
	}
	assert.Equal(t, 1, run().Remembered)
}

// What nobody has asked for in half a year is forgotten; the rest stays.
func TestMemoryForgets(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	var said bytes.Buffer
	m := openMemory(&said)
	for name, old := range map[string]time.Duration{"old": forgetAfter + time.Hour, "new": forgetAfter - time.Hour} {
		require.NoError(t, os.WriteFile(m.path(name), []byte("{}"), 0o600))
		at := time.Now().Add(-old)
		require.NoError(t, os.Chtimes(m.path(name), at, at))
	}
	openMemory(&said)
	assert.NoFileExists(t, m.path("old"))
	assert.FileExists(t, m.path("new"))
	assert.Empty(t, said.String())
}

func TestListDay(t *testing.T) {
	for cell, want := range map[string]string{"2026-03-21": "2026-03-21", "21.3.2026": "2026-03-21", "01.12.2025": "2025-12-01"} {
		got, err := listDay(cell)
		require.NoError(t, err, cell)
		assert.Equal(t, want, got)
	}
	for cell, says := range map[string]string{"3/4/2026": "which is the month", "30.2.2026": "no date", "March": "no date", "2026-3-21": "no date"} {
		_, err := listDay(cell)
		assert.ErrorContains(t, err, says, cell)
	}
}

// Errors about flags are worded for the columns that a row has, and no others.
func TestInColumns(t *testing.T) {
	reason, do := inColumns(&inputError{`--camera "aside" is not known`, "give --camera as squared, by-eye or unknown; 'ecart read --help' says more, --priors does not"})
	assert.Equal(t, `camera "aside" is not known`, reason)
	assert.Equal(t, "give camera as squared, by-eye or unknown; 'ecart read --help' says more, --priors does not", do)
}

// decided is a reading in a condition with a verdict.
func decided(condition string, d reading.Decision) squadReading {
	return squadReading{Condition: condition, Reading: &reading.Reading{Measure: "hip-split", Verdict: &reading.Verdict{Decision: d}, Skill: &reading.SkillRef{}}}
}

// The condition nearest to the skill counts; takes of it that do not agree are told
// apart by how many say so.
func TestWhatCounts(t *testing.T) {
	for _, c := range []struct {
		rows                    []squadReading
		short, meets, undecided []string
	}{
		{[]squadReading{decided("passive", reading.Meets), decided("active", reading.Undecided), decided("in-skill", reading.Short)}, []string{"Wren"}, nil, nil},
		{[]squadReading{decided("passive", reading.Meets), decided("active", reading.Undecided)}, nil, nil, []string{"Wren (active)"}},
		{[]squadReading{decided("active", reading.Meets), decided("", reading.Short)}, []string{"Wren"}, nil, nil},
		{[]squadReading{decided("in-skill", reading.Short), decided("in-skill", reading.Short), decided("in-skill", reading.Meets)}, []string{"Wren (2 of 3)"}, []string{"Wren (1 of 3)"}, nil},
	} {
		a := squadAthlete{Athlete: "Wren", Readings: c.rows}
		a.count()
		var r squadReport
		r.sort(&a)
		words := func(ss []squadStand) (out []string) {
			for _, s := range ss {
				out = append(out, s.String())
			}
			return out
		}
		assert.Equal(t, [][]string{c.short, c.meets, c.undecided}, [][]string{words(r.Short), words(r.Meets), words(r.Undecided)})
	}
}

func TestSquadProgress(t *testing.T) {
	p := newSquadProgress(streams{err: &bytes.Buffer{}}, 4)
	assert.Nil(t, p.w, "nobody looks at a pipe")
	wren, plover := &squadJob{row: &squad.Row{Athlete: "Wren"}}, &squadJob{row: &squad.Row{Athlete: strings.Repeat("Plover ", 20)}}
	p.begin(1)
	p.about(wren, "frame 7 of 300")
	p.about(plover, "opening")
	line := p.line()
	assert.True(t, strings.HasPrefix(line, "1 of 4 rows; 1 failed; Wren frame 7 of 300; Plover"), line)
	assert.Less(t, len([]rune(line)), helpWidth)
	p.done(plover)
	p.began = p.began.Add(-3 * time.Second)
	assert.Equal(t, "2 of 4 rows; 1 failed; about 6 s left; Wren frame 7 of 300", p.line())

	var b lockedBuffer
	p.start(&b, time.Millisecond)
	require.Eventually(t, func() bool { return strings.Contains(b.String(), "\r\x1b[K2 of 4 rows") }, 10*time.Second, time.Millisecond)
	p.stop()
	assert.True(t, strings.HasSuffix(b.String(), "\r\x1b[K"), "the line is wiped away")
}
