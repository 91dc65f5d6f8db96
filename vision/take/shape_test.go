package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func frame(t testing.TB, take *Take, i int) *Frame {
	t.Helper()
	f, err := take.Frame(context.Background(), i)
	require.NoError(t, err)
	return f
}

// withMatrix writes a display matrix into the track header (ISO/IEC 14496-12 8.3.2, version 0).
func withMatrix(t testing.TB, path string, m [9]int32) string {
	return rewrite(t, path, "turned.mp4", func(data []byte) []byte {
		at := bytes.Index(data, []byte("tkhd"))
		require.Positive(t, at)
		require.Zero(t, data[at+4], "version")
		for i, v := range m {
			binary.BigEndian.PutUint32(data[at+44+4*i:], uint32(v))
		}
		return data
	})
}

// TestDisplayMatrix writes all eight orientations into the header of one clip and requires each pixel
// where the standard's formula puts it: x = a p + c q + tx, y = b p + d q + ty.
func TestDisplayMatrix(t *testing.T) {
	path := encode(t, "a.mp4", 3, x264("keyint=1")...)
	plain := frame(t, open(t, path), 1).Image()
	for i, m := range [][4]int{
		{1, 0, 0, 1}, {-1, 0, 0, 1}, {-1, 0, 0, -1}, {1, 0, 0, -1},
		{0, 1, 1, 0}, {0, 1, -1, 0}, {0, -1, -1, 0}, {0, -1, 1, 0},
	} {
		t.Run(fmt.Sprint(m), func(t *testing.T) {
			a, b, c, d := m[0], m[1], m[2], m[3]
			tx, ty := -min(0, a*clipW, c*clipH), -min(0, b*clipW, d*clipH)
			const one = 1 << 16
			turned := open(t, withMatrix(t, path, [9]int32{
				int32(a * one), int32(b * one), 0, int32(c * one), int32(d * one), 0, int32(tx * one), int32(ty * one), 1 << 30}))
			assert.Equal(t, i+1, turned.Info().Orientation)
			w, h := clipW, clipH
			if a == 0 {
				w, h = h, w
			}
			assert.Equal(t, [2]int{w, h}, [2]int{turned.Info().Width, turned.Info().Height})
			got := frame(t, turned, 1).Image()
			require.Equal(t, [2]int{w, h}, [2]int{got.Rect.Dx(), got.Rect.Dy()})
			for q := range clipH {
				for p := range clipW {
					// Coordinates are doubled, so that pixel centres are whole numbers.
					x, y := a*(2*p+1)+c*(2*q+1)+2*tx, b*(2*p+1)+d*(2*q+1)+2*ty
					require.Equal(t, plain.RGBAAt(p, q), got.RGBAAt(x/2, y/2), "stored pixel %d,%d", p, q)
				}
			}
		})
	}
	askew := open(t, withMatrix(t, path, [9]int32{46341, 46341, 0, -46341, 46341, 0, 0, 0, 1 << 30}))
	assert.Contains(t, fmt.Sprint(askew.Info().Warnings), "90 degrees")
}

