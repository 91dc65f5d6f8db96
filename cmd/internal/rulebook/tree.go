package rulebook

import "ecart/cmd/internal/strict"

type (
	node  = strict.Node
	place = strict.Place
)

// parseTree parses the text of one file; the caller sets File in the problems.
func parseTree(text []byte) (*node, []Problem) {
	root, faults := strict.ParseYAML(text)
	var problems []Problem
	for _, f := range faults {
		problems = append(problems, Problem{Line: f.Line, Column: f.Column, Text: f.What, Do: f.Do})
	}
	return root, problems
}

// isScalar reports whether a value is a single one: not null, a list or a table.
func isScalar(n *node) bool { return n.Kind > strict.Null && n.Kind <= strict.Text }

// kindOf names a value's kind for messages; rule books do not distinguish numbers from
// texts.
func kindOf(n *node) string {
	switch {
	case n.Kind == strict.Null:
		return "nothing"
	case isScalar(n):
		return "a single value"
	}
	return n.Kind.String()
}
