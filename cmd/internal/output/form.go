package output

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"
)

// Form is the kind of content of an output. écart recognises its own files:
//
//	PNG             a private chunk with the form's name
//	SVG, HTML, PDF  a comment at the end
//	MP4             a box "free" at the end
//	table           the beginning of its first line
//	JSON            its schema
type Form struct {
	name   string // in messages and in the mark
	redone bool   // a file with écart's mark is replaced without --force
	head   string // beginning of the first line of a table
	schema string // of a JSON file
}

// Forms that écart can draw again.
var (
	Figure = Form{name: "figure", redone: true}
	Page   = Form{name: "page", redone: true}
	Clip   = Form{name: "clip", redone: true}
)

// Recording is a clip like that of a camera, without a mark.
var Recording = Form{name: "recording"}

// Table is a CSV that écart can make again; its first line begins with head, which
// may begin with a byte-order mark.
func Table(head string) Form { return Form{name: "table", redone: true, head: head} }

// Sheet is a CSV that people fill in.
func Sheet() Form { return Form{name: "list"} }

// JSON is a file with the given schema. It may be the only copy of its data.
func JSON(schema string) Form { return Form{name: "file", schema: schema} }

func (f Form) mark() string { return "ecart " + f.name }

// kind is the kind of a file by its first bytes, for a JSON file with its schema.
type kind struct{ name, schema string }

var (
	kindPNG   = kind{name: "PNG picture"}
	kindSVG   = kind{name: "SVG picture"}
	kindPDF   = kind{name: "PDF"}
	kindHTML  = kind{name: "page"}
	kindMP4   = kind{name: "clip"}
	kindText  = kind{name: "text"}
	kindBase  = kind{name: "journal or another database"}
	kindJSON  = "JSON file"
	kindEmpty = kind{}
	kindOther = kind{name: "file of another kind"}
)

// kindFor returns the kind of an output of this form with the name path.
func (f Form) kindFor(path string) kind {
	switch ext := strings.ToLower(filepath.Ext(path)); {
	case f.schema != "":
		return kind{kindJSON, f.schema}
	case f.name == "page":
		return kindHTML
	case f.name == "clip", f.name == "recording":
		return kindMP4
	case f.name == "figure" && ext == ".svg":
		return kindSVG
	case f.name == "figure" && ext == ".pdf":
		return kindPDF
	case f.name == "figure":
		return kindPNG
	}
	return kindText
}

// found describes an existing file.
type found struct {
	kind kind
	own  bool // écart wrote it, in this form
}

// look examines the file at path without changing it.
func (f Form) look(path string) (found, error) {
	file, err := os.Open(path)
	if err != nil {
		return found{}, err
	}
	defer file.Close()
	head := make([]byte, 4096)
	n, err := io.ReadFull(file, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return found{}, err
	}
	out := found{kind: kindOf(head[:n])}
	info, err := file.Stat()
	if err != nil {
		return found{}, err
	}
	tail := make([]byte, min(info.Size(), 64))
	if _, err := file.ReadAt(tail, info.Size()-int64(len(tail))); err != nil && !errors.Is(err, io.EOF) {
		return found{}, err
	}
	switch out.kind {
	case kindPNG:
		out.own = bytes.Contains(head[:n], f.pngChunk())
	case kindSVG, kindHTML, kindPDF, kindMP4:
		out.own = bytes.HasSuffix(tail, f.trailer(out.kind))
	case kindText:
		out.own = f.head != "" && bytes.HasPrefix(head[:n], []byte(f.head))
	}
	if out.kind.name == kindJSON {
		out.kind.schema = schemaOf(file)
	}
	return out, nil
}

// kindOf returns the kind by the first bytes, without a schema.
func kindOf(head []byte) kind {
	text := strings.ToLower(strings.TrimSpace(strings.TrimPrefix(string(head), "\ufeff")))
	switch {
	case len(head) == 0:
		return kindEmpty
	case bytes.HasPrefix(head, []byte(pngSignature)):
		return kindPNG
	case bytes.HasPrefix(head, []byte("%PDF-")):
		return kindPDF
	case bytes.HasPrefix(head, []byte("SQLite format 3\x00")):
		return kindBase
	case len(head) >= 12 && string(head[4:8]) == "ftyp":
		return kindMP4
	case !plainText(head):
		return kindOther
	case strings.HasPrefix(text, "<svg"), strings.HasPrefix(text, "<?xml") && strings.Contains(text, "<svg"):
		return kindSVG
	case strings.HasPrefix(text, "<!doctype html"), strings.HasPrefix(text, "<html"):
		return kindHTML
	case strings.HasPrefix(text, "{"):
		return kind{name: kindJSON}
	}
	return kindText
}

// plainText reports whether b is UTF-8 text without control characters other than white
// space. b may end within a character.
func plainText(b []byte) bool {
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		if r == utf8.RuneError && n <= 1 && utf8.FullRune(b) || r < ' ' && !strings.ContainsRune("\t\n\r\f", r) {
			return false
		}
		b = b[n:]
	}
	return true
}

// schemaOf returns the value of the key "schema" of a JSON object, "" if there is none.
func schemaOf(file *os.File) string {
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return ""
	}
	d := json.NewDecoder(io.LimitReader(file, 1<<26))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return ""
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return ""
		}
		if name == "schema" {
			var s string
			if d.Decode(&s) != nil {
				return ""
			}
			return s
		}
		var skip json.RawMessage
		if d.Decode(&skip) != nil {
			return ""
		}
	}
	return ""
}

func (k kind) String() string {
	if k.schema != "" {
		return fmt.Sprintf("%s of the form %s", k.name, k.schema)
	}
	return k.name
}

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngHead is the length of a PNG's signature and its first chunk, IHDR.
const pngHead = 8 + 4 + 4 + 13 + 4

// pngChunk returns the chunk that marks a PNG of this form. It is private and not safe to
// copy, so that programs that change the picture drop it (PNG specification, third
// edition, 5.4: the case of the letters says so).
func (f Form) pngChunk() []byte {
	data := "ecRT" + f.mark()
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)-4))
	b = append(b, data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE([]byte(data)))
}

// trailer returns the mark at the end of a file of another kind; nil if that has none.
func (f Form) trailer(k kind) []byte {
	if f == Recording {
		return nil
	}
	switch k {
	case kindSVG, kindHTML:
		return []byte("<!-- " + f.mark() + " -->\n")
	case kindPDF:
		return []byte("% " + f.mark() + "\n")
	case kindMP4: // a box that players skip (ISO/IEC 14496-12, 8.1.2)
		return append(binary.BigEndian.AppendUint32(nil, uint32(8+len(f.mark()))), "free"+f.mark()...)
	}
	return nil
}

// marking is a writer that inserts a chunk after the first chunk of a PNG.
type marking struct {
	w     io.Writer
	chunk []byte
	n     int // bytes of the PNG so far
}

func (m *marking) Write(b []byte) (int, error) {
	head := max(0, min(pngHead-m.n, len(b)))
	n, err := m.w.Write(b[:head])
	m.n += n
	if err != nil || m.n < pngHead {
		return n, err
	}
	if m.chunk != nil {
		if _, err := m.w.Write(m.chunk); err != nil {
			return n, err
		}
		m.chunk = nil
	}
	rest, err := m.w.Write(b[head:])
	return n + rest, err
}
