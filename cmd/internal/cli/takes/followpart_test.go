package takes

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/sticker"
)

// The partial table can be read at any time, before it is closed; it replaces only an earlier
// partial table.
func TestPartialTable(t *testing.T) {
	csv := filepath.Join(t.TempDir(), "leap.csv")
	p, err := newPart(csv, []string{"hip"})
	require.NoError(t, err)
	for i := range 3 {
		require.NoError(t, p.add(&reading.TrackFrame{Frame: i, TimeS: float64(i) / 60, Marks: []reading.Tracked{{X: 1, Y: 2, Covariance: [2][2]float64{{1, 0}, {0, 1}}, Seen: reading.Found}}}))
		data, err := os.ReadFile(partPath(csv))
		require.NoError(t, err)
		track, err := reading.ParseTrack("part", data)
		require.NoError(t, err)
		assert.Len(t, track.Frames, i+1)
	}
	assert.Equal(t, partPath(csv), p.done(false), "kept, and said where")
	assert.FileExists(t, partPath(csv))
	p, err = newPart(csv, []string{"hip"})
	require.NoError(t, err, "a part that an earlier run left")
	assert.Empty(t, p.done(false), "nothing was followed")
	assert.NoFileExists(t, partPath(csv))

	require.NoError(t, os.WriteFile(partPath(csv), []byte("my own notes"), 0o600))
	_, err = newPart(csv, []string{"hip"})
	assert.ErrorContains(t, err, "in the way")
	data, _ := os.ReadFile(partPath(csv))
	assert.Equal(t, "my own notes", string(data))
}

func TestPointsAsTyped(t *testing.T) {
	got, err := desk.ParsePoints([]string{"hand=812,344.5@20", "bar=3,4", "Wren-hüfte2=#d01ef0"})
	require.NoError(t, err)
	want := sticker.Colour{R: 0xd0, G: 0x1e, B: 0xf0}
	assert.Equal(t, []sticker.Seed{{Name: "hand", At: geometry.Point{X: 812, Y: 344.5}, Frame: 20, Alone: true}, {Name: "bar", At: geometry.Point{X: 3, Y: 4}, Alone: true}, {Name: "Wren-hüfte2", Colour: &want, Alone: true}}, got)
	for _, bad := range []string{"hand", "hand=", "=1,2", "hand=1", "hand=1,2,3", "hand=1,2@", "hand=1,2@-1", "hand=1,2@+1", "hand=1,2@x", "hand=#12", "a b=1,2", "a,b=1,2", "hand=-1,2", "../x=1,2"} {
		_, err := desk.ParsePoints([]string{bad})
		require.Error(t, err, bad)
		assert.NotEmpty(t, err.(*fault.Error).Hint(), bad)
	}
	for _, twice := range [][]string{{"a=1,2", "a=3,4"}, {"a=1,2@7", "a=#d01ef0"}, {"a=#d01ef0", "a=1,2"}, {"a=1,2", "a=3,4@7", "a=5,6@7"}} {
		_, err = desk.ParsePoints(twice)
		assert.ErrorContains(t, err, "twice")
	}
	got, err = desk.ParsePoints([]string{"a=1,2", "b=5,6", "a=3,4@7"})
	require.NoError(t, err)
	assert.Equal(t, []sticker.Seed{{Name: "a", At: geometry.Point{X: 1, Y: 2}, Alone: true, Also: []sticker.Pointing{{At: geometry.Point{X: 3, Y: 4}, Frame: 7}}}, {Name: "b", At: geometry.Point{X: 5, Y: 6}, Alone: true}}, got)
}
