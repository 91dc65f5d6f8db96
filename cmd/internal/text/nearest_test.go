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

// The edit distance is a metric: zero only for equal words, symmetric, and it obeys the
// triangle inequality.
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

func TestAlike(t *testing.T) {
	for _, c := range []struct {
		name  string
		names []string
		want  string
	}{
		{"Lio", []string{"Kit", "Wren", "Iris"}, ""}, // two of three letters differ
		{"Wrenn", []string{"Kit", "Wren"}, "Wren"},
		{"Wern", []string{"Wren"}, "Wren"},
		{"Wre", []string{"Wren"}, "Wren"},
		{"Leo", []string{"Lio"}, "Lio"},
		{"wren ", []string{"Wrenn", "Wren"}, ""}, // equal but for case and spaces
		{"Bo", []string{"Jo"}, ""},
		{"Plover", []string{"Clovis"}, ""},
		{"", []string{"A"}, ""},
		{"Anna  Berg", []string{"Anna Borg"}, "Anna Borg"},
	} {
		assert.Equal(t, c.want, text.Alike(c.name, c.names), c.name)
	}
}

// Words one slip apart have an EditDistance of 1, or of 2 if two neighbours are exchanged.
func TestAlikeIsOneSlip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[abc]{3,6}`)
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		alike := text.Alike(a, []string{b}) == b
		assert.Equal(t, alike, text.Alike(b, []string{a}) == a, "the same both ways")
		switch d := text.EditDistance(a, b); {
		case d == 1:
			assert.True(t, alike, "%s %s", a, b)
		case d == 0 || d > 2:
			assert.False(t, alike, "%s %s", a, b)
		}
	})
}
