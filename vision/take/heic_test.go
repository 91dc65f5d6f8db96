package take

import (
	"bytes"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// heicOptions say what a HEIC file made for a test contains beside its picture.
type heicOptions struct {
	turn   int    // irot: quarter turns anticlockwise
	mirror int    // imir: 1 left and right exchanged, 2 top and bottom, 0 none
	exif   []byte // TIFF structure, nil none
	limits bool   // narrow range and BT.709, said by an nclx box
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

// heicFile makes a HEIC file as ISO/IEC 23008-12 lays it out, around the picture of colours that the
// ffmpeg program has coded with x265.
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
