package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// stillBytes returns one numbered picture encoded by the ffmpeg program as a still.
func stillBytes(t testing.TB, codec, name string, more ...string) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	args := append([]string{"-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "176x144", "-i", "-", "-c:v", codec}, more...)
	ffmpegFed(t, rendered(1, clipW, clipH), append(args, path)...)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return data
}

// resizePNG changes the size that a PNG declares, and its checksum with it.
func resizePNG(data []byte, w, h int) []byte {
	out := bytes.Clone(data)
	binary.BigEndian.PutUint32(out[16:], uint32(w))
	binary.BigEndian.PutUint32(out[20:], uint32(h))
	binary.BigEndian.PutUint32(out[29:], crc32.ChecksumIEEE(out[12:29]))
	return out
}

func pngBytes(t testing.TB, img image.Image) []byte {
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, img))
	return out.Bytes()
}

// seenAt returns the stored pixel that is shown at (x, y), from the table of CIPA DC-008 4.6.4 A.
func seenAt(orientation, x, y, w, h int) (sx, sy int) {
	switch orientation {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// requireTurned requires that got is the stored picture in the given orientation.
func requireTurned(t *testing.T, stored, got *image.RGBA, orientation int) {
	t.Helper()
	w, h := stored.Rect.Dx(), stored.Rect.Dy()
	uw, uh := w, h
	if orientation > 4 {
		uw, uh = h, w
	}
	require.Equal(t, image.Rect(0, 0, uw, uh), got.Rect)
	for y := range uh {
		for x := range uw {
			sx, sy := seenAt(orientation, x, y, w, h)
			require.Equal(t, stored.RGBAAt(sx, sy), got.RGBAAt(x, y), "at %d,%d", x, y)
		}
	}
}

// TestExif writes the same picture into each kind of file with each orientation, a camera, a time of
// recording, and a place that must not be read.
func TestExif(t *testing.T) {
	jpg, webp := stillBytes(t, "mjpeg", "a.jpg"), stillBytes(t, "libwebp", "a.webp")
	flat := pngBytes(t, frame(t, open(t, write(t, "a.jpg", jpg)), 0).Image())
	for name, c := range map[string]struct {
		plain []byte
		with  func(tiff []byte) []byte
	}{
		"a.jpg":  {jpg, func(tiff []byte) []byte { return withJPEGExif(t, jpg, tiff) }},
		"a.webp": {webp, func(tiff []byte) []byte { return withWebPExif(t, webp, tiff, clipW, clipH) }},
		"a.png":  {flat, func(tiff []byte) []byte { return withPNGExif(t, flat, tiff) }},
	} {
		t.Run(name, func(t *testing.T) {
			plain := open(t, write(t, name, c.plain))
			assert.Equal(t, Info{Name: name, Size: int64(len(c.plain)), Still: true, Width: clipW, Height: clipH,
				PixelAspect: 1, Orientation: 1, Frames: 1, Codec: kindOf(name), BitDepth: 8}, plain.Info())
			stored := frame(t, plain, 0).Image()
			for o := 1; o <= 8; o++ {
				take := open(t, write(t, name, c.with(exifBytes(o))))
				requireTurned(t, stored, frame(t, take, 0).Image(), o)
				requireCamera(t, take.Info())
				assert.Equal(t, o, take.Info().Orientation)
			}
			odd := open(t, write(t, name, c.with(exifBytes(9))))
			assert.Equal(t, 1, odd.Info().Orientation, "no such orientation")
		})
	}
}

func kindOf(name string) string {
	return map[string]string{".jpg": "jpeg", ".png": "png", ".webp": "webp", ".heic": "heic"}[filepath.Ext(name)]
}

// requireCamera requires the metadata that exifBytes writes, without the place.
func requireCamera(t *testing.T, info Info) {
	t.Helper()
	assert.Equal(t, "Plover", info.Make)
	assert.Equal(t, "P1", info.Model)
	assert.Equal(t, 26.0, info.FocalLength35)
	assert.Equal(t, "2026-03-01T10:20:30+01:00", info.Captured.Format(time.RFC3339))
	all := fmt.Sprintf("%+v", info)
	assert.NotContains(t, all, "GPS")
	assert.NotContains(t, all, "12.5")
}

// TestHEIC: a HEIC file is turned by its own properties, and EXIF's orientation, which repeats
// them, is not applied again.
func TestHEIC(t *testing.T) {
	plain := frame(t, open(t, write(t, "a.heic", heicFile(t, heicOptions{}))), 0)
	for _, c := range []struct{ turn, mirror, orientation int }{
		{0, 0, 1}, {3, 0, 6}, {2, 0, 3}, {1, 0, 8}, // quarter turns anticlockwise
		{0, 1, 2}, {0, 2, 4},
		{3, 1, 5}, {3, 2, 7}, // first turned, then mirrored left to right or top to bottom
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			data := heicFile(t, heicOptions{turn: c.turn, mirror: c.mirror, exif: exifBytes(c.orientation)})
			take := open(t, write(t, "a.heic", data))
			stored, got := plain.Image(), frame(t, take, 0).Image()
			blank(stored, got, c.orientation)
			requireTurned(t, stored, got, c.orientation)
			requireCamera(t, take.Info())
			assert.Equal(t, "heic", take.Info().Codec)
		})
	}
}

