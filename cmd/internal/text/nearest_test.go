package text_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"ecart/cmd/internal/text"
	"ecart/geometry"
)

func TestNearest(t *testing.T) {
	var names []string
	for _, m := range geometry.Measures() {
		names = append(names, m.Name)
	}
	for given, want := range map[string]string{
		"hipsplit": "hip-split", "hip-spilt": "hip-split", "sholder-flexion": "shoulder-flexion",
		"shoulder-extention": "shoulder-extension", "pik": "pike", "pike": "pike",
		"cartwheel": "", "": "", "ärmel": "",
	} {
		assert.Equal(t, want, text.Nearest(given, names), given)
	}
	assert.Equal(t, "", text.Nearest("pike", nil))
	// Kitten to sitting is the textbook's three edits: two letters changed, one added.
	assert.Equal(t, "", text.Nearest("kitten", []string{"sitting"}), "three wrong of six is too far")
	assert.Equal(t, "kittens", text.Nearest("kitten", []string{"sitting", "kittens"}))
}

// An edit distance is a metric: zero only for the same word, the same both ways, and
// no longer than a way round by a third word.
func TestEditDistanceIsAMetric(t *testing.T) {
	assert.Equal(t, 3, text.EditDistance("kitten", "sitting")) // the worked example of most textbooks: two changes, one added
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[abc]{0,6}`)
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		assert.Equal(t, a == b, text.EditDistance(a, b) == 0)
		assert.Equal(t, text.EditDistance(a, b), text.EditDistance(b, a))
		assert.LessOrEqual(t, text.EditDistance(a, c), text.EditDistance(a, b)+text.EditDistance(b, c))
	})
}
