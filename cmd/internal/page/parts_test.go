package page

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
)

// Every frame of a clip belongs to one of its parts, that of the nearest moment.
func TestPartsOfAClip(t *testing.T) {
	parts := partsOf(about{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180})
	require.Len(t, parts, 3)
	assert.Equal(t, [][2]int{{0, 89}, {90, 154}, {155, 199}}, [][2]int{{parts[0].Part.From, parts[0].Part.To}, {parts[1].Part.From, parts[1].Part.To}, {parts[2].Part.From, parts[2].Part.To}})
	for n := range 200 {
		has := 0
		for i := range parts {
			if parts[i].has(n) {
				has++
			}
		}
		assert.Equal(t, 1, has, "frame %d", n)
	}
	assert.Equal(t, "row.mp4, 2 of 3", parts[1].called())
	for _, p := range parts {
		assert.True(t, isID(p.ID))
		assert.Equal(t, sixtyFour('a'), p.sum())
	}
	assert.NotEqual(t, parts[0].ID, parts[1].ID)
	assert.Equal(t, parts, partsOf(about{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180}), "the same clip has the same parts")
}

func sixtyFour(c byte) string {
	b := make([]byte, 64)
	for i := range b {
		b[i] = c
	}
	return string(b)
}

// Parts have the bytes of their clip without being copies; each goes by itself, and the bytes with the last.
func TestPartsShareAFile(t *testing.T) {
	s, err := openStore(t.TempDir(), "")
	require.NoError(t, err)
	defer s.close()
	id := sixtyFour('b')
	require.NoError(t, os.WriteFile(s.takePath(id), []byte("a clip"), 0o600))
	a := about{ID: id, Name: "row.mp4"}
	require.NoError(t, s.setAbout(a))
	parts := partsOf(a, 100, []int{20, 70})
	for range 2 { // a second time after a run that was killed between
		require.NoError(t, s.split(id, parts))
	}
	require.NoError(t, s.hide(id))
	require.NoError(t, s.erase(id))
	list, err := s.list()
	require.NoError(t, err)
	assert.Len(t, list, 2)
	for _, p := range parts {
		data, err := os.ReadFile(s.takePath(p.ID))
		require.NoError(t, err)
		assert.Equal(t, "a clip", string(data))
	}
	assert.Equal(t, parts[1].ID, s.holding(id, 60))
	assert.Equal(t, "", s.holding(sixtyFour('c'), 60))
	require.NoError(t, s.hide(parts[1].ID))
	require.NoError(t, s.erase(parts[1].ID))
	assert.Equal(t, s.takePath(parts[0].ID), s.pathOf(id))
	assert.Equal(t, "", s.holding(id, 60), "that part is gone")
}

// Rows of a list that name one clip go to its parts in order; one row too many has no take. Of a whole take every row is.
func TestRowsOfAListGoToParts(t *testing.T) {
	whole := about{ID: sixtyFour('d'), Name: "Other.mp4"}
	parts := partsOf(about{ID: sixtyFour('e'), Name: "row.MP4"}, 100, []int{20, 70})
	by := listed{takes: []about{parts[1], whole, parts[0]}}
	row := func(take string) *desk.ListRow { return &desk.ListRow{Ask: desk.Ask{Take: take}} }
	for _, want := range []struct{ take, id string }{{"row.mp4", parts[0].ID}, {"other.mp4", whole.ID}, {"monday/row.mp4", parts[1].ID}, {"row.mp4", ""}, {"other.mp4", whole.ID}, {"none.mp4", ""}} {
		got, ok := by.of(row(want.take))
		assert.Equal(t, want.id != "", ok, want.take)
		assert.Equal(t, want.id, got.ID, want.take)
	}
}
