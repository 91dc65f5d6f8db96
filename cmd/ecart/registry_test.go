package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNoRegistrysHost: packages are fetched by name with the ordinary clients, and no address of a registry stands in
// the tree.
func TestNoRegistrysHost(t *testing.T) {
	host := regexp.MustCompile(`(?i)//[a-z0-9.-]*(registry|npm|pypi|crates|goproxy)[a-z0-9-]*\.[a-z]{2,}`)
	require.True(t, host.MatchString("https:/"+"/registry.example.org/axe"))
	root, files := os.DirFS("../.."), 0
	require.NoError(t, fs.WalkDir(root, ".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (path == "bin" || path == "out" || strings.HasPrefix(path, ".git") || path == ".cache"):
			return fs.SkipDir
		case d.IsDir() || slices.Contains([]string{".mp4", ".png", ".jpg", ".heic", ".webp", ".ttf"}, filepath.Ext(path)):
			return nil
		}
		text, err := fs.ReadFile(root, path)
		assert.Empty(t, host.FindString(string(text)), path)
		files++
		return err
	}))
	assert.Greater(t, files, 300, "the tree was not found")
}
