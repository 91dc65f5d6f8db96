package bidi

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// controls lists the twelve characters of UAX 9, table 4 and rule X9.
var controls = []rune{0x061c, 0x200e, 0x200f, 0x202a, 0x202b, 0x202c, 0x202d, 0x202e, 0x2066, 0x2067, 0x2068, 0x2069}

func TestEachControlIsReplaced(t *testing.T) {
	for _, r := range controls {
		assert.True(t, Is(r), "%U", r)
		assert.Equal(t, "Wr\ufffden", Plain("Wr"+string(r)+"en"))
	}
	for _, s := range []string{"Wren", "דרור", "بلبل", "Éloïse", "🤸🏽\u200d♀️", "", "a\nb"} {
		assert.Equal(t, s, Plain(s), "letters, joiners and lines stay")
	}
}

func TestJSONKeepsItsValue(t *testing.T) {
	for _, r := range controls {
		value := map[string]string{"na" + string(r) + "me": `a "quoted" \ ` + string(r) + " Wren"}
		raw, err := json.Marshal(value)
		require.NoError(t, err)
		safe := EscapeJSON(raw)
		assert.NotContains(t, string(safe), string(r))
		var back map[string]string
		require.NoError(t, json.Unmarshal(safe, &back))
		assert.Equal(t, value, back)
	}
	plain := []byte(`{"name":"Wren"}`)
	assert.Equal(t, plain, EscapeJSON(plain))
}
