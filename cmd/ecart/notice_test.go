package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNoticeNamesEveryModule compares NOTICE with the modules that the go command
// says the program links, built as the Makefile builds it: each is named, and nothing is
// named that is not linked.
func TestNoticeNamesEveryModule(t *testing.T) {
	list := exec.Command("go", "list", "-tags=nodynamic", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}{{end}}{{end}}", ".")
	list.Stderr = os.Stderr
	out, err := list.Output()
	require.NoError(t, err)
	linked := map[string]bool{}
	for _, module := range strings.Fields(string(out)) {
		linked[module] = true
	}
	require.Greater(t, len(linked), 10)

	notice, err := os.ReadFile(filepath.Join("..", "..", "NOTICE"))
	require.NoError(t, err)
	named := map[string]bool{}
	_, modules, found := strings.Cut(string(notice), "Go modules that the program links")
	require.True(t, found)
	for _, word := range strings.Fields(modules) {
		if host, _, more := strings.Cut(word, "/"); more && strings.Contains(host, ".") {
			named[word] = true
		}
	}
	assert.Equal(t, linked, named)
}
