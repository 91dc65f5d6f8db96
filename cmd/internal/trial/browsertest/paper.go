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

// Look has what is seen made and written where a person can look at it, into the folder that
// ECART_SHOTS names. Without one it is not made: pictures of tall pages cost more than what the tests check.
func Look(t testing.TB, name string, seen func() []byte) {
	t.Helper()
	dir := os.Getenv("ECART_SHOTS")
	if dir == "" {
		return
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), seen(), 0o666))
}
