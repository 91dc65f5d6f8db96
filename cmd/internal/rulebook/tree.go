package rulebook

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

const (
	// maxFileBytes and maxLines are some thirty times the largest built-in book.
	// The YAML library takes time with the square of either where the text is made
	// for it: within these limits the worst text known takes two to three seconds.
	maxFileBytes = 64 << 10
	maxLines     = 3000
	// maxNesting bounds the parser's recursion; the schema needs six levels.
	maxNesting = 20
)

type kind int

const (
	empty kind = iota
	scalar
	list
	table
)

func (k kind) String() string {
	return [...]string{"nothing", "a single value", "a list", "a table of keys"}[k]
}

// A node is a YAML value reduced to what a rule book needs. Scalars keep the
// text they were written with, so that 0.10 stays 0.10.
type node struct {
	at     place
	kind   kind
	text   string
	items  []*node
	fields []field
}

type field struct {
	key   string
	at    place
	value *node
}

// A place is a line and a column of the file, both from 1; 0 is not known.
type place struct{ line, column int }

func (n *node) get(key string) *node {
	for _, f := range n.fields {
		if f.key == key {
			return f.value
		}
	}
	return nil
}

// parseTree reads the text of one file; the problems leave File to the caller.
func parseTree(text []byte) (root *node, problems []Problem) {
	text = plain(text)
	switch {
	case len(text) > maxFileBytes:
		return nil, []Problem{{Text: fmt.Sprintf("the file is too big: the limit is %d bytes", maxFileBytes),
			Do: "split it into several rule books"}}
	case bytes.Count(text, []byte("\n")) > maxLines:
		return nil, []Problem{{Text: fmt.Sprintf("the file is too big: the limit is %d lines", maxLines),
			Do: "split it into several rule books"}}
	case !utf8.Valid(text):
		return nil, []Problem{{Text: "the file is not UTF-8 text", Do: "save it as plain text in UTF-8"}}
	}
	// The YAML library is other people's code and meets hostile text here: a
	// panic in it is a file that cannot be read, not the end of the program.
	defer func() {
		if r := recover(); r != nil {
			root, problems = nil, []Problem{notYAML(place{}, "it cannot be parsed")}
		}
	}()
	tokens := lexer.Tokenize(string(text))
	if problems := refuse(tokens); len(problems) > 0 {
		return nil, problems
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		var ye yaml.Error
		if errors.As(err, &ye) {
			return nil, []Problem{notYAML(placeOf(ye.GetToken()), ye.GetMessage())}
		}
		return nil, []Problem{notYAML(place{}, err.Error())}
	}
	return build(file)
}

// plain is the text without a byte order mark, its lines ended by a line feed.
func plain(text []byte) []byte {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	// The library counts a line too many at a carriage return in a block of text.
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	return bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
}

func notYAML(at place, why string) Problem {
	return Problem{Line: at.line, Column: at.column, Text: "not YAML: " + strings.Join(strings.Fields(why), " "),
		Do: "check the indentation and the quotes there, and on the line before"}
}

// refuse finds what a rule book may not hold before the parser recurses into
// it: anchors, aliases, merges, tags, directives and deep nesting.
func refuse(tokens token.Tokens) []Problem {
	var problems []Problem
	flow, run, runLine := 0, 0, 0
	for _, tk := range tokens {
		at := placeOf(tk)
		switch tk.Type {
		case token.AnchorType, token.AliasType, token.MergeKeyType, token.TagType, token.DirectiveType:
			problems = append(problems, Problem{Line: at.line, Column: at.column,
				Text: fmt.Sprintf("YAML anchors, aliases, tags and directives are not allowed, and %q is one", clip(tk.Value)),
				Do:   "write the value out, in quotes if it is text"})
			if len(problems) == maxProblems {
				return problems
			}
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow--
		}
		if at.line != runLine {
			run, runLine = 0, at.line
		}
		if tk.Type == token.SequenceEntryType || tk.Type == token.MappingKeyType {
			run++
		}
		if flow > maxNesting || run > maxNesting {
			return append(problems, Problem{Line: at.line, Column: at.column, Text: fmt.Sprintf("nested more than %d deep", maxNesting),
				Do: "start from a rule book that passes the check"})
		}
	}
	return problems
}

// placeOf is where a token stands. The library counts a column in characters.
func placeOf(tk *token.Token) place {
	if tk == nil || tk.Position == nil || tk.Position.Line < 1 {
		return place{}
	}
	return place{tk.Position.Line, max(1, tk.Position.Column)}
}

// build turns the library's tree into ours.
func build(file *ast.File) (*node, []Problem) {
	b := &builder{}
	var root *node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		n := b.node(doc.Body, place{}, 0)
		if root != nil {
			b.problem(n.at, "a second YAML document in one file", "keep one rule book per file")
			break
		}
		root = n
	}
	if root == nil && len(b.problems) == 0 {
		b.problem(place{}, "the file is empty", "start from a rule book that passes the check")
	}
	return root, b.problems
}

type builder struct{ problems []Problem }

func (b *builder) problem(at place, text, do string) {
	b.problems = append(b.problems, Problem{Line: at.line, Column: at.column, Text: text, Do: do})
}

// node converts n at the given depth; at is where it is looked for if it does
// not say itself.
func (b *builder) node(n ast.Node, at place, depth int) *node {
	out := &node{at: at}
	if n == nil {
		return out
	}
	if own := placeOf(n.GetToken()); own.line > 0 {
		out.at = own
	}
	if depth > maxNesting {
		b.problem(out.at, fmt.Sprintf("nested more than %d deep", maxNesting), "start from a rule book that passes the check")
		return out
	}
	switch v := n.(type) {
	case *ast.NullNode:
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NanNode, *ast.InfinityNode:
		out.kind, out.text = scalar, n.GetToken().Value
	case *ast.LiteralNode:
		out.kind, out.text = scalar, v.Value.Value
	case *ast.SequenceNode:
		out.kind = list
		for _, item := range v.Values {
			out.items = append(out.items, b.node(item, out.at, depth+1))
		}
	case *ast.MappingNode:
		out.kind = table
		for _, mv := range v.Values {
			b.field(out, mv, depth)
		}
		if len(out.fields) > 0 {
			out.at = out.fields[0].at
		}
	case *ast.MappingValueNode:
		out.kind = table
		b.field(out, v, depth)
		out.at = out.fields[0].at
	default:
		b.problem(out.at, fmt.Sprintf("%s has no place in a rule book", n.Type()), "write a plain value, a list or a table of keys")
	}
	return out
}

func (b *builder) field(out *node, mv *ast.MappingValueNode, depth int) {
	f := field{at: out.at}
	if tk := mv.Key.GetToken(); tk != nil {
		f.key, f.at = tk.Value, placeOf(tk)
	}
	for _, g := range out.fields {
		if g.key == f.key {
			b.problem(f.at, fmt.Sprintf("key %q is here twice, first on line %d", clip(f.key), g.at.line), "keep one of them")
			return
		}
	}
	f.value = b.node(mv.Value, f.at, depth+1)
	if f.value.kind == empty && mv.Value != nil {
		if tk := mv.Value.GetToken(); tk != nil && tk.Type == token.ImplicitNullType {
			f.value.at = f.at // nothing is nowhere
		}
	}
	out.fields = append(out.fields, f)
}
