package cli

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"image"
	"image/jpeg"
	"os"
	"strings"
	"syscall"

	"github.com/rogpeppe/go-internal/testscript"
)

// datedPicture writes a grey JPEG with the time at which it was made in EXIF:
// dated FILE W H '2026:03:21 18:30:00'
func datedPicture(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 4 || len(args[3]) != len("2026:03:21 18:30:00") {
		ts.Fatalf("usage: dated FILE W H 'YYYY:MM:DD hh:mm:ss'")
	}
	var b bytes.Buffer
	ts.Check(jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, number(ts, args[1]), number(ts, args[2]))), nil))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), withDate(b.Bytes(), args[3]), 0o666))
}

// withDate puts an EXIF segment with a date behind a JPEG's first marker: APP1,
// "Exif", a little-endian TIFF header, a directory with the pointer 0x8769 to a
// second one, and in that the date 0x9003 (DateTimeOriginal), as Exif 2.32 has them.
func withDate(jpg []byte, date string) []byte {
	const head, directory = 8, 2 + 12 + 4 // bytes; a directory of one entry
	entry := func(b []byte, tag, kind uint16, count, value int) []byte {
		b = binary.LittleEndian.AppendUint16(b, 1)
		b = binary.LittleEndian.AppendUint16(b, tag)
		b = binary.LittleEndian.AppendUint16(b, kind)
		b = binary.LittleEndian.AppendUint32(b, uint32(count))
		b = binary.LittleEndian.AppendUint32(b, uint32(value))
		return append(b, 0, 0, 0, 0) // no further directory
	}
	tiff := []byte("II*\x00\x08\x00\x00\x00")
	tiff = entry(tiff, 0x8769, 4, 1, head+directory)             // LONG
	tiff = entry(tiff, 0x9003, 2, len(date)+1, head+2*directory) // ASCII
	tiff = append(append([]byte("Exif\x00\x00"), tiff...), date+"\x00"...)
	out := append([]byte{}, jpg[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(tiff)+2))
	return append(append(out, tiff...), jpg[2:]...)
}

// partOf writes one key of the JSON in FILE to OUT, as JSON is printed here:
// part FILE KEY OUT
func partOf(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: part FILE KEY OUT")
	}
	var all map[string]json.RawMessage
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &all))
	var b bytes.Buffer
	ts.Check(json.Indent(&b, all[args[1]], "", "  "))
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), append(bytes.TrimSpace(b.Bytes()), '\n'), 0o666))
}

// endsWith checks that FILE ends with the bytes of OTHER: ends-with FILE OTHER
func endsWith(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: ends-with FILE OTHER")
	}
	if got, want := ts.ReadFile(args[0]), ts.ReadFile(args[1]); want == "" || !strings.HasSuffix(got, want) {
		ts.Fatalf("%s does not end as %s is:\n%s", args[0], args[1], got)
	}
}

// overwrite puts bytes into FILE at a place in it: overwrite FILE OFFSET HEX
func overwrite(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: overwrite FILE OFFSET HEX")
	}
	data, err := hex.DecodeString(args[2])
	ts.Check(err)
	f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteAt(data, int64(number(ts, args[1])))
	ts.Check(err)
	ts.Check(f.Close())
}

// asNobody makes the program run as a user without rights if it would run as root.
const asNobody = "ECART_TEST_UNPRIVILEGED"

func unprivileged() {
	const nobody = 65534
	if os.Getenv(asNobody) != "" && os.Getuid() == 0 {
		if err := syscall.Setuid(nobody); err != nil {
			panic(err)
		}
	}
}
