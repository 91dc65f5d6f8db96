package text_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"ecart/cmd/internal/text"
)

func TestAlike(t *testing.T) {
	for _, c := range []struct {
		name  string
		there []string
		want  string
	}{
		{"Lio", []string{"Kit", "Wren", "Iris"}, ""}, // two of three letters differ
		{"Wrenn", []string{"Kit", "Wren"}, "Wren"},
		{"Wern", []string{"Wren"}, "Wren"},
		{"Wre", []string{"Wren"}, "Wren"},
		{"Leo", []string{"Lio"}, "Lio"},
		{"wren ", []string{"Wrenn", "Wren"}, ""}, // is there
		{"Bo", []string{"Jo"}, ""},
		{"Plover", []string{"Clovis"}, ""},
		{"", []string{"A"}, ""},
		{"Anna  Berg", []string{"Anna Borg"}, "Anna Borg"},
	} {
		assert.Equal(t, c.want, text.Alike(c.name, c.there), c.name)
	}
}

// A change, an addition or an omission is what EditDistance calls one; two neighbours
// exchanged are two changes there.
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
