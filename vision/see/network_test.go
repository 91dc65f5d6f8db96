package see

import (
	"bytes"
	"encoding/binary"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func asked(t testing.TB) []byte {
	var b bytes.Buffer
	require.NoError(t, WriteNetwork(&b, &Network{Outputs: []string{"out"}, Graph: []byte{1, 2, 3}}))
	require.NoError(t, WritePicture(&b, &Picture{Width: 2, Height: 1, RGB: []byte{1, 2, 3, 4, 5, 6}}))
	return b.Bytes()
}

func TestNetworkFramesComeBack(t *testing.T) {
	b := append(asked(t), written(t, squares())...)
	r := bytes.NewReader(b)
	for _, want := range []any{
		&Network{Outputs: []string{"out"}, Graph: []byte{1, 2, 3}},
		&Picture{Width: 2, Height: 1, RGB: []byte{1, 2, 3, 4, 5, 6}},
		squares(),
	} {
		got, err := ReadAsked(r)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := ReadAsked(r)
	require.Equal(t, io.EOF, err)
	whole := asked(t)
	for n := range whole {
		r := bytes.NewReader(whole[:n])
		var err error
		for err == nil {
			_, err = ReadAsked(r)
		}
		if err != io.EOF { // else it was cut between two frames
			require.ErrorIs(t, err, io.ErrUnexpectedEOF, "cut after %d bytes", n)
		}
	}
	binary.BigEndian.PutUint32(whole[8:], mostPixels+1)
	_, err = ReadAsked(bytes.NewReader(whole))
	require.ErrorContains(t, err, "too long")
}

// A graph that OpenCV cannot read, over which it ends the child, gives an error, and the
// next question is answered.
func TestWrongNetworks(t *testing.T) {
	var c Child
	defer c.Close()
	_, err := c.Look(t.Context(), &Network{Outputs: []string{"out"}, Graph: []byte("no graph")}, &Picture{Width: 1, Height: 1, RGB: []byte{1, 2, 3}})
	require.Error(t, err)
	a, err := c.Ask(t.Context(), squares())
	require.NoError(t, err)
	assert.Len(t, a.Corners, 35)
}

func FuzzReadAsked(f *testing.F) {
	f.Add(asked(f))
	f.Fuzz(func(t *testing.T, b []byte) {
		v, err := ReadAsked(bytes.NewReader(b))
		if p, ok := v.(*Picture); ok && err == nil && len(p.RGB) != 3*p.Width*p.Height {
			t.Fatalf("%d bytes of %d x %d", len(p.RGB), p.Width, p.Height)
		}
	})
}
