package page_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
)

// damagedDemo is the demo's clip with two thirds of its first picture altered, from which all others
// are predicted.
func damagedDemo(t *testing.T) []byte {
	path := demoFile(t)
	out, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "packet=size,pos", "-read_intervals", "%+#1", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	var at [2]int // how many bytes, and the first
	for i, s := range strings.Split(strings.TrimSpace(string(out)), ",")[:2] {
		at[i], err = strconv.Atoi(s)
		require.NoError(t, err)
	}
	clip, _ := demotake.Files()
	clip = bytes.Clone(clip)
	r := rand.New(rand.NewPCG(13, 2))
	for i := at[1] + at[0]/3; i < at[1]+at[0]; i++ {
		clip[i] ^= byte(1 + r.IntN(255))
	}
	return clip
}

// TestDamageIsSaidAsReadSaysIt: a frame that is damaged and marked by hand has the same cautions on the
// page, in what the page saves and in the journal as 'ecart read' prints.
func TestDamageIsSaidAsReadSaysIt(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	clip := damagedDemo(t)
	id := a.takeIn("leap.mp4", clip)
	frame := a.marked(t, id)
	at := "/takes/" + id

	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	marks := a.do("GET", at+"/frames/"+strconv.Itoa(frame)+"/marks.json", nil)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks.body, 0o600))
	path, err := program()
	require.NoError(t, err)
	c := exec.Command(path, "read", "leap.mp4", "--marks", "marks.json", "--skill", "split-leap", "--json")
	c.Dir = dir
	printed, err := c.Output()
	require.NoError(t, err)
	var want reading.Reading
	require.NoError(t, json.Unmarshal(printed, &want))
	require.Contains(t, strings.Join(want.Cautions, "\n"), "The file is damaged at frame "+strconv.Itoa(frame))

	saved := a.do("GET", at+"/frames/"+strconv.Itoa(frame)+"/reading.json", nil)
	assert.Equal(t, string(printed), string(saved.body))

	work := a.do("GET", at+"/work", nil)
	var shown struct {
		Reading reading.Reading
		Sheet   struct{ Cautions []string }
	}
	r := a.do("POST", at+"/reading", bytes.NewReader(work.body))
	require.NoError(t, json.Unmarshal(r.body, &shown), "%s", r.body)
	assert.Equal(t, want.Cautions, shown.Reading.Cautions)
	assert.Len(t, shown.Sheet.Cautions, len(want.Cautions))

	require.Equal(t, 201, a.keepAs(id, frame, `"athlete": "Wren", "day": "2026-03-21"`).status)
	_, kept := inJournal(t, a.data)
	assert.Equal(t, want, kept)
}
