package take

import (
	"bytes"
	"encoding/binary"
	"image"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/gen2brain/heic"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/internal/av"
)

// heicOptions lists what a HEIC file made for a test contains besides its picture.
type heicOptions struct {
	turn   int    // irot: quarter turns anticlockwise
	mirror int    // imir: 1 left and right exchanged, 2 top and bottom, 0 none
	exif   []byte // TIFF structure, nil none
	limits bool   // narrow range and BT.709, stated in an nclx box
}

func box(kind string, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(8+len(body))), kind...), body...)
}

func fullBox(kind string, version byte, flags int, parts ...[]byte) []byte {
	return box(kind, append([][]byte{{version, 0, byte(flags >> 8), byte(flags)}}, parts...)...)
}

func be(size int, v int) []byte {
	return binary.BigEndian.AppendUint64(nil, uint64(v))[8-size:]
}

// heicFile makes a HEIC file (ISO/IEC 23008-12) of the picture of colours, coded by the ffmpeg program with
// x265.
func heicFile(t testing.TB, o heicOptions) []byte {
	t.Helper()
	form := "scale=out_color_matrix=bt601:out_range=full,format=yuvj420p"
	if o.limits {
		form = "scale=out_color_matrix=bt709:out_range=limited,format=yuv420p"
	}
	path := filepath.Join(t.TempDir(), "a.mp4")
	args := append(append(colourInput, "-vf", form), x265("keyint=1:crf=4", "-tag:v", "hvc1")...)
	ffmpegFed(t, colours().Pix, append(args, path)...)
	mp4, err := os.ReadFile(path)
	require.NoError(t, err)
	whole := func(kind string) []byte {
		at := bytes.Index(mp4, []byte(kind)) - 4
		require.GreaterOrEqual(t, at, 0, kind)
		return mp4[at:][:binary.BigEndian.Uint32(mp4[at:])]
	}
	coded := whole("mdat")[8:]

	properties := [][]byte{whole("hvcC"), fullBox("ispe", 0, 0, be(4, clipW), be(4, clipH))}
	if o.limits {
		properties = append(properties, box("colr", []byte("nclx"), be(2, 1), be(2, 1), be(2, 1), []byte{0}))
	}
	if o.turn != 0 {
		properties = append(properties, box("irot", []byte{byte(o.turn)}))
	}
	if o.mirror != 0 {
		// ISO/IEC 23008-12:2022 6.5.12: 0 exchanges top and bottom, 1 left and right.
		properties = append(properties, box("imir", []byte{byte(2 - o.mirror)}))
	}
	used := []byte{byte(len(properties))}
	for i := range properties {
		used = append(used, byte(i+1)|0x80)
	}
	items := [][]byte{fullBox("infe", 2, 0, be(2, 1), be(2, 0), []byte("hvc1\x00"))}
	var refs []byte
	exif := o.exif
	if exif != nil {
		items = append(items, fullBox("infe", 2, 1, be(2, 2), be(2, 0), []byte("Exif\x00")))
		exif = append(be(4, 0), exif...)
		refs = fullBox("iref", 0, 0, box("cdsc", be(2, 2), be(2, 1), be(2, 1)))
	}
	ftyp := box("ftyp", []byte("heic"), be(4, 0), []byte("mif1heic"))
	meta := func(at int) []byte {
		loc := append(be(2, 1), append(be(2, 0), append(be(2, 1), append(be(4, at), be(4, len(coded))...)...)...)...)
		if exif != nil {
			loc = append(loc, append(be(2, 2), append(be(2, 0), append(be(2, 1), append(be(4, at+len(coded)), be(4, len(exif))...)...)...)...)...)
		}
		return fullBox("meta", 0, 0,
			fullBox("hdlr", 0, 0, be(4, 0), []byte("pict"), make([]byte, 13)),
			fullBox("pitm", 0, 0, be(2, 1)),
			fullBox("iloc", 0, 0, []byte{0x44, 0}, be(2, len(items)), loc),
			fullBox("iinf", 0, 0, be(2, len(items)), bytes.Join(items, nil)),
			refs,
			box("iprp", box("ipco", properties...), fullBox("ipma", 0, 0, be(4, 1), be(2, 1), used)))
	}
	head := append(bytes.Clone(ftyp), meta(len(ftyp)+len(meta(0))+8)...)
	return append(head, box("mdat", coded, exif)...)
}

const gridTile = 512

