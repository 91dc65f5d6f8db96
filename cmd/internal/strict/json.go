package strict

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
)

// Limits of a JSON file: about ten times the largest that écart writes, the key of a quiz
// of a hundred questions.
const (
	maxJSONBytes = 16 << 20
	maxValues    = 500_000
	maxDepth     = 20
)

// Options sets how far a file may differ from the struct into which it is decoded.
type Options struct {
	// Partial allows missing keys, whose fields keep their value.
	Partial bool
	// Unknown ignores keys that the struct does not have: for data kept by an earlier
	// version.
	Unknown bool
}

// JSON decodes data into what v points to. Errors are of type *Error.
func JSON(data []byte, v any, o Options) error {
	n, err := ParseJSON(data)
	if err != nil {
		return err
	}
	return n.Into(v, o)
}

// ParseJSON reads one JSON value. Errors are of type *Error.
func ParseJSON(data []byte) (*Node, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > maxJSONBytes:
		return nil, &Error{What: fmt.Sprintf("the file is too big: the limit is %d MB", maxJSONBytes>>20), Do: "check that it is the right file"}
	case len(bytes.TrimSpace(data)) == 0:
		return nil, &Error{What: "the file is empty", Do: "check that it is the right file"}
	case !utf8.Valid(data):
		return nil, &Error{What: "the file is not UTF-8 text", Do: "save it as plain text in UTF-8"}
	}
	p := &jsonParser{data: data, dec: jsontext.NewDecoder(bytes.NewReader(data)), line: 1}
	n, err := p.value(0)
	if err != nil {
		return nil, err
	}
	if _, err := p.dec.ReadToken(); !errors.Is(err, io.EOF) {
		return nil, &Error{Line: p.at(int(p.dec.InputOffset())), What: "something follows the end of the JSON", Do: "take it out: a file holds one value"}
	}
	return n, nil
}

type jsonParser struct {
	data     []byte
	dec      *jsontext.Decoder
	line, to int // line is the line number at offset to
	values   int
}

// at returns the line of a byte. Calls have to be in increasing order of offset.
func (p *jsonParser) at(offset int) int {
	if offset = min(offset, len(p.data)); offset > p.to {
		p.line += bytes.Count(p.data[p.to:offset], []byte("\n"))
		p.to = offset
	}
	return p.line
}

func (p *jsonParser) value(depth int) (*Node, error) {
	p.dec.PeekKind() // skips white space and separators before the value
	t, err := p.dec.ReadToken()
	if err != nil {
		return nil, p.broken(err)
	}
	end := int(p.dec.InputOffset())
	n := &Node{At: Place{Line: p.at(end)}}
	if p.values++; p.values > maxValues {
		return nil, &Error{Line: n.At.Line, What: fmt.Sprintf("there are more than %d values", maxValues), Do: "check that it is the right file"}
	}
	if depth > maxDepth {
		return nil, &Error{Line: n.At.Line, What: fmt.Sprintf("it is nested more than %d deep", maxDepth), Do: "check that it is the right file"}
	}
	start := end - 1
	switch t.Kind() {
	case 'n':
		start = end - 4
	case 't', 'f':
		n.Kind, n.Text = Bool, t.String()
		start = end - len(n.Text)
	case '0':
		n.Kind, n.Text = Number, t.String()
		start = end - len(n.Text)
	case '"':
		n.Kind, n.Text = Text, t.String()
		start = -1
	case '[':
		n.Kind = List
		for p.dec.PeekKind() != ']' {
			item, err := p.value(depth + 1)
			if err != nil {
				return nil, err
			}
			n.Items = append(n.Items, item)
		}
		_, err = p.dec.ReadToken()
	case '{':
		n.Kind = Table
		for p.dec.PeekKind() != '}' {
			key, err := p.dec.ReadToken()
			if err != nil {
				return nil, p.broken(err)
			}
			f := Field{Key: key.String(), At: Place{Line: p.at(int(p.dec.InputOffset()))}}
			if f.Value, err = p.value(depth + 1); err != nil {
				return nil, err
			}
			n.Fields = append(n.Fields, f)
		}
		_, err = p.dec.ReadToken()
	}
	if err != nil {
		return nil, p.broken(err)
	}
	if start >= 0 { // not for a text: its bytes are not needed
		n.raw = p.data[start:p.dec.InputOffset()]
	}
	return n, nil
}

// broken converts a syntax error of the library to an Error in our words.
func (p *jsonParser) broken(err error) error {
	out := &Error{What: "it is not JSON there", Do: "look for a comma, a quote or a bracket too many or too few there, or on the line before"}
	var s *jsontext.SyntacticError
	offset := int(p.dec.InputOffset())
	if errors.As(err, &s) {
		offset = int(s.ByteOffset)
	}
	out.Line = p.at(offset)
	switch {
	case errors.Is(err, jsontext.ErrDuplicateName):
		out.What, out.Do = "a key is there twice", "keep one of the two"
		if s != nil {
			out.What = fmt.Sprintf("the key %q is there twice", Clip(s.JSONPointer.LastToken()))
		}
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		out.What, out.Do = "it ends too early", "it may have been cut off: write it again"
	}
	return out
}
