package browsertest

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

// top is the folder of the module, relative to a package in the same folder as this one.
var top = filepath.Join("..", "..", "..")

var onePage = regexp.MustCompile(`/Type /Page\b`)

// Pages counts the pages of a PDF as Chromium writes it.
func Pages(pdf []byte) int { return len(onePage.FindAll(pdf, -1)) }

// Look writes a picture of a page for a person to look at, into the folder that ECART_SHOTS names. Without one it is
// not made: pictures of tall pages take longer than the checks of the tests.
func Look(t testing.TB, name string, picture func() []byte) {
	t.Helper()
	dir := os.Getenv("ECART_SHOTS")
	if dir == "" {
		return
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), picture(), 0o666))
}
