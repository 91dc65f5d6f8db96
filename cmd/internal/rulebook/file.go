package rulebook

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

// CheckFile checks one rule-book file and returns its problems in the order of lines. A file
// that cannot be read is an error. known reports whether a measure exists; nil accepts
// any.
func CheckFile(file string, known func(measure string) bool) ([]Problem, error) {
	text, err := readFile(file)
	if err != nil {
		return nil, err
	}
	_, problems := decode(file, text, known)
	return problems, nil
}

// readFile reads a regular file, up to one byte more than the limit, so that the decoder
// sees that it is too big.
func readFile(file string) ([]byte, error) {
	fail := func(text, do string, err error) ([]byte, error) {
		return nil, fault.New(fmt.Sprintf("rule book %q %s", file, text), do).Because(err)
	}
	info, err := os.Stat(file)
	switch {
	case os.IsNotExist(err):
		return fail("does not exist", "check the path", err)
	case err != nil:
		return fail("cannot be read", "check the path and who may read it", err)
	case info.IsDir():
		return fail("is a folder", "name a file in it", nil)
	case !info.Mode().IsRegular():
		return fail("is not an ordinary file", "name a file of text", nil)
	}
	f, err := os.Open(file)
	if err != nil {
		return fail("cannot be read", "check who may read it", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, strict.MaxYAMLBytes+4)) // 4: one over the limit, after a byte order mark
	if err != nil {
		return fail("cannot be read to the end", "check the disk it is on", err)
	}
	return text, nil
}

// hint returns the hint of a fault; "" for other errors.
func hint(err error) string {
	var e *fault.Error
	if errors.As(err, &e) {
		return e.Hint()
	}
	return ""
}

// A Problem is one finding in a rule-book file.
type Problem struct {
	File   string `json:"file"`
	Line   int    `json:"line"`            // from 1; 0: the file as a whole
	Column int    `json:"column"`          // in characters from 1; 0: the line or the file as a whole
	Skill  string `json:"skill,omitempty"` // the name of the skill that it is in, if it has one
	Text   string `json:"text"`            // what is wrong
	Do     string `json:"do"`              // what to do
}

// Error returns file, line, column and skill, and what is wrong.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	if p.Line > 0 && p.Column > 0 {
		fmt.Fprintf(&b, ":%d", p.Column)
	}
	b.WriteString(": ")
	if p.Skill != "" {
		fmt.Fprintf(&b, "skill %q: ", p.Skill)
	}
	b.WriteString(p.Text)
	return b.String()
}

// Hint says what to do.
func (p Problem) Hint() string { return p.Do }

//go:embed rulebook.schema.json
var schemaJSON []byte

// SchemaFileName is the name of the JSON Schema file to which new rule books refer, in
// their own folder.
const SchemaFileName = "rulebook.schema.json"

// JSONSchema returns the JSON Schema (draft 2020-12) of a rule book. A book without problems
// in CheckFile is valid under it. It cannot express conditions between several keys: that
// bands follow one another, that deductions do not decrease, that names are unique.
func JSONSchema() []byte { return append([]byte(nil), schemaJSON...) }
