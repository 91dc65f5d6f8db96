package main

import (
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMakeLoadsNoLibrary checks that the program that make builds decodes a HEIC with the library from the module,
// whatever libheif the machine has.
func TestMakeLoadsNoLibrary(t *testing.T) {
	c := exec.Command("make", "-s", "--eval", "files:;@$(GO) list -f '{{.GoFiles}}' github.com/gen2brain/heic", "files")
	c.Dir = "../.."
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "decode.go")
	assert.NotContains(t, string(out), "decode_dynamic.go")
}
