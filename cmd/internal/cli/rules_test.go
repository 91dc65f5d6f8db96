package cli

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/rulebook"
	"ecart/geometry"
)

// The schema with which editors complete a rule book has all
// measures.
func TestSchemaKnowsEveryMeasure(t *testing.T) {
	var schema struct {
		Defs struct{ Measure struct{ Enum []string } } `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(rulebook.JSONSchema(), &schema))
	assert.ElementsMatch(t, desk.MeasureNames(), schema.Defs.Measure.Enum)
}

// A skill asks for an angle that its measure can have. at_most compares an angle's
// size, so it is allowed only if the sign has no meaning, if a negative angle is something
// else and meets (a knee past straight), or if the rule counts both ways alike.
func TestBuiltInSkillsFitTheirMeasures(t *testing.T) {
	bothWays := map[string]bool{
		"dance/even-legs": true, // either leg higher
		"fig-men/l-sit":   true, // deviation from the right position, above or below
	}
	lib, err := rulebook.Load("", desk.IsMeasure)
	require.NoError(t, err)
	for _, b := range lib.Books() {
		for _, k := range b.Skills {
			if k.NotMeasured != "" {
				continue
			}
			m, ok := geometry.Lookup(k.Measure)
			require.True(t, ok, k.Ref())
			asked := geometry.Angle(k.AskedDeg) * geometry.Degree
			assert.True(t, m.Range.Low <= asked && asked <= m.Range.High, "%s asks %g of %s", k.Ref(), k.AskedDeg, k.Measure)
			if k.AtMost && k.AskedDeg+k.FreeDeg == 0 && !m.OneWay {
				assert.Contains(t, k.Note, "Nothing is exactly 0", "%s can never be met, and has to say so", k.Ref())
			}
			if k.AtMost && m.Range.Low < 0 {
				assert.True(t, m.Magnitude || m.OneWay || bothWays[k.Ref()], "%s takes the size of %s, whose sign has a meaning", k.Ref(), k.Measure)
			}
		}
	}
}
