package page

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every id of the page stands once: a script that looks for the second would find the first.
func TestIDsStandOnce(t *testing.T) {
	seen := map[string]int{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllSubmatch(assets["index.html"].data, -1) {
		seen[string(m[1])]++
	}
	require.Greater(t, len(seen), 50)
	for id, n := range seen {
		assert.Equal(t, 1, n, id)
	}
}
