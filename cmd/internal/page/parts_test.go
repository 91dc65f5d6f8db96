package page

import (
	"testing"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every frame of a clip belongs to one of its parts, that of the nearest moment.
func TestPartsOfAClip(t *testing.T) {
	parts := folder.PartsOf(folder.About{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180})
	require.Len(t, parts, 3)
	assert.Equal(t, [][2]int{{0, 89}, {90, 154}, {155, 199}}, [][2]int{{parts[0].Part.From, parts[0].Part.To}, {parts[1].Part.From, parts[1].Part.To}, {parts[2].Part.From, parts[2].Part.To}})
	for n := range 200 {
		has := 0
		for i := range parts {
			if parts[i].Has(n) {
				has++
			}
		}
		assert.Equal(t, 1, has, "frame %d", n)
	}
	assert.Equal(t, "row.mp4, 2 of 3", parts[1].Called())
	for _, p := range parts {
		assert.True(t, folder.IsID(p.ID))
		assert.Equal(t, sixtyFour('a'), p.Sum())
	}
	assert.NotEqual(t, parts[0].ID, parts[1].ID)
	assert.Equal(t, parts, folder.PartsOf(folder.About{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180}), "the same clip has the same parts")
}

func sixtyFour(c byte) string {
	b := make([]byte, 64)
	for i := range b {
		b[i] = c
	}
	return string(b)
}

// Rows of a list that name one clip go to its parts in order; one row too many has no take. Of a whole take every row is.
func TestRowsOfAListGoToParts(t *testing.T) {
	whole := folder.About{ID: sixtyFour('d'), Name: "Other.mp4"}
	parts := folder.PartsOf(folder.About{ID: sixtyFour('e'), Name: "row.MP4"}, 100, []int{20, 70})
	by := listed{takes: []folder.About{parts[1], whole, parts[0]}}
	row := func(take string) *desk.ListRow { return &desk.ListRow{Ask: desk.Ask{Take: take}} }
	for _, want := range []struct{ take, id string }{{"row.mp4", parts[0].ID}, {"other.mp4", whole.ID}, {"monday/row.mp4", parts[1].ID}, {"row.mp4", ""}, {"other.mp4", whole.ID}, {"none.mp4", ""}} {
		got, ok := by.of(row(want.take))
		assert.Equal(t, want.id != "", ok, want.take)
		assert.Equal(t, want.id, got.ID, want.take)
	}
}
