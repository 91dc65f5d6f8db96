package browsertest

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

// top is the folder of the module, seen from a package that stands beside this one.
var top = filepath.Join("..", "..", "..")

var onePage = regexp.MustCompile(`/Type /Page\b`)

// Pages counts the pages of a PDF as Chromium writes it.
func Pages(pdf []byte) int { return len(onePage.FindAll(pdf, -1)) }

// Leave writes what was seen where a person can look at it: into the folder of
// ECART_SHOTS, else into the named folder of out at the top of the module.
func Leave(t testing.TB, folder, name string, data []byte) {
	t.Helper()
	dir := os.Getenv("ECART_SHOTS")
	if dir == "" {
		dir = filepath.Join(top, "out", folder)
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o666))
}
