package change

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// A map is walked in another order each time, and a sum over one then differs in its
// last digits. What is summed here is the same to the last bit.
func TestSameReadingsSameBytes(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		r := Reading{Setup: "mat", StandardDeg: 1, Sources: map[string]float64{}}
		for _, s := range []string{reading.SourcePlacement, reading.SourceLandmark, reading.SourceLens, reading.SourcePerspective,
			reading.SourceDepth, reading.SourceOblique, reading.SourceLevel, reading.SourceTiming} {
			r.Sources[s] = 1 + random.Float64()
		}
		items := map[string][][]float64{}
		for f := range 8 {
			items[fmt.Sprint(f)] = [][]float64{{random.Float64(), random.Float64()}, {random.Float64()}}
		}
		var perspective *Rule
		for i := range rules {
			if rules[i].Source == reading.SourcePerspective {
				perspective = &rules[i]
			}
		}
		common, analysed := r.common(perspective), nested(items)
		for range 20 {
			require.Equal(t, common, r.common(perspective))
			require.Equal(t, analysed, nested(items))
		}
	}
}
