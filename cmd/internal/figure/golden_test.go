package figure

import (
	"bytes"
	"encoding/binary"
	"flag"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// How far a picture may lie from its golden, in levels of 255. On one machine they
// are equal to the byte; another processor may fuse a multiplication with an
// addition, which moves an edge by a fraction of a pixel.
const (
	goldenMean = 0.05
	goldenMost = 40
)

func TestGolden(t *testing.T) {
	const width = 480
	frame := func(s *sample, who string) func() (image.Image, error) {
		return func() (image.Image, error) { return Frame(hall(s.r), s.r, Options{Width: width, Who: who}) }
	}
	oblique := split(960, 540, 1.6, 2, 2.6)
	oblique.r.PictureAngleDeg, oblique.r.AngleDeg = 176.4, 177.6
	cases := map[string]func() (image.Image, error){
		"short":      frame(split(960, 540, 8, 9.6, 1.6).leap(), "Wren"),
		"undecided":  frame(oblique.leap(), "Merlin"),
		"over-split": frame(split(960, 720, -4, -6, 1.6).leap().mirror(), "Plover"),
		"handstand":  frame(handstand(540, 960, 13, 1.5), "Siskin"),
		"no-skill":   frame(knee(720, 540, 24, 2.2), ""),
		"list": frame(shoulder(540, 720, 172, 3).skill("shoulder overhead", 180, false,
			[]float64{0, 2, 5, 10}, "0.05-0.10", "0.15-0.20", "0.25-0.30", "0.3-0.5 and the element is not recognised"), "Dunlin"),
		"ruler": func() (image.Image, error) {
			return Ruler(split(960, 540, 8, 9.6, 1.6).leap().r, Options{Width: width, Who: "Wren", RangeDeg: [2]float64{120, 200}})
		},
	}
	for name, draw := range cases {
		t.Run(name, func(t *testing.T) {
			got, err := draw()
			require.NoError(t, err)
			golden(t, name, got)
		})
	}
}

func golden(t *testing.T, name string, got image.Image) {
	t.Helper()
	path := filepath.Join("testdata", name+".png")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		writePicture(t, path, got)
		return
	}
	f, err := os.Open(path)
	require.NoError(t, err, "run the test with -update to write it")
	defer f.Close()
	want, err := png.Decode(f)
	require.NoError(t, err)
	diff, mean, most := compare(got, want)
	if mean <= goldenMean && most <= goldenMost {
		return
	}
	dir, err := os.MkdirTemp("", "figure-"+name+"-")
	require.NoError(t, err)
	writePicture(t, filepath.Join(dir, "got.png"), got)
	writePicture(t, filepath.Join(dir, "want.png"), want)
	writePicture(t, filepath.Join(dir, "diff.png"), diff)
	t.Errorf("%s differs from its golden: mean %.3f (at most %g), largest %.0f (at most %g); see %s",
		name, mean, goldenMean, most, float64(goldenMost), dir)
}

// compare returns the difference of two pictures, its mean and its largest value
// over the channels; pictures of different sizes differ wholly.
func compare(a, b image.Image) (diff image.Image, mean, most float64) {
	r := a.Bounds()
	if r != b.Bounds() {
		return image.NewGray(image.Rect(0, 0, 1, 1)), 255, 255
	}
	out := image.NewGray(r)
	sum := 0.0
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			p, q := rgb(a.At(x, y)), rgb(b.At(x, y))
			worst := 0.0
			for i := range p {
				d := math.Abs(p[i] - q[i])
				sum += d / 3
				worst = max(worst, d)
			}
			most = max(most, worst)
			out.SetGray(x, y, color.Gray{uint8(worst)})
		}
	}
	return out, sum / float64(r.Dx()*r.Dy()), most
}

func rgb(c color.Color) [3]float64 {
	r, g, b, _ := c.RGBA()
	return [3]float64{float64(r >> 8), float64(g >> 8), float64(b >> 8)}
}

func writePicture(t *testing.T, path string, img image.Image) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, EncodePNG(f, img))
	require.NoError(t, f.Close())
}

func TestSameBytesEachTime(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	var first, second bytes.Buffer
	for _, w := range []*bytes.Buffer{&first, &second} {
		img, err := Frame(hall(s.r), s.r, Options{Width: 480})
		require.NoError(t, err)
		require.NoError(t, EncodePNG(w, img))
	}
	assert.True(t, bytes.Equal(first.Bytes(), second.Bytes()))
}

// A PNG is a signature of 8 bytes and then chunks: length, type, data, checksum
// (PNG specification, third edition, 5.2 and 5.3). Only what the picture needs may
// be there: no text, time, EXIF or colour profile.
func TestPNGHoldsThePictureAlone(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	img, err := Ruler(s.r, Options{Width: 480})
	require.NoError(t, err)
	var buf bytes.Buffer
	require.NoError(t, EncodePNG(&buf, img))
	b := buf.Bytes()[8:]
	seen := map[string]bool{}
	for len(b) > 0 {
		n := binary.BigEndian.Uint32(b)
		seen[string(b[4:8])] = true
		b = b[12+n:]
	}
	assert.Equal(t, map[string]bool{"IHDR": true, "IDAT": true, "IEND": true}, seen)
	assert.Error(t, EncodePNG(&buf, nil))
}
