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

func plain(w, h int, grey uint8) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.RGBA{grey, grey / 2, 40, 255}), image.Point{}, draw.Src)
	return img
}

func TestClipComesBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.mp4")
	r, err := New(context.Background(), path, 321, 181, 30) // odd sizes are padded by a pixel
	require.NoError(t, err)
	for i := range 12 {
		require.NoError(t, r.Add(plain(321, 181, uint8(20*i))))
	}
	_, err = os.Stat(path)
	assert.ErrorIs(t, err, os.ErrNotExist, "nothing stands there before the end")
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
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	assert.Len(t, left, 1)
}

func TestNothingIsLeftBehind(t *testing.T) {
	dir := t.TempDir()
	r, err := New(context.Background(), filepath.Join(dir, "out.mp4"), 64, 64, 30)
	require.NoError(t, err)
	require.NoError(t, r.Add(plain(64, 64, 9)))
	r.Discard()
	ctx, cancel := context.WithCancel(context.Background())
	r, err = New(ctx, filepath.Join(dir, "out.mp4"), 64, 64, 30)
	require.NoError(t, err)
	cancel()
	assert.Error(t, r.Finish())
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
	_, err = New(context.Background(), filepath.Join(dir, "none", "out.mp4"), 64, 64, 30)
	var e *Error
	require.ErrorAs(t, err, &e)
	assert.NotEmpty(t, e.Hint())
	_, err = New(context.Background(), filepath.Join(dir, "out.mp4"), 0, 64, 30)
	assert.Error(t, err)
}
