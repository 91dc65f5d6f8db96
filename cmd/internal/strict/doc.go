// Package strict decodes the JSON and YAML that people write, and takes nothing on
// trust: an unknown, missing or repeated key, a null, a list of another length, a
// value of another type and a number out of range are errors that say on which line,
// under which key, and what to do. It is pure.
//
// Both forms become one tree of [Node], which [JSON] and [YAML] then put into a
// struct by its json or yaml tags. The tree is bounded before it is built.
package strict

import "fmt"

// Error is one fault in a file. Its text goes on from the file's name: "line 3, marks
// 2, x: a number belongs here, and null is written".
type Error struct {
	Line   int    // from 1; 0 where the file as a whole is meant
	Column int    // in characters from 1; 0 where it is not known
	Where  string // the keys down to it, "" for the whole
	What   string
	Do     string
}

func (e *Error) Error() string {
	text := e.What
	if e.Where != "" {
		text = e.Where + ": " + text
	}
	if e.Line > 0 {
		text = fmt.Sprintf("line %d, %s", e.Line, text)
	}
	return text
}

// Hint says what to do.
func (e *Error) Hint() string { return e.Do }

// Kind is what a value is.
type Kind int

// The kinds of values. Those up to Text are single values.
const (
	Null Kind = iota
	Bool
	Number
	Text
	List
	Table
)

func (k Kind) String() string {
	return [...]string{"null", "true or false", "a number", "a text", "a list", "a table of keys"}[k]
}

// Node is a value as it stands in a file. Text is that of a single value as it was
// written, so that 0.10 stays 0.10.
type Node struct {
	At     Place
	Kind   Kind
	Text   string
	Items  []*Node
	Fields []Field

	raw []byte // of JSON, the bytes it was read from
}

// Field is a key with its value.
type Field struct {
	Key   string
	At    Place
	Value *Node
}

// Place is a line and a column of the file, both from 1; 0 is not known.
type Place struct{ Line, Column int }

// Get is the value under a key, nil where there is none.
func (n *Node) Get(key string) *Node {
	for _, f := range n.Fields {
		if f.Key == key {
			return f.Value
		}
	}
	return nil
}

// Clip shortens what a message repeats of somebody's input.
func Clip(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
