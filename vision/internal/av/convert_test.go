package av

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// level is the largest difference of two correct conversions, in levels of 255: both round the same real number, and
// near a half they may round to different sides.
const level = 1

// zimg converts planar samples to RGB with the zscale filter of the ffmpeg program, that is, with the zimg library,
// an independent implementation of the same standards. It returns three planes: G, B, R.
func zimg(t *testing.T, samples []byte, w, h int, format, options string) []byte {
	t.Helper()
	cmd := exec.Command("ffmpeg", "-hide_banner", "-loglevel", "error", "-f", "rawvideo", "-pix_fmt", format,
		"-s", fmt.Sprintf("%dx%d", w, h), "-i", "-", "-vf", "zscale=m=gbr:r=full:filter=bilinear:"+options+",format=gbrp",
		"-f", "rawvideo", "-")
	cmd.Stdin = bytes.NewReader(samples)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	require.Len(t, out, 3*w*h)
	return out
}

// noise returns a picture of random samples over their whole range, beyond black and white as well.
func noise(form Picture, seed uint64) *Picture {
	p := form
	r := rand.New(rand.NewPCG(seed, 2))
	for i := range p.planes() {
		_, rows := p.planeSize(i)
		n := p.rowBytes(i)
		p.Stride[i] = n
		p.Planes[i] = make([]byte, n*rows)
		for j := range p.Planes[i] {
			p.Planes[i][j] = byte(r.Uint32())
		}
		if p.Depth > 8 {
			for j := 0; j < len(p.Planes[i]); j += 2 {
				v := binary.NativeEndian.Uint16(p.Planes[i][j:]) >> (16 - p.Depth)
				binary.NativeEndian.PutUint16(p.Planes[i][j:], v)
			}
		}
	}
	return &p
}

// TestConvertAgainstZimg compares matrix, range, depth, subsampling and chroma siting with zimg. Beyond an edge zimg
// mirrors the samples and we repeat the last one, so that the outermost columns and rows are left out.
func TestConvertAgainstZimg(t *testing.T) {
	const edge = 4
	for _, c := range []struct {
		format, options string
		form            Picture
	}{
		{"yuv420p", "min=709:rin=limited:chromalin=left", Picture{Space: SpaceBT709, ShiftX: 1, ShiftY: 1, Siting: 1}},
		{"yuv420p", "min=170m:rin=limited:chromalin=left", Picture{Space: SpaceBT601, ShiftX: 1, ShiftY: 1}},
		{"yuv420p", "min=470bg:rin=full:chromalin=center", Picture{Space: SpaceBT470BG, Full: true, ShiftX: 1, ShiftY: 1, Siting: Centre}},
		{"yuv420p", "min=2020_ncl:rin=limited:chromalin=topleft", Picture{Space: SpaceBT2020, ShiftX: 1, ShiftY: 1, Siting: 3}},
		{"yuv420p", "min=709:rin=limited:chromalin=top", Picture{Space: SpaceBT709, ShiftX: 1, ShiftY: 1, Siting: 4}},
		{"yuv420p", "min=709:rin=limited:chromalin=bottomleft", Picture{Space: SpaceBT709, ShiftX: 1, ShiftY: 1, Siting: 5}},
		{"yuv420p", "min=709:rin=limited:chromalin=bottom", Picture{Space: SpaceBT709, ShiftX: 1, ShiftY: 1, Siting: 6}},
		{"yuv422p", "min=709:rin=full:chromalin=left", Picture{Space: SpaceBT709, Full: true, ShiftX: 1}},
		{"yuv444p", "min=fcc:rin=limited", Picture{Space: SpaceFCC}},
		{"yuv440p", "min=709:rin=limited", Picture{Space: SpaceBT709, ShiftY: 1}},
		{"yuv411p", "min=709:rin=limited:chromalin=left", Picture{Space: SpaceBT709, ShiftX: 2}},
		{"yuv420p10", "min=2020_ncl:rin=limited:chromalin=left", Picture{Space: SpaceBT2020, Depth: 10, ShiftX: 1, ShiftY: 1}},
		{"yuv422p10", "min=709:rin=full:chromalin=left", Picture{Space: SpaceBT709, Full: true, Depth: 10, ShiftX: 1}},
		{"yuv420p12", "min=2020_ncl:rin=limited:chromalin=left", Picture{Space: SpaceBT2020, Depth: 12, ShiftX: 1, ShiftY: 1}},
		{"yuv444p16", "min=709:rin=limited", Picture{Space: SpaceBT709, Depth: 16}},
		{"yuv420p16", "min=709:rin=full:chromalin=left", Picture{Space: SpaceBT709, Full: true, Depth: 16, ShiftX: 1, ShiftY: 1}},
	} {
		t.Run(c.format+" "+c.options, func(t *testing.T) {
			form := c.form
			form.Layout, form.Width, form.Height = YUV, 320, 64
			if form.Depth == 0 {
				form.Depth = 8
			}
			p := noise(form, 1)
			want := zimg(t, bytes.Join(p.Planes[:], nil), p.Width, p.Height, c.format, c.options)
			got := image.NewRGBA(p.Upright(1))
			p.Convert(got, 1)
			size := p.Width * p.Height
			for y := edge; y < p.Height-edge; y++ {
				for x := edge; x < p.Width-edge; x++ {
					g := got.RGBAAt(x, y)
					i := y*p.Width + x
					for _, v := range [][2]byte{{g.G, want[i]}, {g.B, want[size+i]}, {g.R, want[2*size+i]}} {
						require.InDelta(t, int(v[1]), int(v[0]), level, "pixel %d,%d: got %v", x, y, g)
					}
				}
			}
		})
	}
}

