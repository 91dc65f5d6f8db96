package scene

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ecart/cmd/internal/demotake"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// decoded is a clip's frames from to to, decoded by ffmpeg to RGBA.
func decoded(t *testing.T, path string, w, h, from, to int) [][]byte {
	t.Helper()
	cmd := exec.Command("ffmpeg", "-v", "error", "-i", path, "-vsync", "0", "-vf", fmt.Sprintf("select=between(n\\,%d\\,%d),", from, to)+"scale=in_color_matrix=bt709:in_range=limited:out_range=full", "-f", "rawvideo", "-pix_fmt", "rgba", "-")
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	raw, err := cmd.Output()
	require.NoError(t, err, complaint.String())
	require.Zero(t, len(raw)%(4*w*h))
	var out [][]byte
	for ; len(raw) > 0; raw = raw[4*w*h:] {
		out = append(out, raw[:4*w*h])
	}
	return out
}

// rmsDiff is the root mean square difference of two pictures, in 8-bit steps.
func rmsDiff(a, b []byte) float64 {
	var sum float64
	for i := range a {
		sum += sq(float64(a[i]) - float64(b[i]))
	}
	return math.Sqrt(sum / float64(len(a)))
}

func TestClipCarriesItsFrames(t *testing.T) {
	s := smallLeap(t)
	s.Camera = LookAt(480, 270, 600, Vec{Y: 1.05}, 6)
	s.Frames = 60
	folder := t.TempDir()
	path, side := filepath.Join(folder, "a.mp4"), filepath.Join(folder, "a.json")
	calls := 0
	truth, err := s.WriteClip(context.Background(), path, ClipOptions{CRF: 12, Preset: "veryfast", Truth: side, Progress: func(done, of int) {
		calls++
		assert.Equal(t, calls, done)
		assert.Equal(t, 60, of)
	}})
	require.NoError(t, err)
	assert.Equal(t, 60, calls)
	require.Len(t, truth.Truths, 60)

	frames := decoded(t, path, 480, 270, 0, 1000)
	require.Len(t, frames, 60)
	for _, i := range []int{0, 7, 30, 44, 59} {
		p, _ := s.Frame(i)
		own := rmsDiff(frames[i], p.(*image.RGBA).Pix)
		assert.Less(t, own, 6.0, "rms steps at CRF 12, halved colour included")
		for _, other := range []int{i - 1, i + 1} {
			if other >= 0 && other < 60 {
				assert.Less(t, own, 0.8*rmsDiff(frames[other], p.(*image.RGBA).Pix), "frame %d looks like %d", i, other)
			}
		}
		// a flat patch of the mats keeps its colour: BT.709 there and back
		x, y := 420, 190
		c := p.(*image.RGBA).RGBAAt(x, y)
		at := 4 * (480*y + x)
		assert.InDelta(t, float64(c.R), float64(frames[i][at]), 3)
		assert.InDelta(t, float64(c.G), float64(frames[i][at+1]), 3)
		assert.InDelta(t, float64(c.B), float64(frames[i][at+2]), 3)
	}

	tags, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries",
		"stream=codec_name,pix_fmt,color_range,color_space,color_primaries,color_transfer,r_frame_rate", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	assert.Equal(t, "h264,yuv420p,tv,bt709,bt709,bt709,60/1", string(bytes.TrimSpace(tags)))

	text, err := os.ReadFile(side)
	require.NoError(t, err)
	var back ClipTruth
	require.NoError(t, json.Unmarshal(text, &back))
	require.Len(t, back.Truths, 60)
	assert.Equal(t, truth.PeakFrame, back.PeakFrame)
	assert.InDelta(t, 163, *back.PeakDeg, 1e-6)
	assert.InDelta(t, truth.Truths[44].Stickers[0].Pixel[0], back.Truths[44].Stickers[0].Pixel[0], 1e-3)
}

func TestClipWithoutEncoder(t *testing.T) {
	s := smallLeap(t)
	folder := t.TempDir()
	t.Setenv("PATH", folder)
	_, err := s.WriteClip(context.Background(), filepath.Join(folder, "a.mp4"), ClipOptions{})
	var missing interface{ Hint() string }
	require.ErrorAs(t, err, &missing)
	assert.Contains(t, missing.Hint(), "install ffmpeg")
	left, _ := os.ReadDir(folder)
	assert.Empty(t, left)
}

func TestFailedClipLeavesNoFile(t *testing.T) {
	s := smallLeap(t)
	s.Camera = LookAt(160, 90, 200, Vec{Y: 1.05}, 6)
	folder := t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	_, err := s.WriteClip(ctx, filepath.Join(folder, "a.mp4"), ClipOptions{Progress: func(done, _ int) {
		if done == 3 {
			cancel()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	_, err = s.WriteClip(context.Background(), filepath.Join(folder, "no", "a.mp4"), ClipOptions{})
	require.Error(t, err)
	s.Camera.Width = 161
	_, err = s.WriteClip(context.Background(), filepath.Join(folder, "a.mp4"), ClipOptions{})
	require.ErrorContains(t, err, "even")
	left, _ := os.ReadDir(folder)
	assert.Empty(t, left)
}

// The demo's files agree with the scene "leap". go generate in this folder makes them
// again.
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
	// an angle is flat at its maximum, so its time is known to the square root of rounding only
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
	want, err := demoMarks(s.Truth(m.Frame))
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
	own := rmsDiff(frames[1], p.(*image.RGBA).Pix)
	assert.Less(t, own, 6.0, "rms steps")
	assert.Less(t, own, rmsDiff(frames[0], p.(*image.RGBA).Pix))
	assert.Less(t, own, rmsDiff(frames[2], p.(*image.RGBA).Pix))
}
