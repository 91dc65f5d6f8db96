package cli

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/scene"
)

// demoTake writes the built-in clip and its marks: demo-take CLIP MARKS
func demoTake(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: demo-take CLIP MARKS")
	}
	clip, marks := demotake.Files()
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), clip, 0o666))
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), marks, 0o666))
}

// joinedFile writes a clip of parts of the built-in leap, one after the other: joined CLIP hall|leap|back|begin|stand...
func joinedFile(ts *testscript.TestScript, _ bool, args []string) {
	known := map[string]scene.Part{"hall": scene.EmptyHall, "leap": scene.WholeLeap, "back": scene.LeapBack, "begin": scene.LeapBegin, "stand": scene.Standing}
	if len(args) < 2 {
		ts.Fatalf("usage: joined CLIP PART...")
	}
	var parts []scene.Part
	for _, name := range args[1:] {
		p, ok := known[name]
		if !ok {
			ts.Fatalf("joined: no part %q", name)
		}
		parts = append(parts, p)
	}
	clip, _ := demotake.Files()
	ts.Check(scene.Join(context.Background(), clip, ts.MkAbs(args[0]), parts...))
}

// pictureFile writes a grey picture that is W by H once upright, stored under
// an EXIF orientation: picture FILE W H [ORIENTATION]
func pictureFile(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 && len(args) != 4 {
		ts.Fatalf("usage: picture FILE W H [ORIENTATION]")
	}
	w, h := number(ts, args[1]), number(ts, args[2])
	file := ts.MkAbs(args[0])
	orientation := 1
	if len(args) == 4 {
		orientation = number(ts, args[3])
	}
	if orientation > 4 { // stored on its side
		w, h = h, w
	}
	img := image.NewGray(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = 0x80
	}
	var b bytes.Buffer
	switch filepath.Ext(file) {
	case ".png":
		ts.Check(png.Encode(&b, img))
	case ".jpg":
		ts.Check(jpeg.Encode(&b, img, nil))
		b = *bytes.NewBuffer(oriented(b.Bytes(), orientation))
	case ".webp":
		still := file + ".png"
		ts.Check(png.Encode(&b, img))
		ts.Check(os.WriteFile(still, b.Bytes(), 0o666))
		out, err := exec.Command("ffmpeg", "-v", "error", "-y", "-i", still, file).CombinedOutput()
		if err != nil {
			ts.Fatalf("ffmpeg: %v: %s", err, out)
		}
		ts.Check(os.Remove(still))
		return
	default:
		ts.Fatalf("picture writes .png, .jpg and .webp")
	}
	ts.Check(os.WriteFile(file, b.Bytes(), 0o666))
}

// oriented puts an EXIF segment with an orientation behind a JPEG's first
// marker: APP1, "Exif", a little-endian TIFF header, and one directory of one
// entry (tag 0x0112, SHORT), as Exif 2.32 has it.
func oriented(jpg []byte, orientation int) []byte {
	tiff := []byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00")
	tiff = append(tiff, byte(orientation), 0, 0, 0, 0, 0, 0, 0)
	out := append([]byte{}, jpg[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(tiff)+2))
	return append(append(out, tiff...), jpg[2:]...)
}

// declarePNG writes a PNG whose header declares a size, with nothing behind
// it: declare-png FILE W H
func declarePNG(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: declare-png FILE W H")
	}
	head := []byte("IHDR")
	head = binary.BigEndian.AppendUint32(head, uint32(number(ts, args[1])))
	head = binary.BigEndian.AppendUint32(head, uint32(number(ts, args[2])))
	head = append(head, 8, 2, 0, 0, 0) // 8 bits, RGB
	out := []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d")
	out = append(out, head...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(head))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), out, 0o666))
}

// cutFile copies the first part of a file: cut FILE PERCENT OUT
func cutFile(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: cut FILE PERCENT OUT")
	}
	data := ts.ReadFile(args[0])
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(data[:len(data)*number(ts, args[1])/100]), 0o666))
}

// sha256File looks for the SHA-256 of FILE in the last output: sha256 FILE
func sha256File(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: sha256 FILE")
	}
	sum := sha256.Sum256([]byte(ts.ReadFile(args[0])))
	if hash := hex.EncodeToString(sum[:]); !strings.Contains(ts.ReadFile("stdout"), hash) {
		ts.Fatalf("the output does not have %s, the SHA-256 of %s", hash, args[0])
	}
}

// isPNGFile checks that FILE is a PNG that decodes, with more than one colour, at least W
// wide, and without text or EXIF in it: is-png FILE W
func isPNGFile(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: is-png FILE W")
	}
	data := []byte(ts.ReadFile(args[0]))
	img, err := png.Decode(bytes.NewReader(data))
	ts.Check(err)
	if w := number(ts, args[1]); img.Bounds().Dx() < w {
		ts.Fatalf("%s is %d pixels wide and not %d", args[0], img.Bounds().Dx(), w)
	}
	seen := map[color.Color]bool{}
	for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y += 3 {
		for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x += 3 {
			seen[img.At(x, y)] = true
		}
	}
	if len(seen) < 16 {
		ts.Fatalf("%s has only %d colours", args[0], len(seen))
	}
	for _, chunk := range []string{"tEXt", "zTXt", "iTXt", "eXIf", "tIME"} {
		if bytes.Contains(data, []byte(chunk)) {
			ts.Fatalf("%s has a %s chunk", args[0], chunk)
		}
	}
}

func number(ts *testscript.TestScript, s string) int {
	n, err := strconv.Atoi(s)
	ts.Check(err)
	return n
}
