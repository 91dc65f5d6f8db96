package strict

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

const (
	// MaxYAMLBytes and MaxYAMLLines are about thirty times the largest built-in book. The
	// YAML library's time can grow with the square of either for a malicious text: within
	// these limits the worst text known takes two to three seconds.
	MaxYAMLBytes = 64 << 10
	MaxYAMLLines = 3000
	// maxNesting bounds the parser's recursion; a rule book needs six levels.
	maxNesting = 20
	maxFaults  = 30 // reported at once

	tooBig    = "take out what is not needed, or split it into several files"
	startOver = "start from a file that écart wrote or printed"
)

// YAML decodes data into what v points to. Errors are of type *Error.
func YAML(data []byte, v any, o Options) error {
	n, faults := ParseYAML(data)
	if len(faults) > 0 {
		return faults[0]
	}
	return n.decode(v, "yaml", o)
}

// ParseYAML parses the text of one YAML file and returns all faults found. Anchors, aliases,
// tags and deep nesting are refused, since people read the file.
func ParseYAML(text []byte) (root *Node, problems []*Error) {
	text = Plain(text)
	switch {
	case len(text) > MaxYAMLBytes:
		return nil, []*Error{{What: fmt.Sprintf("the file is too big: the limit is %d bytes", MaxYAMLBytes), Do: tooBig}}
	case bytes.Count(text, []byte("\n")) > MaxYAMLLines:
		return nil, []*Error{{What: fmt.Sprintf("the file is too big: the limit is %d lines", MaxYAMLLines), Do: tooBig}}
	case !utf8.Valid(text):
		return nil, []*Error{{What: "the file is not UTF-8 text", Do: "save it as plain text in UTF-8"}}
	}
	// A panic of the YAML library on a malicious text is an unreadable file, not the end of
	// the program.
	defer func() {
		if r := recover(); r != nil {
			root, problems = nil, []*Error{notYAML(Place{}, "it cannot be parsed")}
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
			return nil, []*Error{notYAML(placeOf(ye.GetToken()), ye.GetMessage())}
		}
		return nil, []*Error{notYAML(Place{}, err.Error())}
	}
	return build(file)
}

// Plain returns the text without a byte order mark and with \n as line ending.
func Plain(text []byte) []byte {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	// the library counts one line too many at a carriage return in a block text
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	return bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
}

func notYAML(at Place, why string) *Error {
	return &Error{Line: at.Line, Column: at.Column, What: "not YAML: " + strings.Join(strings.Fields(why), " "),
		Do: "check the indentation and the quotes there, and on the line before"}
}

// refuse reports what a file may not contain, before the parser recurses into it: anchors, aliases, merges, tags, directives and deep nesting.
func refuse(tokens token.Tokens) []*Error {
	var problems []*Error
	flow, run, runLine := 0, 0, 0
	for _, tk := range tokens {
		at := placeOf(tk)
		switch tk.Type {
		case token.AnchorType, token.AliasType, token.MergeKeyType, token.TagType, token.DirectiveType:
			problems = append(problems, &Error{Line: at.Line, Column: at.Column,
				What: fmt.Sprintf("YAML anchors, aliases, tags and directives are not allowed, and %q is one", Clip(tk.Value)),
				Do:   "write the value out, in quotes if it is text"})
			if len(problems) == maxFaults {
				return problems
			}
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow--
		}
		if at.Line != runLine {
			run, runLine = 0, at.Line
		}
		if tk.Type == token.SequenceEntryType || tk.Type == token.MappingKeyType {
			run++
		}
		if flow > maxNesting || run > maxNesting {
			return append(problems, &Error{Line: at.Line, Column: at.Column, What: fmt.Sprintf("nested more than %d deep", maxNesting),
				Do: startOver})
		}
	}
	return problems
}

// placeOf returns a token's place. The library counts columns in characters.
func placeOf(tk *token.Token) Place {
	if tk == nil || tk.Position == nil || tk.Position.Line < 1 {
		return Place{}
	}
	return Place{tk.Position.Line, max(1, tk.Position.Column)}
}

// build converts the library's tree to nodes.
func build(file *ast.File) (*Node, []*Error) {
	b := &builder{}
	var root *Node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		n := b.Node(doc.Body, Place{}, 0)
		if root != nil {
			b.problem(n.At, "a second YAML document in one file", "keep one document in a file")
			break
		}
		root = n
	}
	if root == nil && len(b.problems) == 0 {
		b.problem(Place{}, "the file is empty", startOver)
	}
	return root, b.problems
}

type builder struct{ problems []*Error }

func (b *builder) problem(at Place, text, do string) {
	b.problems = append(b.problems, &Error{Line: at.Line, Column: at.Column, What: text, Do: do})
}

// Node converts n at the given depth; at is its place if n has none itself.
func (b *builder) Node(n ast.Node, at Place, depth int) *Node {
	out := &Node{At: at}
	if n == nil {
		return out
	}
	if own := placeOf(n.GetToken()); own.Line > 0 {
		out.At = own
	}
	if depth > maxNesting {
		b.problem(out.At, fmt.Sprintf("nested more than %d deep", maxNesting), startOver)
		return out
	}
	switch v := n.(type) {
	case *ast.NullNode:
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NanNode, *ast.InfinityNode:
		out.Kind, out.Text = scalarKind(n), n.GetToken().Value
	case *ast.LiteralNode:
		out.Kind, out.Text = Text, v.Value.Value
	case *ast.SequenceNode:
		out.Kind = List
		for _, item := range v.Values {
			out.Items = append(out.Items, b.Node(item, out.At, depth+1))
		}
	case *ast.MappingNode:
		out.Kind = Table
		for _, mv := range v.Values {
			b.field(out, mv, depth)
		}
		if len(out.Fields) > 0 {
			out.At = out.Fields[0].At
		}
	case *ast.MappingValueNode:
		out.Kind = Table
		b.field(out, v, depth)
		out.At = out.Fields[0].At
	default:
		b.problem(out.At, fmt.Sprintf("%s has no place in this file", n.Type()), "write a plain value, a list or a table of keys")
	}
	return out
}

// scalarKind returns the kind of a single value. NaN and infinity are texts, since no figure
// may be either. A float without a point, such as 1e-9, is a number in YAML 1.2 but a text
// to the library, which follows YAML 1.1; it is a number here.
func scalarKind(n ast.Node) Kind {
	switch n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		return Number
	case *ast.BoolNode:
		return Bool
	}
	if tk := n.GetToken(); tk.Type == token.StringType && coreFloat.MatchString(tk.Value) {
		return Number
	}
	return Text
}

// coreFloat is a float of YAML 1.2's core schema (YAML 1.2.2, section 10.3.2) that has
// an exponent.
var coreFloat = regexp.MustCompile(`^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)[eE][-+]?[0-9]+$`)

func (b *builder) field(out *Node, mv *ast.MappingValueNode, depth int) {
	f := Field{At: out.At}
	if tk := mv.Key.GetToken(); tk != nil {
		f.Key, f.At = tk.Value, placeOf(tk)
	}
	for _, g := range out.Fields {
		if g.Key == f.Key {
			b.problem(f.At, fmt.Sprintf("key %q is here twice, first on line %d", Clip(f.Key), g.At.Line), "keep one of them")
			return
		}
	}
	f.Value = b.Node(mv.Value, f.At, depth+1)
	if f.Value.Kind == Null && mv.Value != nil {
		if tk := mv.Value.GetToken(); tk != nil && tk.Type == token.ImplicitNullType {
			f.Value.At = f.At // an empty value has no place: use the key's
		}
	}
	out.Fields = append(out.Fields, f)
}
