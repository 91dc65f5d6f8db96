package main

import "go/ast"

// callsExit reports whether a file mentions os.Exit.
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

// callsSkip reports whether a file calls Skip, Skipf or SkipNow of a test.
func callsSkip(f *ast.File) bool {
	found := false
	ast.Inspect(f, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok {
			if s, ok := call.Fun.(*ast.SelectorExpr); ok {
				found = found || s.Sel.Name == "Skip" || s.Sel.Name == "Skipf" || s.Sel.Name == "SkipNow"
			}
		}
		return true
	})
	return found
}