// blank clears, in both pictures, the samples that the HEIC decoder loses in either.
func blank(stored, got *image.RGBA, orientation int) {
	for x := range overwritten {
		stored.SetRGBA(x, 0, color.RGBA{})
		sx, sy := seenAt(orientation, x, 0, stored.Rect.Dx(), stored.Rect.Dy())
		stored.SetRGBA(sx, sy, color.RGBA{})
	}
	for y := range got.Rect.Dy() {
		for x := range got.Rect.Dx() {
			if sx, sy := seenAt(orientation, x, y, stored.Rect.Dx(), stored.Rect.Dy()); stored.RGBAAt(sx, sy) == (color.RGBA{}) {
				got.SetRGBA(x, y, color.RGBA{})
			}
		}
	}
}

// TestRealHEIC opens a file made by another encoder (testdata/README.md). Its EXIF states orientation 6,
// which ISO/IEC 23008-12 says to ignore.
func TestRealHEIC(t *testing.T) {
	take := open(t, filepath.Join("testdata", "colours.heic"))
	requireCamera(t, take.Info())
	rendered, want := colours(), image.NewRGBA(image.Rect(0, 0, clipH, clipW))
	for y := range clipH {
		for x := range clipW {
			want.SetRGBA(y, clipW-1-x, rendered.RGBAAt(x, y))
		}
	}
	got := frame(t, take, 0).Image()
	require.Equal(t, want.Rect, got.Rect)
	require.LessOrEqual(t, meanDifference(want, got, want.Rect), coded)
}

// coded is the mean difference, in levels, that lossy coding of smooth pictures at high quality may
// leave. Rounding to samples of the narrow range alone leaves about 0.7 (a quarter of a step each,
// times 255/219 for luma and up to 1.86 x 255/224 for chroma); coding leaves as much again. A wrong
// matrix or range is off by 7 and more.
const coded = 2.0

func meanDifference(want, got image.Image, r image.Rectangle) float64 {
	sum := 0.0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			a, b := color.RGBAModel.Convert(want.At(x, y)).(color.RGBA), color.RGBAModel.Convert(got.At(x, y)).(color.RGBA)
			for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B)} {
				sum += float64(max(d, -d))
			}
		}
	}
	return sum / float64(3*r.Dx()*r.Dy())
}

// colours is a picture of smooth, strong colours, none near the ends of the range.
func colours() *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, clipW, clipH))
	wave := func(v float64) uint8 { return uint8(128 + 90*math.Sin(v)) }
	for y := range clipH {
		for x := range clipW {
			img.SetRGBA(x, y, color.RGBA{wave(float64(x) / 40), wave(float64(y) / 30), wave(float64(x+2*y)/50 + 1), 255})
		}
	}
	return img
}

// colourInput makes the ffmpeg program read colours from its standard input.
var colourInput = slices.Clip([]string{"-f", "rawvideo", "-pix_fmt", "rgba", "-s", "176x144", "-i", "-"})

// TestStillColours: every kind of file shows the same picture, lossless ones exactly.
func TestStillColours(t *testing.T) {
	want := colours()
	as := func(name string, args ...string) []byte {
		path := filepath.Join(t.TempDir(), name)
		ffmpegFed(t, want.Pix, append(append(colourInput, args...), path)...)
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		return data
	}
	full := "scale=out_color_matrix=bt601:out_range=full,format="
	for _, c := range []struct {
		name string
		data []byte
		off  float64 // mean difference that coding may leave
	}{
		{"a.png", pngBytes(t, want), 0},
		{"lossless.webp", as("a.webp", "-c:v", "libwebp", "-lossless", "1"), 0},
		{"a.jpg", as("a.jpg", "-vf", full+"yuvj420p", "-q:v", "1"), coded},
		{"422.jpg", as("a.jpg", "-vf", full+"yuvj422p", "-q:v", "1"), coded},
		{"444.jpg", as("a.jpg", "-vf", full+"yuvj444p", "-q:v", "1"), coded},
		{"a.webp", as("a.webp", "-c:v", "libwebp", "-quality", "98"), coded},
		{"full.heic", heicFile(t, heicOptions{}), coded},
		{"narrow.heic", heicFile(t, heicOptions{limits: true}), coded},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := frame(t, open(t, write(t, c.name, c.data)), 0).Image()
			require.LessOrEqual(t, meanDifference(want, got, want.Rect), c.off)
		})
	}
}

