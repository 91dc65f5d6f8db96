package session

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Names alone are a list where only names are asked for; one of takes is too.
func TestNamesOfAList(t *testing.T) {
	names, err := Names("a.csv", []byte("athlete\nWren\n wren \n\nLio\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"Wren", "Lio"}, names)
	names, err = Names("a.csv", []byte("athlete;pseudonym;take;marks\nAnna;Wren;a.mp4;a.json\nBo;;b.mp4;\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"Wren"}, names, "a name that was to be hidden is not used")
	for text, want := range map[string]string{"take,marks\na,b\n": `has no column "athlete"`, "athlete\n": "has no rows", "athlete,take\n,a.mp4\n": "names no athlete"} {
		_, err := Names("a.csv", []byte(text))
		assert.ErrorContains(t, err, want)
	}
	_, err = Parse("a.csv", []byte("athlete,marks\nWren,a.json\n"))
	assert.ErrorContains(t, err, `has no column "take"`)
}