// TestSquarePixels: pixels of 4 to 3 are stretched, and what was at (x, y) is found at
// ((x+1/2) 4/3 - 1/2, y).
func TestSquarePixels(t *testing.T) {
	// A white box on black: its centroid is at its middle.
	const w, h, x0, y0, side = 180, 120, 90, 50, 20
	pic := bytes.Repeat([]byte{16}, w*h)
	for y := y0; y < y0+side; y++ {
		for x := x0; x < x0+side; x++ {
			pic[y*w+x] = 235
		}
	}
	pic = append(pic, bytes.Repeat([]byte{128}, w*h/2)...)
	// Ringing of the scaler and of the encoder is symmetric about the box's centre.
	const tolerance = 0.05 // pixels
	for _, c := range []struct {
		sar            string
		wantW, wantH   int
		scaleX, scaleY float64
	}{{"4/3", 240, 120, 4. / 3, 1}, {"3/4", 180, 160, 1, 4. / 3}} {
		path := filepath.Join(t.TempDir(), "a.mp4")
		ffmpegFed(t, pic, "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "180x120", "-i", "-", "-vf", "setsar="+c.sar, "-c:v", "libx264", "-qp", "4", path)
		take := open(t, path)
		info := take.Info()
		assert.Equal(t, [2]int{c.wantW, c.wantH}, [2]int{info.Width, info.Height})
		assert.InDelta(t, c.scaleX/c.scaleY, info.PixelAspect, 1e-12)
		assert.Contains(t, fmt.Sprint(info.Warnings), "not square")
		img := frame(t, take, 0).Image()
		var sum, sx, sy float64
		for y := range info.Height {
			for x := range info.Width {
				v := float64(img.RGBAAt(x, y).G)
				sum, sx, sy = sum+v, sx+v*float64(x), sy+v*float64(y)
			}
		}
		mid := func(from int, scale float64) float64 { return (float64(from)+side/2.)*scale - 0.5 }
		assert.InDelta(t, mid(x0, c.scaleX), sx/sum, tolerance)
		assert.InDelta(t, mid(y0, c.scaleY), sy/sum, tolerance)
	}
}

func TestOddSizes(t *testing.T) {
	const n = 12
	for name, c := range map[string]struct {
		file string
		args []string
	}{
		"4:2:0": {"a.webm", []string{"-c:v", "libvpx-vp9", "-deadline", "realtime", "-cpu-used", "8", "-g", "5"}},
		"4:4:4": {"a.mp4", x264("keyint=5", "-pix_fmt", "yuv444p")},
	} {
		t.Run(name, func(t *testing.T) {
			path := encodeSized(t, c.file, n, clipW+1, clipH+1, c.args...)
			take := open(t, path)
			assert.Equal(t, [2]int{clipW + 1, clipH + 1}, [2]int{take.Info().Width, take.Info().Height})
			requireExact(t, take, straight(t, path), shuffled(n, 1))
			assert.Equal(t, 7, readNumber(t, frame(t, take, 7)))
		})
	}
}

// TestOtherStreams: sound and a cover picture, larger than the clip, are ignored.
func TestOtherStreams(t *testing.T) {
	path := encode(t, "a.mp4", 20, x264("keyint=5")...)
	dir := t.TempDir()
	cover, full := filepath.Join(dir, "cover.png"), filepath.Join(dir, "full.mp4")
	ffmpeg(t, "-f", "lavfi", "-i", "testsrc=s=640x480", "-frames:v", "1", cover)
	ffmpeg(t, "-i", cover, "-f", "lavfi", "-i", "sine=d=1", "-i", path, "-map", "0:v", "-map", "1:a", "-map", "2:v",
		"-c:v", "copy", "-disposition:v:0", "attached_pic", full)
	take := open(t, full)
	assert.Equal(t, [2]int{clipW, clipH}, [2]int{take.Info().Width, take.Info().Height})
	requireExact(t, take, straight(t, path), shuffled(20, 1))
}

// TestSlowMotion: of a clip tagged as recorded at 240 frames a second, time stamps at 30 a second are
// stretched eightfold; time stamps at 240 are true.
func TestSlowMotion(t *testing.T) {
	tag := []string{"-movflags", "use_metadata_tags", "-metadata", "com.android.capture.fps=240.000000"}
	slow := open(t, encode(t, "slow.mp4", 24, x264("keyint=12", tag...)...))
	info := slow.Info()
	assert.InDelta(t, 30, info.NominalRate, 1e-9)
	assert.InDelta(t, 240, info.TrueRate, 1e-9)
	assert.Equal(t, 800*time.Millisecond, info.Duration)
	assert.Contains(t, fmt.Sprint(info.Warnings), "slow motion")
	for _, i := range []int{0, 11, 23} {
		assert.InDelta(t, 1e9/240, float64(slow.TrueInterval(i)), 1, "frame %d", i) // a nanosecond
	}
	assert.Equal(t, 300*time.Millisecond, slow.Time(9), "time stays as stored")

	fast := open(t, encode(t, "true.mp4", 24, x264("keyint=12", append(tag, "-vf", "settb=1/240,setpts=N", "-r", "240")...)...))
	assert.InDelta(t, 240, fast.Info().NominalRate, 1e-9)
	assert.InDelta(t, 240, fast.Info().TrueRate, 1e-9)
	assert.InDelta(t, 1e9/240, float64(fast.TrueInterval(3)), 1)
	assert.Empty(t, fast.Info().Warnings)
}

func TestTimes(t *testing.T) {
	take := open(t, encode(t, "a.mp4", 30, x264("keyint=12")...))
	assert.Equal(t, time.Second, take.Info().Duration)
	for i := range 30 {
		assert.Equal(t, i, take.FrameAt(take.Time(i)))
		assert.Equal(t, max(i-1, 0), take.FrameAt(take.Time(i)-1))
		assert.Equal(t, time.Duration(math.Round(float64(i)*1e9/30)), take.Time(i))
	}
	assert.Equal(t, 29, take.FrameAt(time.Hour))
	assert.Equal(t, 0, take.FrameAt(-time.Second))
	assert.Zero(t, take.TrueInterval(-1))
	assert.Zero(t, take.TrueInterval(30))
	assert.InDelta(t, 1e9/30, float64(take.TrueInterval(29)), 1)
}

// TestClipTags: the camera and the time of recording are read, the place is not.
func TestClipTags(t *testing.T) {
	take := open(t, encode(t, "a.mov", 3, x264("keyint=12", "-movflags", "use_metadata_tags",
		"-metadata", "com.apple.quicktime.make=Plover", "-metadata", "com.apple.quicktime.model=P1",
		"-metadata", "com.apple.quicktime.creationdate=2026-03-01T10:20:30+0100",
		"-metadata", "com.apple.quicktime.camera.focal_length.35mm_equivalent=26",
		"-metadata", "com.apple.quicktime.location.ISO6709=+12.3456+065.4321/")...))
	info := take.Info()
	assert.Equal(t, "Plover", info.Make)
	assert.Equal(t, "P1", info.Model)
	assert.Equal(t, 26.0, info.FocalLength35)
	assert.Equal(t, "2026-03-01T09:20:30Z", info.Captured.UTC().Format(time.RFC3339))
	assert.NotContains(t, fmt.Sprintf("%+v", info), "12.34")

	plain := open(t, encode(t, "a.mp4", 3, x264("keyint=12", "-metadata", "creation_time=2026-03-01T09:20:30Z")...))
	assert.Equal(t, "2026-03-01T09:20:30Z", plain.Info().Captured.Format(time.RFC3339))
	assert.Zero(t, plain.Info().FocalLength35)
	unset := open(t, encode(t, "a.mp4", 3, x264("keyint=12", "-metadata", "creation_time=1970-01-01T00:00:00Z")...))
	assert.True(t, unset.Info().Captured.IsZero())
}
