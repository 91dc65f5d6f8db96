package rulebook

import "ecart/cmd/internal/strict"

type (
	node  = strict.Node
	place = strict.Place
)

// parseTree reads the text of one file; the problems leave File to the caller.
func parseTree(text []byte) (*node, []Problem) {
	root, faults := strict.ParseYAML(text)
	var problems []Problem
	for _, f := range faults {
		problems = append(problems, Problem{Line: f.Line, Column: f.Column, Text: f.What, Do: f.Do})
	}
	return root, problems
}

// isScalar is whether a value is a single one.
func isScalar(n *node) bool { return n.Kind > strict.Null && n.Kind <= strict.Text }

// kindOf is what a value is, in the words of a rule book, where a number is a text.
func kindOf(n *node) string {
	switch {
	case n.Kind == strict.Null:
		return "nothing"
	case isScalar(n):
		return "a single value"
	}
	return n.Kind.String()
}
