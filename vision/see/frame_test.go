package see

import (
	"bytes"
	"encoding/binary"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func written(t testing.TB, q *Question) []byte {
	var b bytes.Buffer
	require.NoError(t, WriteQuestion(&b, q))
	return b.Bytes()
}

func TestQuestionsComeBack(t *testing.T) {
	q := squares()
	r := bytes.NewReader(append(written(t, q), written(t, q)...))
	for range 2 {
		got, err := ReadQuestion(r)
		require.NoError(t, err)
		assert.Equal(t, q, got)
	}
	_, err := ReadQuestion(r)
	assert.Equal(t, io.EOF, err)
}

func TestFramesAreChecked(t *testing.T) {
	whole := written(t, squares())
	for n := 1; n < len(whole); n += 997 {
		_, err := ReadQuestion(bytes.NewReader(whole[:n]))
		require.ErrorIs(t, err, io.ErrUnexpectedEOF, "cut after %d bytes", n)
	}
	for name, change := range map[string]func([]byte){
		"mark":        func(b []byte) { b[0] = 'X' },
		"long head":   func(b []byte) { binary.BigEndian.PutUint32(b[4:], mostHead+1) },
		"long pixels": func(b []byte) { binary.BigEndian.PutUint32(b[8:], mostPixels+1) },
		"few pixels":  func(b []byte) { binary.BigEndian.PutUint32(b[8:], 300*219) },
		"head":        func(b []byte) { b[12] = '[' },
	} {
		b := bytes.Clone(whole)
		change(b)
		_, err := ReadQuestion(bytes.NewReader(b))
		require.Error(t, err, name)
		assert.NotEqual(t, io.EOF, err, name)
	}
	_, err := ReadAnswer(bytes.NewReader(whole))
	assert.Error(t, err, "a question is no answer")
	huge := &Answer{Error: strings.Repeat("x", mostHead)}
	assert.Error(t, WriteAnswer(io.Discard, huge))
}

func FuzzReadQuestion(f *testing.F) {
	f.Add(written(f, &Question{Width: 2, Height: 1, Columns: 3, Rows: 3, Side: 40, Grey: []byte{1, 2}}))
	f.Fuzz(func(t *testing.T, b []byte) {
		if q, err := ReadQuestion(bytes.NewReader(b)); err == nil && len(q.Grey) != q.Width*q.Height {
			t.Fatalf("%d pixels of %d x %d", len(q.Grey), q.Width, q.Height)
		}
	})
}