func TestPNGForms(t *testing.T) {
	r := image.Rect(0, 0, 5, 4)
	deep, transparent, grey := image.NewRGBA64(r), image.NewNRGBA(r), image.NewGray16(r)
	palette := image.NewPaletted(r, color.Palette{color.Black, color.RGBA{250, 3, 7, 255}})
	for y := range 4 {
		for x := range 5 {
			deep.Set(x, y, color.RGBA64{uint16(x * 9000), uint16(y * 9000), 0xffff, 0xffff})
			transparent.Set(x, y, color.NRGBA{200, 100, 0, uint8(x * 63)})
			grey.Set(x, y, color.Gray16{uint16(x * 12345)})
			palette.SetColorIndex(x, y, uint8((x+y)%2))
		}
	}
	pixel := func(img image.Image, x, y int) (color.RGBA, Info) {
		take := open(t, write(t, "a.png", pngBytes(t, img)))
		return frame(t, take, 0).Image().RGBAAt(x, y), take.Info()
	}
	got, info := pixel(deep, 3, 2)
	assert.Equal(t, color.RGBA{27000 >> 8, 18000 >> 8, 255, 255}, got)
	assert.Equal(t, 16, info.BitDepth)
	got, _ = pixel(transparent, 0, 0)
	assert.Equal(t, color.RGBA{255, 255, 255, 255}, got, "clear shows white")
	got, _ = pixel(transparent, 2, 0) // 126 of 255 opaque: 200 and 100 and 0 over 255
	assert.InDelta(t, (200*126+255*129)/255, int(got.R), 1)
	assert.InDelta(t, (100*126+255*129)/255, int(got.G), 1)
	assert.InDelta(t, 255*129/255, int(got.B), 1)
	got, info = pixel(grey, 4, 0)
	assert.Equal(t, color.RGBA{49380 >> 8, 49380 >> 8, 49380 >> 8, 255}, got)
	assert.Equal(t, 16, info.BitDepth)
	got, _ = pixel(palette, 1, 0)
	assert.Equal(t, color.RGBA{250, 3, 7, 255}, got)
}

// TestStillTake: a still is a take of one frame at time 0.
func TestStillTake(t *testing.T) {
	take := open(t, write(t, "a.jpg", stillBytes(t, "mjpeg", "a.jpg")))
	assert.Zero(t, take.Time(0))
	assert.Zero(t, take.TrueInterval(0))
	assert.Equal(t, 0, take.FrameAt(time.Hour))
	sum, err := take.SHA256(t.Context())
	require.NoError(t, err)
	assert.Len(t, sum, 64)
	f := frame(t, take, 0)
	assert.Zero(t, f.Index)
	assert.Equal(t, 0, readNumber(t, f))
	n := 0
	require.NoError(t, take.Stream(context.Background(), 0, func(g *Frame) error {
		n++
		assert.Equal(t, f.Image(), g.Clone().Image())
		return nil
	}))
	assert.Equal(t, 1, n)
}

// TestMutatedStills changes bytes of stills at random: nothing crashes, and errors have their form.
func TestMutatedStills(t *testing.T) {
	const rounds = 25
	r := rand.New(rand.NewPCG(3, 3))
	for name, data := range map[string][]byte{
		"a.jpg": withJPEGExif(t, stillBytes(t, "mjpeg", "a.jpg"), exifBytes(6)), "a.webp": stillBytes(t, "libwebp", "a.webp"),
		"a.png": pngBytes(t, colours()), "a.heic": heicFile(t, heicOptions{turn: 1, mirror: 2, exif: exifBytes(7), limits: true}),
	} {
		for range rounds {
			take, err := Open(context.Background(), write(t, name, mutate(data, 0, r)))
			if err != nil {
				requireWords(t, err, "")
				continue
			}
			require.NoError(t, checkSize("", take.Info().Width, take.Info().Height))
			frame(t, take, 0).Image()
			require.NoError(t, take.Close())
		}
	}
}

// FuzzStill: no bytes crash a decoder, and a still that opens has a size within the limits. For HEIC only
// our own parser is fuzzed: the decoder runs in a sandbox and is too slow here.
func FuzzStill(f *testing.F) {
	f.Add(stillBytes(f, "mjpeg", "a.jpg"))
	f.Add(withJPEGExif(f, stillBytes(f, "mjpeg", "a.jpg"), exifBytes(6)))
	f.Add(stillBytes(f, "libwebp", "a.webp"))
	f.Add(withWebPExif(f, stillBytes(f, "libwebp", "a.webp"), exifBytes(8), clipW, clipH))
	f.Add(withPNGExif(f, pngBytes(f, image.NewGray(image.Rect(0, 0, 9, 5))), exifBytes(3)))
	f.Add(heicFile(f, heicOptions{turn: 1, exif: exifBytes(8), limits: true}))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, ok := sniff(data[:min(len(data), 512)])
		if !ok || k == clipKind {
			return
		}
		exif(k, bytes.NewReader(data))
		if k == heicKind {
			_, _ = readHEIF(readHEICItems(data).properties)
			return
		}
		p, _, err := decodeStill("a", k, io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data))))
		if err != nil {
			return
		}
		require.NoError(t, checkSize("a", p.Width, p.Height))
		(&Frame{picture: p, orientation: 6}).Image()
	})
}
