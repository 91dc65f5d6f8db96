package record

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/take"
)

// plain returns a picture of one colour.
func plain(w, h int, grey uint8) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.RGBA{grey, grey / 2, 40, 255}), image.Point{}, draw.Src)
	return img
}

func TestClipComesBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.mp4")
	r, err := New(context.Background(), created(t, path), path, 321, 181, 30) // odd sizes are padded by a pixel
	require.NoError(t, err)
	for i := range 12 {
		require.NoError(t, r.Add(plain(321, 181, uint8(20*i))))
	}
	require.NoError(t, r.Finish())
	tk, err := take.Open(context.Background(), path)
	require.NoError(t, err)
	defer tk.Close()
	info := tk.Info()
	assert.Equal(t, 12, info.Frames)
	assert.Equal(t, "h264", info.Codec)
	assert.Equal(t, []int{322, 182}, []int{info.Width, info.Height})
	for _, i := range []int{3, 11} {
		f, err := tk.Frame(context.Background(), i)
		require.NoError(t, err)
		c := f.Image().RGBAAt(100, 90)
		const coded = 4 // levels: 8-bit limited range and a quantiser of 20
		assert.InDelta(t, 20*i, c.R, coded)
		assert.InDelta(t, 10*i, c.G, coded)
		assert.InDelta(t, 40, c.B, coded)
	}
	out, err := exec.Command("ffprobe", "-v", "error", "-show_entries", "format_tags:stream_tags", path).Output()
	require.NoError(t, err)
	for _, tag := range []string{"location", "creation_time", "encoder=Lavf", "make", "model"} {
		assert.NotContains(t, string(out), tag)
	}
}

// created returns a new file.
func created(t *testing.T, path string) *os.File {
	f, err := os.Create(path)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

// A recording that was cancelled returns an error with a hint.
func TestStopped(t *testing.T) {
	out := created(t, filepath.Join(t.TempDir(), "out.mp4"))
	r, err := New(context.Background(), out, "out.mp4", 64, 64, 30)
	require.NoError(t, err)
	require.NoError(t, r.Add(plain(64, 64, 9)))
	r.Discard()
	ctx, cancel := context.WithCancel(context.Background())
	r, err = New(ctx, out, "out.mp4", 64, 64, 30)
	require.NoError(t, err)
	cancel()
	err = r.Finish()
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.ErrorContains(t, err, `"out.mp4"`)
	assert.NotEmpty(t, e.Hint())
	_, err = New(context.Background(), out, "out.mp4", 0, 64, 30)
	assert.Error(t, err)
}

// The messages of an ffmpeg that dies are read only after it has ended. The race
// detector finds an earlier read.
func TestFfmpegDies(t *testing.T) {
	r, err := New(context.Background(), created(t, filepath.Join(t.TempDir(), "out.mp4")), "out.mp4", 640, 640, 30)
	require.NoError(t, err)
	require.NoError(t, r.cmd.Process.Kill())
	for err == nil {
		err = r.Add(plain(640, 640, 9))
	}
	assert.ErrorContains(t, err, `the clip "out.mp4" cannot be written`)
	r.Discard()
}
