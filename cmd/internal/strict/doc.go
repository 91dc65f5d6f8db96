// Package strict decodes the JSON and YAML that people write. An unknown, missing or
// repeated key, a null, a list of the wrong length, a value of the wrong type and a number
// out of range are errors with the line, the key and what to do. It does no I/O.
//
// Both formats are parsed to a tree of [Node], which [JSON] and [YAML] decode into a struct
// by its json or yaml tags. The input's size and nesting are limited before the tree is
// built.
package strict

import "fmt"

// Error is one fault in a file. Its text follows the file's name: "line 3, marks 2, x: a
// number belongs here, and null is written".
type Error struct {
	Line   int    // from 1; 0: the file as a whole
	Column int    // in characters from 1; 0: not known
	Where  string // the keys that lead to the value; "": the whole file
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

// Node is one value of a file. Text is a single value as written, so that 0.10 stays 0.10.
type Node struct {
	At     Place
	Kind   Kind
	Text   string
	Items  []*Node
	Fields []Field

	raw []byte // JSON only: the value's bytes in the file; nil for a text
}

// Field is a key with its value.
type Field struct {
	Key   string
	At    Place
	Value *Node
}

// Place is a line and a column of the file, both from 1; 0: not known.
type Place struct{ Line, Column int }

// Get returns the value under a key; nil if there is none.
func (n *Node) Get(key string) *Node {
	for _, f := range n.Fields {
		if f.Key == key {
			return f.Value
		}
	}
	return nil
}

// Clip shortens input that a message repeats, to 60 characters.
func Clip(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
