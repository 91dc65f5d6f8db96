package sheet_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"
)

// sheets writes every sheet of what a reading's file says: each is made, or there is
// an error and nothing is written.
func sheets(t testing.TB, good sheet.Input, data []byte, what string) {
	var r reading.Reading
	if json.Unmarshal(data, &r) != nil {
		return
	}
	one := good
	one.Reading = &r
	check := func(err error, b bytes.Buffer) {
		t.Helper()
		if (err == nil) != (b.Len() > 0) {
			t.Fatalf("%s: %d bytes and the error %v", what, b.Len(), err)
		}
	}
	var b bytes.Buffer
	check(sheet.Write(&b, one, sheet.Options{For: sheet.Judge}), b)
	b.Reset()
	check(sheet.Write(&b, one, sheet.Options{For: sheet.Parent}), b)
	b.Reset()
	check(sheet.WritePair(&b, good, one, &change.Difference{}, sheet.Options{}), b)
}

// Readings in which one figure is none that a reading has are refused, or explained
// without a crash.
func TestReadingsWithAFigureWrong(t *testing.T) {
	in := take(t, "hip-split", skill(t, "fig-women/split-leap"), false)
	data, err := json.Marshal(in.Reading)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, at := range regexp.MustCompile(`"([a-z_0-9]+)":\[*(-?[0-9.e+-]+)`).FindAllSubmatchIndex(data, -1) {
		key := string(data[at[2]:at[3]])
		if seen[key] {
			continue
		}
		seen[key] = true
		for _, v := range []string{"-7", "1e9", "-1e300"} {
			bad := append(append(append([]byte{}, data[:at[4]]...), v...), data[at[5]:]...)
			sheets(t, in, bad, fmt.Sprintf("%s is %s", key, v))
		}
	}
	assert.Greater(t, len(seen), 20)
	for _, empty := range []string{`{"schema":"ecart/reading/1"}`, `{"schema":"ecart/reading/1","skill":{},"verdict":{}}`, `{"budget":null,"marks":[{}],"lines":[{},{}]}`} {
		sheets(t, in, []byte(empty), empty)
	}
}
