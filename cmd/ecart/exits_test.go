package main

import "go/ast"

// callsExit says whether a file mentions os.Exit.
func callsExit(f *ast.File) bool {
	found := false
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok && s.Sel.Name == "Exit" {
			if p, ok := s.X.(*ast.Ident); ok && p.Name == "os" {
				found = true
			}
		}
		return !found
	})
	return found
}
