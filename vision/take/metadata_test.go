package take

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"testing"

	"github.com/stretchr/testify/require"
)

// exifBytes returns a TIFF structure (CIPA DC-008) with a camera, a time of recording, a focal length, a
// place, and the given orientation.
func exifBytes(orientation int) []byte {
	const (
		ascii, short, long, rational = 2, 3, 4, 5
		inline                       = 4
	)
	type entry struct {
		tag, kind uint16
		count     uint32
		value     []byte
	}
	u16 := func(v int) []byte { return binary.LittleEndian.AppendUint16(nil, uint16(v)) }
	u32 := func(v int) []byte { return binary.LittleEndian.AppendUint32(nil, uint32(v)) }
	str := func(tag uint16, s string) entry { return entry{tag, ascii, uint32(len(s) + 1), []byte(s + "\x00")} }
	// ifd writes entries for offset at; values longer than four bytes follow the entries.
	ifd := func(at int, entries []entry) []byte {
		out := u16(len(entries))
		extra := []byte{}
		behind := at + 2 + 12*len(entries) + 4
		for _, e := range entries {
			out = append(append(append(out, u16(int(e.tag))...), u16(int(e.kind))...), u32(int(e.count))...)
			v := e.value
			if len(v) > inline {
				v = u32(behind + len(extra))
				extra = append(extra, e.value...)
			}
			out = append(out, append(v, make([]byte, inline-len(v))...)...)
		}
		return append(append(out, 0, 0, 0, 0), extra...)
	}
	camera := []entry{str(0x9003, "2026:03:01 10:20:30"), str(0x9011, "+01:00"), {0xa405, short, 1, u16(26)}}
	degrees := append(append(append(append(append(u32(12), u32(1)...), u32(34)...), u32(1)...), u32(56)...), u32(1)...)
	place := []entry{str(1, "N"), {2, rational, 3, degrees}}
	main := func(exif, gps int) []byte {
		return ifd(8, []entry{str(0x10f, "Plover"), str(0x110, "P1"), {0x112, short, 1, u16(orientation)},
			{0x8769, long, 1, u32(exif)}, {0x8825, long, 1, u32(gps)}})
	}
	exifAt := 8 + len(main(0, 0))
	gpsAt := exifAt + len(ifd(exifAt, camera))
	out := append([]byte("II*\x00"), u32(8)...)
	out = append(out, main(exifAt, gpsAt)...)
	out = append(out, ifd(exifAt, camera)...)
	return append(out, ifd(gpsAt, place)...)
}

func withJPEGExif(t testing.TB, data, tiff []byte) []byte {
	require.Equal(t, []byte{0xff, 0xd8}, data[:2])
	body := append([]byte("Exif\x00\x00"), tiff...)
	app1 := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2))
	return bytes.Join([][]byte{data[:2], app1, body, data[2:]}, nil)
}

func withPNGExif(t testing.TB, data, tiff []byte) []byte {
	const afterIHDR = 33
	require.Equal(t, "IHDR", string(data[12:16]))
	chunk := append([]byte("eXIf"), tiff...)
	out := binary.BigEndian.AppendUint32(bytes.Clone(data[:afterIHDR]), uint32(len(tiff)))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, data[afterIHDR:]...)
}

// withWebPExif makes an extended WebP file with EXIF of a simple one (RFC 9649 2.7).
func withWebPExif(t testing.TB, data, tiff []byte, w, h int) []byte {
	require.Equal(t, "VP8", string(data[12:15]))
	if len(tiff)%2 == 1 {
		tiff = append(bytes.Clone(tiff), 0)
	}
	u24 := func(v int) []byte { return []byte{byte(v), byte(v >> 8), byte(v >> 16)} }
	const exifFlag = 1 << 3
	vp8x := append([]byte("VP8X\x0a\x00\x00\x00"), exifFlag, 0, 0, 0)
	vp8x = append(append(vp8x, u24(w-1)...), u24(h-1)...)
	exif := append(binary.LittleEndian.AppendUint32([]byte("EXIF"), uint32(len(tiff))), tiff...)
	body := bytes.Join([][]byte{[]byte("WEBP"), vp8x, data[12:], exif}, nil)
	return append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}
