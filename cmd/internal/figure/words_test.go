package figure

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

func TestWords(t *testing.T) {
	opt, err := Options{}.filled()
	require.NoError(t, err)
	w := write(split(640, 360, 8, 9.6, 1.6).r, opt)
	assert.Equal(t, "162.4°", w.Value)
	assert.Equal(t, "± 3.2", w.Plus, "1.96 * 1.6 = 3.136, rounded up")
	assert.Equal(t, "the true angle lies between 159 and 166, 95 % sure", w.Between)
	assert.Empty(t, w.Picture, "nothing was corrected")

	short := decide(split(640, 360, 8, 9.6, 1.6).leap().r)
	assert.Equal(t, decided{"the picture cannot decide between 0.10 (93 %) and 0.30 (7 %)", "180° is asked; short of 180° (over 99 % sure), by 17.6° ± 3.2°"}, short)
	off := decide(handstand(360, 640, 13, 1.5).r)
	assert.Equal(t, decided{"0.10 (98 % sure)", "at most 10° is asked; more than 10° (98 % sure), by 3.0° ± 3.0°"}, off)
	meets := decide(split(640, 360, -4, -6, 1.6).leap().r)
	assert.Equal(t, decided{"meets 180° (over 99 % sure)", "180° is asked"}, meets)
	// 3.6 short with a standard uncertainty of 2.6: 3.6/1.645 = 2.19 is needed,
	// 2.6/2.19 = 1.19 times better.
	open := decide(split(640, 360, 1.6, 2, 2.6).leap().r)
	assert.Equal(t, decided{"the picture cannot decide between 0.10 (92 %) and meeting it (8 %)", "180° is asked; to decide 180°, the angle would have to be known 1.2 times better"}, open)
	assert.Equal(t, decided{}, decide(knee(640, 360, 24, 2).r))
}

func TestProvenanceIsAlwaysThere(t *testing.T) {
	for given, want := range map[string]string{
		"from-memory": "from memory", "second-hand": "second hand", "common-practice": "common practice",
		"published": "as published", "hearsay": "hearsay", "": "unstated origin",
	} {
		assert.Contains(t, origin(&reading.SkillRef{Name: "split-leap", Provenance: given}), want)
	}
}

// What a rule says of legs apart stands beside the angle, with how its figures are known.
func TestWidthsAreSaid(t *testing.T) {
	r := &reading.Reading{LegsApart: &reading.Proportion{Name: "legs-apart", Ratio: 1.51, Interval: [2]float64{1.3, 1.7}, Rule: &reading.RatioRule{
		Rulebook: "hall", Name: "apart", Title: "legs apart", Provenance: "from-memory", Confidence: 0.95,
		Bands: []reading.RatioBand{{Deduction: "0.30", Over: 1, Probability: 0.99}}}}}
	d := decide(r)
	assert.Equal(t, "0.30 (99 % sure)", d.Head)
	assert.Equal(t, "the ankles are 1.51 ± 0.20 shoulder widths apart", d.Tail)
	assert.Equal(t, "bands from memory: legs apart", origin(r.Judged().Rule.Ref()))
}
