package cli

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

// packetsOf returns the places of the packets of a clip in decoding order: the first byte and the length.
func packetsOf(t *testing.T, path string) (out [][2]int) {
	t.Helper()
	list, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "packet=size,pos", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	for line := range strings.Lines(string(list)) {
		size, pos, _ := strings.Cut(strings.TrimSpace(line), ",")
		n, err := strconv.Atoi(size)
		require.NoError(t, err)
		at, err := strconv.Atoi(pos)
		require.NoError(t, err)
		out = append(out, [2]int{at, n})
	}
	return out
}

// TestFollowDamaged alters two thirds of one packet of the built-in take. If an angle is still read,
// its interval holds the true one, the reading names the damaged frames, and the exit code
// is not 0. The decoder may miss such damage (TestDamageIsMarked in package take); in this clip, which is H.264 at
// 1920 by 1080, none of 10 altered packets was missed.
func TestFollowDamaged(t *testing.T) {
	dir := t.TempDir()
	clip, _ := demotake.Files()
	whole := filepath.Join(dir, "whole.mp4")
	require.NoError(t, os.WriteFile(whole, clip, 0o600))
	const seeds = `{"schema": "ecart/marks/1", "frame": 43, "facing": "right",
 "marks": [{"landmark": "hip", "x": 965, "y": 470}, {"landmark": "front-ankle", "x": 1255, "y": 517}, {"landmark": "back-ankle", "x": 652, "y": 515}]}`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "seeds.json"), []byte(seeds), 0o600))
	const truth = 163.0 // leap.truth.json
	packets := packetsOf(t, whole)
	require.Len(t, packets, 90)
	r := rand.New(rand.NewPCG(13, 1))
	read := 0
	for _, k := range []int{10, 45, 55, 62} { // before the peak, just after it, later
		out := bytes.Clone(clip)
		for i := packets[k][0] + packets[k][1]/3; i < packets[k][0]+packets[k][1]; i++ {
			out[i] ^= byte(1 + r.IntN(255))
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), out, 0o600))
		c := ecart(dir, "follow", "leap.mp4", "--seeds", "seeds.json", "--skill", "split-leap", "--camera", "by-eye", "--json", "--csv", "t.csv")
		var printed, said bytes.Buffer
		c.Stdout, c.Stderr = &printed, &said
		err := c.Run()
		assert.Error(t, err, "packet %d", k)
		assert.Contains(t, said.String(), "damaged", "packet %d", k)
		if printed.Len() == 0 {
			continue
		}
		read++
		var got reading.Reading
		require.NoError(t, json.Unmarshal(printed.Bytes(), &got))
		assert.LessOrEqual(t, got.IntervalDeg[0], truth, "packet %d", k)
		assert.GreaterOrEqual(t, got.IntervalDeg[1], truth, "packet %d", k)
		assert.NotEmpty(t, got.Take.Damaged, "packet %d", k)
		assert.Contains(t, strings.Join(got.NotIncluded, "\n"), "the file is damaged there", "packet %d", k)
		assert.Contains(t, strings.Join(got.Cautions, "\n"), "The file is damaged at frame", "packet %d", k)

		second, err := ecart(dir, "read", "leap.mp4", "--marks", "t.csv", "--at", "peak", "--skill", "split-leap", "--camera", "by-eye", "--json").Output()
		require.NoError(t, err, "packet %d", k)
		assert.Equal(t, printed.String(), string(second), "packet %d", k)
	}
	assert.Positive(t, read)
}

// TestDamageHasTheCautionsOfReadInASquad checks that a reading of a damaged frame has the same cautions in a squad's report.
func TestDamageHasTheCautionsOfReadInASquad(t *testing.T) {
	dir := t.TempDir()
	clip, marks := demotake.Files()
	leap := filepath.Join(dir, "leap.mp4")
	require.NoError(t, os.WriteFile(leap, clip, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks, 0o600))
	clip = bytes.Clone(clip)
	first := packetsOf(t, leap)[0] // from which the others are predicted
	r := rand.New(rand.NewPCG(13, 2))
	for i := first[0] + first[1]/3; i < first[0]+first[1]; i++ {
		clip[i] ^= byte(1 + r.IntN(255))
	}
	require.NoError(t, os.WriteFile(leap, clip, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"), []byte("athlete,take,marks\nWren,leap.mp4,marks.json\n"), 0o600))

	var one reading.Reading
	out, err := ecart(dir, "read", "leap.mp4", "--marks", "marks.json", "--skill", "split-leap", "--json").Output()
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(out, &one))
	require.Contains(t, strings.Join(one.Cautions, "\n"), "The file is damaged at frame 43")

	var all struct {
		Athletes []struct {
			Readings []struct {
				Reading reading.Reading `json:"reading"`
			} `json:"readings"`
		} `json:"athletes"`
	}
	out, err = ecart(dir, "squad", "list.csv", "--skill", "split-leap", "--json").Output()
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(out, &all))
	require.Len(t, all.Athletes, 1)
	require.Len(t, all.Athletes[0].Readings, 1)
	assert.Equal(t, one.Cautions, all.Athletes[0].Readings[0].Reading.Cautions)
}
