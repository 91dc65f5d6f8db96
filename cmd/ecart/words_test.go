package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli"
	"ecart/cmd/internal/cli/terminal"
)

// below returns the files of the packages that the command line and the page are built on.
func below(t *testing.T) (out []source) {
	all := tree(t)
	reached := map[string]bool{}
	for todo := []string{"cmd/internal/cli"}; len(todo) > 0; todo = todo[1:] {
		for _, s := range all {
			if s.dir != todo[0] || s.test {
				continue
			}
			for _, name := range s.imports {
				if dir, ours := strings.CutPrefix(name, "ecart/"); ours && !reached[dir] {
					reached[dir] = true
					todo = append(todo, dir)
				}
			}
		}
	}
	for _, s := range all {
		if reached[s.dir] && !s.test && !under(s.dir, "cmd/internal/cli") && !under(s.dir, "cmd/internal/page") {
			out = append(out, s)
		}
	}
	require.Greater(t, len(out), 200, "the packages were not found")
	return out
}

// looked calls f with every node of a file.
func looked(t *testing.T, s source, f func(ast.Node)) {
	parsed, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", "..", s.file), nil, 0)
	require.NoError(t, err)
	ast.Inspect(parsed, func(n ast.Node) bool { f(n); return true })
}

// literal returns the text of a string literal.
func literal(n ast.Node) (string, bool) {
	l, ok := n.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

// every calls f with a command and all below it.
func every(c *cobra.Command, f func(*cobra.Command)) {
	f(c)
	for _, one := range c.Commands() {
		every(one, f)
	}
}

// TestCommandsAreNamedInTheCommandLine: below the command line and the page a text names an
// option with fault.Option and what écart does with fault.Operation, so that it is right on
// both.
func TestCommandsAreNamedInTheCommandLine(t *testing.T) {
	flags, commands := map[string]bool{}, map[string]bool{}
	every(cli.Command(), func(c *cobra.Command) {
		if c.HasParent() && !c.Parent().HasParent() {
			commands[c.Name()] = true
		}
		c.Flags().VisitAll(func(f *pflag.Flag) { flags[f.Name] = true })
	})
	require.True(t, flags["marks"] && commands["read"])
	named := regexp.MustCompile(`\becart (` + strings.Join(slices.Sorted(maps.Keys(commands)), "|") + `)\b|(?:^|[^\w-])--(` + strings.Join(slices.Sorted(maps.Keys(flags)), "|") + `)\b`)
	require.True(t, named.MatchString("try 'ecart read'") && named.MatchString("give --marks FILE") && !named.MatchString("ecart wrote it, --remarks"))
	for _, s := range below(t) {
		looked(t, s, func(n ast.Node) {
			if text, ok := literal(n); ok {
				assert.Empty(t, named.FindString(text), "%s: %q", s.file, text)
			}
		})
	}
}

// TestOperationsHaveCommands: every operation that a text names is in the command line's list,
// with a command that there is.
func TestOperationsHaveCommands(t *testing.T) {
	used := map[string]bool{}
	for _, s := range below(t) {
		looked(t, s, func(n ast.Node) {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return
			}
			f, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || f.Sel.Name != "Operation" || fmt.Sprint(f.X) != "fault" {
				return
			}
			name, ok := literal(call.Args[0])
			assert.True(t, ok, "%s: the name of an operation stands there as it is", s.file)
			used[name] = true
			assert.Contains(t, terminal.Commands, name, "%s", s.file)
			assert.Equal(t, strings.Count(terminal.Commands[name], "%s"), len(call.Args)-1, "%s: what %q is given", s.file, name)
		})
	}
	for name, words := range terminal.Commands {
		assert.True(t, used[name], "nothing names %q", name)
		command, quoted := strings.CutPrefix(words, "'ecart ")
		if !quoted {
			continue
		}
		found, rest, err := cli.Command().Find(strings.Fields(strings.TrimSuffix(command, "'")))
		require.NoError(t, err, words)
		assert.True(t, found.Runnable() && found.HasParent() && (len(rest) == 0 || !found.HasSubCommands() || strings.HasPrefix(rest[0], "-")), "%s is no command", words)
		for _, word := range rest {
			if flag, ok := strings.CutPrefix(word, "--"); ok && flag != "help" {
				assert.NotNil(t, found.Flag(flag), "%s has no flag %s", found.CommandPath(), word)
			}
		}
	}
}
