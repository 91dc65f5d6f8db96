package main

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"ecart/vision/see"
	"ecart/vision/see/seetest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestOnlyWhatWasLookedAtIsAnswered: a kept answer is given without the real program, which is missing here; another
// picture, or the same one asked of another network, is never given it.
func TestOnlyWhatWasLookedAtIsAnswered(t *testing.T) {
	t.Setenv("ECART_SEE", "")
	t.Setenv(seetest.Real, filepath.Join(t.TempDir(), "missing"))
	folder := t.TempDir()
	network := &see.Network{Outputs: []string{"points"}, Graph: []byte("graph")}
	picture := &see.Picture{Width: 2, Height: 1, RGB: []byte{1, 2, 3, 4, 5, 6}}
	var answer bytes.Buffer
	require.NoError(t, see.WriteSeen(&answer, picture, &see.Seen{Values: [][]float32{{0.5}}}))
	name := nameOf(fmt.Sprintf("%q %x", network.Outputs, sha256.Sum256(network.Graph)), picture)
	require.NoError(t, os.WriteFile(filepath.Join(folder, name), answer.Bytes(), 0o600))

	ask := func(n *see.Network, p *see.Picture) (string, error) {
		var in, out bytes.Buffer
		require.NoError(t, see.WriteNetwork(&in, n))
		require.NoError(t, see.WritePicture(&in, p))
		err := serve(&in, &out, folder)
		return out.String(), err
	}
	out, err := ask(network, picture)
	require.NoError(t, err)
	assert.Contains(t, out, answer.String())
	for what, c := range map[string]struct {
		n *see.Network
		p *see.Picture
	}{
		"another picture": {network, &see.Picture{Width: 2, Height: 1, RGB: []byte{1, 2, 3, 4, 5, 7}}},
		"another shape":   {network, &see.Picture{Width: 1, Height: 2, RGB: picture.RGB}},
		"another graph":   {&see.Network{Outputs: network.Outputs, Graph: []byte("other")}, picture},
		"other outputs":   {&see.Network{Outputs: []string{"mask"}, Graph: network.Graph}, picture},
	} {
		out, err := ask(c.n, c.p)
		var missing *see.Missing
		require.ErrorAs(t, err, &missing, what)
		assert.NotContains(t, out, answer.String(), what)
	}
}
