package scene

import (
	"encoding/json"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
)

// The demo's files are those of the scene "leap" as it is now: go generate in
// this folder makes them again.
func TestDemoIsTheSceneLeap(t *testing.T) {
	clip, marks := demotake.Files()
	require.NotEmpty(t, clip)
	assert.Less(t, len(clip), 1_000_000, "bytes: the binary carries it")

	s, err := Named("leap")
	require.NoError(t, err)
	text, err := os.ReadFile("../../demotake/leap.truth.json")
	require.NoError(t, err)
	var truth ClipTruth
	require.NoError(t, json.Unmarshal(text, &truth))
	require.Len(t, truth.Truths, s.Frames)
	at, deg := s.Peak()
	assert.InDelta(t, 163, deg, 1e-6)
	// at its maximum an angle is flat: its place is known to the root of rounding
	assert.InDelta(t, at, *truth.PeakS, 1e-6)
	assert.InDelta(t, deg, *truth.PeakDeg, 1e-9)
	for _, i := range []int{0, 21, 43, 44, 89} {
		now, was := s.Truth(i), truth.Truths[i]
		require.Len(t, was.Marks, len(now.Marks))
		for k, m := range now.Marks {
			assert.Equal(t, m.Landmark, was.Marks[k].Landmark)
			assert.InDeltaSlice(t, m.Pixel[:], was.Marks[k].Pixel[:], 1e-3)
			assert.Equal(t, m.Visible, was.Marks[k].Visible)
		}
		for k, st := range now.Stickers {
			assert.InDeltaSlice(t, st.Pixel[:], was.Stickers[k].Pixel[:], 1e-3)
			assert.InDelta(t, st.Visible, was.Stickers[k].Visible, 1e-9)
		}
		assert.InDelta(t, now.Angles["hip-split"], was.Angles["hip-split"], 1e-9)
	}

	var m marksFile
	require.NoError(t, json.Unmarshal(marks, &m))
	assert.Equal(t, "ecart/marks/1", m.Schema)
	assert.Equal(t, s.PeakFrame(), m.Frame)
	assert.Equal(t, "right", m.Facing)
	require.Len(t, m.Marks, 4)
	want, err := demoMarksOf(s.Truth(m.Frame))
	require.NoError(t, err)
	assert.Equal(t, want, m)
	var off float64
	for _, k := range m.Marks[:3] {
		st, ok := s.Truth(m.Frame).Sticker(k.Landmark)
		require.True(t, ok)
		assert.Equal(t, 1.0, st.Visible, k.Landmark)
		const far = 4 * demoScatter
		assert.InDelta(t, st.Pixel[0], k.X, far)
		assert.InDelta(t, st.Pixel[1], k.Y, far)
		off += sq(st.Pixel[0]-k.X) + sq(st.Pixel[1]-k.Y)
	}
	assert.Positive(t, off, "a hand scatters")
}

func TestDemoClipShowsTheLeap(t *testing.T) {
	clip, marks := demotake.Files()
	path := filepath.Join(t.TempDir(), demotake.Name)
	require.NoError(t, os.WriteFile(path, clip, 0o644))
	s, err := Named("leap")
	require.NoError(t, err)
	var m marksFile
	require.NoError(t, json.Unmarshal(marks, &m))
	count, err := exec.Command("ffprobe", "-v", "error", "-count_frames", "-show_entries", "stream=nb_read_frames", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	assert.Equal(t, strconv.Itoa(s.Frames), strings.TrimSpace(string(count)))
	frames := decoded(t, path, s.Camera.Width, s.Camera.Height, m.Frame-1, m.Frame+1)
	require.Len(t, frames, 3)
	p, _ := s.Frame(m.Frame)
	own := apart(frames[1], p.(*image.RGBA).Pix)
	assert.Less(t, own, 6.0, "rms steps")
	assert.Less(t, own, apart(frames[0], p.(*image.RGBA).Pix))
	assert.Less(t, own, apart(frames[2], p.(*image.RGBA).Pix))
}
