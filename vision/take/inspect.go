package take

import (
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"
)

// kind is how a file is opened.
type kind int

const (
	clipKind kind = iota
	jpegKind
	pngKind
	webpKind
	heicKind
)

func (k kind) String() string {
	return [...]string{"clip", "jpeg", "png", "webp", "heic"}[k]
}

// inspect checks the file and returns its kind, by its first bytes, and its size in bytes. A file that is not a
// known kind of still counts as a clip.
func inspect(path string) (kind, int64, error) {
	st, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return 0, 0, newError("check the name and the folder it is in", "there is no file %q", path)
	case err != nil:
		return 0, 0, newError("check the name and the right to read it", "%q cannot be opened", path).withCause(err)
	case st.IsDir():
		return 0, 0, newError("give one file in it: "+formatsHint, "%q is a folder", path)
	case !st.Mode().IsRegular():
		return 0, 0, newError(formatsHint, "%q is not an ordinary file", path)
	case st.Size() == 0:
		return 0, 0, newError("copy it from the camera again", "%q is empty", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return 0, 0, newError("check the right to read it", "%q cannot be opened", path).withCause(err)
	}
	defer f.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return 0, 0, newError("check the disk or card it is on", "%q cannot be read", path).withCause(err)
	}
	k, ok := sniff(head[:n])
	if !ok {
		return 0, 0, newError("convert it to JPEG or PNG; "+formatsHint, "%q is a picture in a form that is not read here", path)
	}
	if k != clipKind && st.Size() > maxStill {
		return 0, 0, newError("make it smaller", "%q is too large for a still: %d MB", path, st.Size()>>20)
	}
	return k, st.Size(), nil
}

// sniff recognises a still by its first bytes. It reports false for kinds of pictures that are recognised
// but not supported.
func sniff(head []byte) (kind, bool) {
	starts := func(s string) bool { return len(head) >= len(s) && string(head[:len(s)]) == s }
	switch {
	case starts("\xff\xd8\xff"):
		return jpegKind, true
	case starts("\x89PNG\r\n\x1a\n"):
		return pngKind, true
	case starts("RIFF") && len(head) >= 12 && string(head[8:12]) == "WEBP":
		return webpKind, true
	case starts("GIF8"), starts("BM"), starts("II*\x00"), starts("MM\x00*"), starts("%PDF"):
		return 0, false
	case len(head) >= 16 && string(head[4:8]) == "ftyp":
		return sniffBrands(head)
	}
	return clipKind, true
}

// sniffBrands distinguishes HEIF pictures (ISO/IEC 23008-12 annex B) from clips.
func sniffBrands(head []byte) (kind, bool) {
	n := min(int(binary.BigEndian.Uint32(head)), len(head))
	var brands []string
	for i := 8; i+4 <= n; i += 4 {
		if i != 12 { // the minor version
			brands = append(brands, string(head[i:i+4]))
		}
	}
	if len(brands) == 0 {
		return clipKind, true
	}
	has := func(names ...string) bool {
		return slices.ContainsFunc(names, func(s string) bool { return slices.Contains(brands, s) })
	}
	switch brands[0] {
	case "heic", "heix", "heim", "heis":
		return heicKind, true
	case "mif1", "msf1", "miaf":
		return heicKind, has("heic", "heix", "heim", "heis") || !has("avif", "avis")
	case "avif", "avis":
		return 0, false
	}
	return clipKind, true
}
