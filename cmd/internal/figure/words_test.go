package figure

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

func TestWords(t *testing.T) {
	opt, err := Options{}.filled()
	require.NoError(t, err)
	w := write(split(640, 360, 8, 9.6, 1.6).r, opt)
	assert.Equal(t, "162.4°", w.Value)
	assert.Equal(t, "± 3.2", w.Plus, "1.96 * 1.6 = 3.136, rounded up")
	assert.Equal(t, "between 159.3 and 165.5 in 95 of 100 such readings", w.Between)
	assert.Empty(t, w.Picture, "nothing was corrected")

	short := decide(split(640, 360, 8, 9.6, 1.6).leap().r, opt)
	assert.Equal(t, decided{"short by 17.6°", "180° is asked; short in more than 99 of 100"}, short)
	off := decide(handstand(360, 640, 13, 1.5).r, opt)
	assert.Equal(t, decided{"off by 13.0°", "0°, 10° free asked; off in 98 of 100"}, off)
	meets := decide(split(640, 360, -4, -6, 1.6).leap().r, opt)
	assert.Equal(t, decided{"meets what is asked", "180°, in more than 99 of 100"}, meets)
	// 3.6 short with a standard uncertainty of 2.6: 3.6/1.645 = 2.19 is needed,
	// 2.6/2.19 = 1.19 times better.
	open := decide(split(640, 360, 1.6, 2, 2.6).leap().r, opt)
	assert.Equal(t, decided{"not decided", "it meets 180° in 8 of 100; to decide, it would have to be known 1.2 times better"}, open)
	assert.Equal(t, decided{}, decide(knee(640, 360, 24, 2).r, opt))
}

func TestProbabilitiesAreNeverCertain(t *testing.T) {
	for p, want := range map[float64][2]string{
		0: {"< 1 %", "fewer than 1 of 100"}, 0.004: {"< 1 %", "fewer than 1 of 100"}, 0.006: {"1 %", "1 of 100"},
		0.94: {"94 %", "94 of 100"}, 0.996: {"> 99 %", "more than 99 of 100"}, 1: {"> 99 %", "more than 99 of 100"},
	} {
		assert.Equal(t, want, [2]string{percent(p), hand.Of100(p)}, "%g", p)
	}
}

func TestProvenanceIsAlwaysThere(t *testing.T) {
	for given, want := range map[string]string{
		"from-memory": "from memory", "second-hand": "second hand", "common-practice": "common practice",
		"published": "as published", "hearsay": "hearsay", "": "unstated origin",
	} {
		assert.Contains(t, origin(&reading.SkillRef{Name: "split-leap", Provenance: given}), want)
	}
}