// TestGrey: luma alone gives black at its low end, white at its high end, and grey between.
func TestGrey(t *testing.T) {
	for _, c := range []struct {
		form         Picture
		black, white int
	}{
		{Picture{Depth: 8}, 16, 235},
		{Picture{Depth: 8, Full: true}, 0, 255},
		{Picture{Depth: 10}, 64, 940},
		{Picture{Depth: 16, Full: true}, 0, 65535},
	} {
		p := c.form
		p.Layout, p.Width, p.Height = Grey, 256, 1
		n := p.rowBytes(0)
		p.Planes[0], p.Stride[0] = make([]byte, n), n
		for x := range 256 {
			v := c.black + int(math.Round(float64(x*(c.white-c.black))/255))
			if p.Depth == 8 {
				p.Planes[0][x] = byte(v)
			} else {
				binary.NativeEndian.PutUint16(p.Planes[0][2*x:], uint16(v))
			}
		}
		got := image.NewRGBA(p.Upright(1))
		p.Convert(got, 1)
		for x := range 256 {
			g := got.RGBAAt(x, 0)
			assert.InDelta(t, x, int(g.R), level)
			assert.Equal(t, [3]byte{g.R, g.R, 255}, [3]byte{g.G, g.B, g.A})
		}
	}
}

// TestSamplesBeyondTheirDepth: raw clips may have samples beyond their depth. They count as the largest of that depth.
func TestSamplesBeyondTheirDepth(t *testing.T) {
	for _, depth := range []int{9, 10, 12, 14} {
		form := Picture{Layout: YUV, Width: 64, Height: 64, Depth: depth, ShiftX: 1, ShiftY: 1, Space: SpaceBT709}
		beyond, largest := noise(form, 1), noise(form, 1)
		for i := range beyond.planes() {
			for n := 0; n < len(beyond.Planes[i]); n += 2 {
				beyond.Planes[i][n], beyond.Planes[i][n+1] = 0xff, 0xff
				top := 1<<depth - 1
				largest.Planes[i][n], largest.Planes[i][n+1] = byte(top), byte(top>>8)
			}
		}
		got, want := image.NewRGBA(beyond.Upright(1)), image.NewRGBA(beyond.Upright(1))
		beyond.Convert(got, 1)
		largest.Convert(want, 1)
		assert.Equal(t, want.Pix, got.Pix, "%d bits", depth)
	}
}