// heicGrid makes a HEIC file of w by h pixels as phones do: tiles of 512 by 512, all with the same coded
// picture, and a grid that puts them together. more are further properties of the grid.
func heicGrid(t testing.TB, w, h int, more ...[]byte) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "tile.mp4")
	ffmpegFed(t, nil, append(append([]string{"-f", "lavfi", "-i", "testsrc2=s=512x512:r=1", "-frames:v", "1", "-pix_fmt", "yuvj420p"}, x265("keyint=1", "-tag:v", "hvc1")...), path)...)
	mp4, err := os.ReadFile(path)
	require.NoError(t, err)
	whole := func(kind string) []byte {
		at := bytes.Index(mp4, []byte(kind)) - 4
		require.GreaterOrEqual(t, at, 0, kind)
		return mp4[at:][:binary.BigEndian.Uint32(mp4[at:])]
	}
	coded := whole("mdat")[8:]
	columns, rows := (w+gridTile-1)/gridTile, (h+gridTile-1)/gridTile
	n := columns * rows
	grid := append([]byte{0, 0, byte(rows - 1), byte(columns - 1)}, append(be(2, w), be(2, h)...)...)
	properties := append([][]byte{whole("hvcC"), fullBox("ispe", 0, 0, be(4, gridTile), be(4, gridTile)), fullBox("ispe", 0, 0, be(4, w), be(4, h))}, more...)
	var items, numbers, used []byte
	for i := 1; i <= n; i++ {
		items = append(items, fullBox("infe", 2, 1, be(2, i), be(2, 0), []byte("hvc1\x00"))...)
		numbers = append(numbers, be(2, i)...)
		used = append(used, append(be(2, i), 2, 0x81, 0x82)...)
	}
	items = append(items, fullBox("infe", 2, 0, be(2, n+1), be(2, 0), []byte("grid\x00"))...)
	used = append(used, append(be(2, n+1), byte(1+len(more)))...)
	for i := range 1 + len(more) {
		used = append(used, byte(3+i)|0x80)
	}
	ftyp := box("ftyp", []byte("heic"), be(4, 0), []byte("mif1heic"))
	meta := func(at int) []byte {
		var places []byte
		for i := 1; i <= n; i++ {
			places = append(places, bytes.Join([][]byte{be(2, i), be(2, 0), be(2, 1), be(4, at), be(4, len(coded))}, nil)...)
		}
		places = append(places, bytes.Join([][]byte{be(2, n+1), be(2, 0), be(2, 1), be(4, at+len(coded)), be(4, len(grid))}, nil)...)
		return fullBox("meta", 0, 0,
			fullBox("hdlr", 0, 0, be(4, 0), []byte("pict"), make([]byte, 13)),
			fullBox("pitm", 0, 0, be(2, n+1)),
			fullBox("iloc", 0, 0, []byte{0x44, 0}, be(2, n+1), places),
			fullBox("iinf", 0, 0, be(2, n+1), items),
			fullBox("iref", 0, 0, box("dimg", be(2, n+1), be(2, n), numbers)),
			box("iprp", box("ipco", properties...), fullBox("ipma", 0, 0, be(4, n+1), used)))
	}
	head := append(bytes.Clone(ftyp), meta(len(ftyp)+len(meta(0))+8)...)
	return append(head, box("mdat", coded, grid)...)
}

// TestHEICGrid: a still of tiles looks as another decoder shows it, also if it is turned and mirrored.
func TestHEICGrid(t *testing.T) {
	for name, more := range map[string][][]byte{
		"as it is":              nil,
		"turned":                {box("irot", []byte{1})},
		"mirrored, then turned": {box("imir", []byte{1}), box("irot", []byte{3})},
		"turned, then mirrored": {box("irot", []byte{3}), box("imir", []byte{0})},
	} {
		t.Run(name, func(t *testing.T) {
			data := heicGrid(t, 1290, 700, more...)
			p, h, err := decodeStill("a.heic", heicKind, io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data))))
			require.NoError(t, err)
			require.NotNil(t, h.heic, "decoded tile by tile")
			img, err := heic.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			other := picture(img, h.form).Copy()
			upright := func(p *av.Picture, o av.Orientation) *image.RGBA {
				out := image.NewRGBA(p.Upright(o))
				p.Convert(out, o)
				return out
			}
			got, want := upright(p, h.heic.orientation), upright(other, 1)
			require.Equal(t, want.Rect, got.Rect)
			sum := 0
			for i := range want.Pix {
				sum += max(int(want.Pix[i])-int(got.Pix[i]), int(got.Pix[i])-int(want.Pix[i]))
			}
			// The other decoder assembles tiles in RGB. A wrong orientation differs by 60 levels or more.
			assert.Less(t, float64(sum)/float64(len(want.Pix)), 2.0)
			for y := range 700 { // every tile is the first one
				for _, x := range []int{0, 100, 255, 265} {
					require.Equal(t, p.Planes[0][y%gridTile*p.Stride[0]+x], p.Planes[0][y*p.Stride[0]+2*gridTile+x])
				}
			}
		})
	}
}

// TestMemoryOfHEIC: a phone's still of 48 million pixels is read.
func TestMemoryOfHEIC(t *testing.T) {
	said, peak := peakOf(t, write(t, "large.heic", heicGrid(t, 8064, 6048)))
	t.Logf("%d MB: %s", peak/1_000_000, said)
	assert.Equal(t, "read: heic", said)
	assert.Less(t, peak, int64(stillMemory))
}

