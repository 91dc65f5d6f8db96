package session

import (
	"encoding/binary"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
)

// A table comes out the same whichever way a spreadsheet saved it, and a row's place
// is its line.
func TestTable(t *testing.T) {
	plain := "question,band\n1,b\n\n3,c 70 d 30\n,,\n5,\n"
	wide := []byte("\xff\xfe")
	for _, u := range utf16.Encode([]rune(strings.ReplaceAll(plain, ",", "\t"))) {
		wide = binary.LittleEndian.AppendUint16(wide, u)
	}
	for how, data := range map[string][]byte{
		"commas":     []byte(plain),
		"semicolons": []byte("\ufeff" + strings.ReplaceAll(strings.ReplaceAll(plain, ",", ";"), "\n", "\r\n")),
		"said":       []byte("sep=;\n" + strings.ReplaceAll(plain, ",", ";")),
		"tabs":       wide,
	} {
		rows, note, err := Table("answers.csv", data, "question", "band")
		require.NoError(t, err, how)
		assert.Empty(t, note, how)
		if how == "said" {
			assert.Equal(t, [][]string{{"question", "band"}, nil, {"1", "b"}}, rows[:3], "the line that says it counts for lines")
			continue
		}
		require.Len(t, rows, 6, how)
		assert.Equal(t, []string{"question", "band"}, rows[0], how)
		assert.Nil(t, rows[2], how)
		assert.Equal(t, []string{"3", "c 70 d 30"}, rows[3], how)
		assert.Equal(t, []string{"5", ""}, rows[5], how)
	}
	for _, bad := range []string{"", "PK\x03\x04", "question,band\n1,\"b\n2\"x\n", "question\x00,band"} {
		_, _, err := Table("answers.csv", []byte(bad), "question", "band")
		var f *fault.Error
		require.ErrorAs(t, err, &f, "%q", bad)
		assert.NotEmpty(t, f.Hint())
	}
}