// TestParts: in every orientation, a part converted alone has the bytes of the whole, and the whole is oriented as
// EXIF states. Find finds the cells whose middle pixel in the whole has a colour of the set.
func TestParts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		form := Picture{
			Layout: Layout(rapid.IntRange(0, 2).Draw(rt, "layout")),
			Width:  rapid.IntRange(1, 300).Draw(rt, "w"), Height: rapid.IntRange(1, 40).Draw(rt, "h"),
			Depth: rapid.SampledFrom([]int{8, 10, 16}).Draw(rt, "depth"),
			Space: SpaceBT709, Siting: Siting(rapid.IntRange(0, 6).Draw(rt, "siting")),
		}
		if form.Layout == YUV {
			form.ShiftX, form.ShiftY = rapid.IntRange(0, 2).Draw(rt, "sx"), rapid.IntRange(0, 2).Draw(rt, "sy")
		} else if form.Layout == RGBA {
			form.Depth = 8
		}
		p := noise(form, rapid.Uint64().Draw(rt, "seed"))
		stored := image.NewRGBA(p.Upright(1))
		p.Convert(stored, 1)

		o := Orientation(rapid.IntRange(1, 8).Draw(rt, "orientation"))
		whole := image.NewRGBA(p.Upright(o))
		p.Convert(whole, o)
		for y := range whole.Rect.Dy() {
			for x := range whole.Rect.Dx() {
				sx, sy := exifStored(o, x, y, p.Width, p.Height)
				require.Equal(rt, stored.RGBAAt(sx, sy), whole.RGBAAt(x, y), "orientation %d at %d,%d", o, x, y)
			}
		}

		x, y := rapid.IntRange(-5, 300).Draw(rt, "x"), rapid.IntRange(-5, 300).Draw(rt, "y")
		part := image.NewRGBA(image.Rect(x, y, x+rapid.IntRange(0, 60).Draw(rt, "pw"), y+rapid.IntRange(0, 60).Draw(rt, "ph")))
		p.Convert(part, o)
		for y := part.Rect.Min.Y; y < part.Rect.Max.Y; y++ {
			for x := part.Rect.Min.X; x < part.Rect.Max.X; x++ {
				require.Equal(rt, whole.RGBAAt(x, y), part.RGBAAt(x, y), "part at %d,%d", x, y) // zero outside, both
			}
		}

		var set ColourSet
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "colours"), 1))
		for i := range set {
			set[i] = r.Uint64() & r.Uint64()
		}
		step := rapid.SampledFrom([]int{1, 2, 3, 7, 270}).Draw(rt, "step")
		want := []Sample{{-1, -1, 0}} // what is there already
		for y := range whole.Rect.Dy() / step {
			for x := range whole.Rect.Dx() / step {
				c := whole.RGBAAt(x*step+step/2, y*step+step/2)
				if n := ColourNumber(c.R, c.G, c.B); set[n/64]>>(n%64)&1 != 0 {
					want = append(want, Sample{int32(x), int32(y), n})
				}
			}
		}
		require.Equal(rt, want, p.Find(step, &set, o, want[:1:1]))
	})
}

// exifStored returns the stored pixel that is seen at (x, y), from the table of CIPA DC-008 4.6.4 A, which states
// where the stored 0th row and 0th column are seen.
func exifStored(o Orientation, x, y, w, h int) (sx, sy int) {
	switch o {
	case 2: // row at the top, column at the right
		return w - 1 - x, y
	case 3: // bottom, right
		return w - 1 - x, h - 1 - y
	case 4: // bottom, left
		return x, h - 1 - y
	case 5: // left, top
		return y, x
	case 6: // right, top
		return y, h - 1 - x
	case 7: // right, bottom
		return w - 1 - y, h - 1 - x
	case 8: // left, bottom
		return w - 1 - y, x
	}
	return x, y
}

func BenchmarkConvert1080p(b *testing.B) {
	for _, c := range []struct {
		name  string
		depth int
		o     Orientation
	}{{"8 bit", 8, 1}, {"8 bit turned", 8, 6}, {"10 bit", 10, 1}, {"10 bit turned", 10, 6}} {
		b.Run(c.name, func(b *testing.B) {
			p := noise(Picture{Layout: YUV, Width: 1920, Height: 1080, Depth: c.depth, ShiftX: 1, ShiftY: 1}, 1)
			dst := image.NewRGBA(p.Upright(c.o))
			for b.Loop() {
				p.Convert(dst, c.o)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(1920*1080), "ns/pixel")
		})
	}
}