// TestDamagedHEICGrid: a still with a damaged or missing tile is refused.
func TestDamagedHEICGrid(t *testing.T) {
	data := heicGrid(t, 1290, 700)
	at := bytes.Index(data, []byte("mdat"))
	for i := range 600 {
		data[at+5000+i] ^= byte(37 * i)
	}
	_, err := Open(t.Context(), write(t, "damaged.heic", data))
	requireWords(t, err, "damaged.heic")
	_, err = Open(t.Context(), write(t, "cut.heic", heicGrid(t, 1290, 700)[:at+4000]))
	requireWords(t, err, "cut.heic")
}

// TestOneDamagedTile: a still with one altered tile is refused, also if FFmpeg decodes that tile without an error, as
// it does in about half of such cases.
func TestOneDamagedTile(t *testing.T) {
	sound := heicGrid(t, 1290, 700)
	start := bytes.Index(sound, []byte("mdat")) + 4
	entry := bytes.Index(sound, append(be(2, 1), append(be(2, 0), append(be(2, 1), be(4, start)...)...)...))
	require.Positive(t, entry, "the place of the first tile")
	size := int(binary.BigEndian.Uint32(sound[entry+10:]))
	picture, err := readHEICPicture(readHEICItems(sound), bytes.NewReader(sound))
	require.NoError(t, err)
	tile := func(data []byte) []byte {
		d, err := av.OpenCoded(picture.config, 1<<20)
		require.NoError(t, err)
		defer d.Close()
		p, err := d.Decode(data)
		if err != nil {
			return nil
		}
		defer p.Release()
		return bytes.Clone(p.Planes[0])
	}
	want := tile(sound[start:][:size])
	require.NotNil(t, want)
	r := rand.New(rand.NewPCG(1, 1))
	silent := 0
	for range 40 {
		coded := bytes.Clone(sound[start:][:size])
		at := len(coded)/4 + r.IntN(len(coded)/2)
		for i := range 8 {
			coded[at+i] ^= byte(1 + r.IntN(255))
		}
		got := tile(coded)
		if got == nil || bytes.Equal(got, want) {
			continue
		}
		silent++
		data := bytes.Clone(sound)
		copy(data[entry+6:], be(4, len(data)+8))
		_, err := Open(t.Context(), write(t, "one.heic", append(data, box("mdat", coded)...)))
		requireWords(t, err, "one.heic")
	}
	assert.Greater(t, silent, 5, "altered tiles that FFmpeg decodes without an error")
}

// FuzzHEICItems: no tables of a HEIC file crash the parser, the tiles of a picture that it finds cover the
// picture exactly once, and decoding a small one gives a picture of the stated size or an error.
func FuzzHEICItems(f *testing.F) {
	var files [2][]byte // valid files with their meta box renamed to "free"; the fuzzed one is appended
	for i, data := range [][]byte{
		heicFile(f, heicOptions{turn: 1, mirror: 2, exif: exifBytes(8), limits: true}),
		heicGrid(f, 1290, 700, box("imir", []byte{1}), box("irot", []byte{3})),
	} {
		whole := io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data)))
		p, err := readHEICPicture(readHEICItems(data), whole)
		require.NoError(f, err)
		require.Len(f, p.tiles, []int{1, 6}[i])
		at := bytes.Index(data, []byte("meta"))
		f.Add(i == 1, bytes.Clone(data[at-4:bytes.Index(data, []byte("mdat"))-4]))
		copy(data[at:], "free")
		files[i] = data
	}
	f.Fuzz(func(t *testing.T, grid bool, meta []byte) {
		data := files[0]
		if grid {
			data = files[1]
		}
		data = append(bytes.Clone(data), meta...)
		file := io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data)))
		p, err := readHEICPicture(readHEICItems(data), file)
		if err != nil {
			return
		}
		require.Len(t, p.tiles, p.columns*p.rows)
		assert.Contains(t, []int{1, 2, 3, 4, 5, 6, 7, 8}, int(p.orientation))
		for _, side := range [][3]int{{p.width, p.tileWide, p.columns}, {p.height, p.tileHigh, p.rows}} {
			assert.Positive(t, side[0])
			assert.Equal(t, side[2], (side[0]+side[1]-1)/side[1], "%v", side)
		}
		for _, places := range p.tiles {
			require.NotEmpty(t, places)
		}
		assert.Positive(t, p.memory())
		const small = 1 << 17 // px
		if p.tileWide*p.tileHigh*len(p.tiles) > small {
			return
		}
		got, err := p.decode(file, file.Size())
		if err != nil {
			return
		}
		defer got.Release()
		assert.Equal(t, [2]int{p.width, p.height}, [2]int{got.Width, got.Height})
	})
}
