package session

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"ecart/cmd/internal/output"
)

const (
	utf8Mark  = "\xef\xbb\xbf"
	utf16LE   = "\xff\xfe"
	utf16BE   = "\xfe\xff"
	asUTF8    = "save it as CSV in UTF-8, which every spreadsheet offers"
	noWindows = "\x81\x8d\x8f\x90\x9d" // bytes that are no character in Windows-1252
)

// decode is the list as text, from UTF-8 with or without a byte order mark, UTF-16, or
// Windows-1252. The last is a guess, since the bytes could be of another encoding: note
// then names a word by which a reader can check it.
func decode(name string, data []byte) (text, note string, err error) {
	switch {
	case len(data) == 0:
		return "", "", newError("write a row of heads, such as athlete,take,marks,skill, and a row for each take", "the list %q is empty", name)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "", "", newError("open it in the spreadsheet and "+asUTF8, "the list %q is a spreadsheet's own file and no CSV", name)
	case bytes.HasPrefix(data, []byte(utf16LE)):
		text, err = fromUTF16(name, data[2:], binary.LittleEndian)
	case bytes.HasPrefix(data, []byte(utf16BE)):
		text, err = fromUTF16(name, data[2:], binary.BigEndian)
	case len(data) > 1 && data[0] != 0 && data[1] == 0:
		text, err = fromUTF16(name, data, binary.LittleEndian)
	case len(data) > 1 && data[0] == 0 && data[1] != 0:
		text, err = fromUTF16(name, data, binary.BigEndian)
	case utf8.Valid(data):
		text = strings.TrimPrefix(string(data), utf8Mark)
	default:
		text, note, err = fromWindows(name, data)
	}
	if err != nil {
		return "", "", err
	}
	if at := strings.IndexFunc(text, func(r rune) bool { return r < ' ' && !strings.ContainsRune("\t\r\n", r) }); at >= 0 {
		return "", "", newError(asUTF8, "the list %q is no text: there is a %U in line %d", name, text[at], 1+strings.Count(text[:at], "\n"))
	}
	if !strings.Contains(text, "\n") { // line ends of old spreadsheets for the Mac
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	return text, note, nil
}

func fromUTF16(name string, data []byte, order binary.ByteOrder) (string, error) {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	text := string(utf16.Decode(units))
	if len(data)%2 != 0 || strings.ContainsRune(text, utf8.RuneError) {
		return "", newError(asUTF8, "the list %q begins as UTF-16 and is not: it may have been cut off", name)
	}
	return text, nil
}

func fromWindows(name string, data []byte) (text, note string, err error) {
	if at := bytes.IndexByte(data, 0); at >= 0 {
		return "", "", newError(asUTF8, "the list %q is no text: there is a %U in line %d", name, 0, 1+bytes.Count(data[:at], []byte("\n")))
	}
	for i, b := range data {
		if strings.IndexByte(noWindows, b) >= 0 {
			return "", "", newError(asUTF8, "the list %q is in an encoding that is not known: byte %#02x in line %d is neither UTF-8 nor Windows-1252", name, b, 1+bytes.Count(data[:i], []byte("\n")))
		}
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return "", "", newError(asUTF8, "the list %q cannot be read as Windows-1252: %v", name, err)
	}
	words := strings.FieldsFunc(string(out), func(r rune) bool { return strings.ContainsRune(",;\t\r\n\"", r) })
	for _, w := range words {
		if strings.ContainsFunc(w, func(r rune) bool { return r >= utf8.RuneSelf }) {
			note = fmt.Sprintf("the list is not in UTF-8 and is read as Windows-1252: see whether %q is written right", w)
			break
		}
	}
	return string(out), note, nil
}

// Table reads a table saved by a spreadsheet: in UTF-8, UTF-16 or Windows-1252, with
// commas, semicolons or tabs, whichever finds the most of the heads. The first row holds
// the heads. Row i after it is line i + 1 of the file, and is empty if the line is. note
// names the encoding if it was guessed. name is the file's name in errors, which are
// of type *fault.Error.
func Table(name string, data []byte, heads ...string) (rows [][]string, note string, err error) {
	text, note, err := decode(name, data)
	if err != nil {
		return nil, "", err
	}
	comma, text := delimiter(text, heads)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, note, nil
		}
		if err != nil {
			return nil, "", badQuote(name, err)
		}
		if rows == nil && blank(cells) {
			continue
		}
		for line, _ := r.FieldPos(0); rows != nil && len(rows) < line-1; {
			rows = append(rows, nil)
		}
		for i := range cells {
			cells[i] = output.Uncell(cells[i])
		}
		rows = append(rows, cells)
	}
}
