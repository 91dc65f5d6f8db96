package cli

import (
	"context"
	"encoding/json"
	"image"
	"image/color"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/scene"
	"ecart/vision/take"
)

// TestFacelessClip follows stickers, one of them on the shoulder, and checks the
// head in the frames of the annotated clip: where the renderer has its middle, there
// is paper. The clip does not have the place, the time or the device.
func TestFacelessClip(t *testing.T) {
	dir := t.TempDir()
	s, err := scene.Named("plain")
	require.NoError(t, err)
	s.Camera = scene.LookAt(960, 540, 1215, scene.Vec{Y: 1.06}, 5)
	s.Frames = 60
	s.Stickers = append(s.Stickers, scene.Sticker{Landmark: "shoulder", Colour: 0xff8a14})
	clip := filepath.Join(dir, "lena.mp4")
	_, err = s.WriteClip(context.Background(), clip, scene.ClipOptions{Preset: "veryfast"})
	require.NoError(t, err)
	seed := s.Truth(40)
	marks := []map[string]any{}
	for _, st := range seed.Stickers {
		marks = append(marks, map[string]any{"landmark": st.Landmark, "x": st.Pixel[0], "y": st.Pixel[1]})
	}
	data, err := json.Marshal(map[string]any{"schema": "ecart/marks/1", "frame": 40, "facing": seed.Facing, "marks": marks})
	require.NoError(t, err)
	seeds := filepath.Join(dir, "seeds.json")
	require.NoError(t, os.WriteFile(seeds, data, 0o666))
	out, fig := filepath.Join(dir, "a.mp4"), filepath.Join(dir, "f.png")
	require.Zero(t, Main([]string{"follow", clip, "--seeds", seeds, "--skill", "split-leap", "--clip", out, "--figure", fig, "--faceless"}, nil, io.Discard, os.Stderr))

	tk, err := take.Open(context.Background(), out)
	require.NoError(t, err)
	defer tk.Close()
	raw, err := take.Open(context.Background(), clip)
	require.NoError(t, err)
	defer raw.Close()
	for _, i := range []int{18, 30, 40, 59} {
		f, err := tk.Frame(context.Background(), i)
		require.NoError(t, err)
		before, err := raw.Frame(context.Background(), i)
		require.NoError(t, err)
		at := skull(s, i)
		require.True(t, at.In(f.Image().Bounds()), "the head is in frame %d", i)
		assert.True(t, paper(f.Image(), at), "frame %d has paper at %v", i, at)
		assert.False(t, paper(before.Image(), at), "and the take had a head there")
	}
	tags, err := exec.Command("ffprobe", "-v", "error", "-show_entries", "format_tags:stream_tags:chapters", out).Output()
	require.NoError(t, err)
	for _, tag := range []string{"lena", "location", "creation_time", "title", "comment", "encoder=Lavf", "make", "model"} {
		assert.NotContains(t, string(tags), tag)
	}
	whole, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.NotContains(t, string(whole), "lena")
}

// skull returns the middle of the head in a frame: 0.121 of stature above
// the middle of the shoulders along the trunk, as in the drawn body, for a
// head that is not thrown back.
func skull(s *scene.Scene, i int) image.Point {
	j := s.Body.Joints(s.Motion.At(s.Time(i)))
	mid := func(kind string) scene.Vec {
		l, _ := j.At("left-" + kind)
		r, _ := j.At("right-" + kind)
		return l.Add(r).Mul(0.5)
	}
	neck, hip := mid("shoulder"), mid("hip")
	x, y, _ := s.Camera.Project(neck.Add(neck.Sub(hip).Unit().Mul(0.10 * s.Body.Stature)))
	return image.Pt(int(x), int(y))
}

// paper reports whether most pixels around a place are as light as paper.
func paper(img image.Image, at image.Point) bool {
	n := 0
	for y := -6; y <= 6; y++ {
		for x := -6; x <= 6; x++ {
			c := color.GrayModel.Convert(img.At(at.X+x, at.Y+y)).(color.Gray)
			if c.Y > 240 {
				n++
			}
		}
	}
	return n > 100 // of 169; the rest is hatching
}
