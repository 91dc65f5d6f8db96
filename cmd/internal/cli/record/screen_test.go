package record

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/record"
)

// screenAt returns the screen that a new journal with the readings of a table gives.
func screenAt(t testing.TB, today, table, day string) (*record.Screen, error) {
	d := record.New(desk.New(desk.Options{Journal: filedIn(t, "2027-12-31", table), Now: clockAt(today)}))
	return d.Screen(context.Background(), record.ScreenAsk{Athlete: "Wren", Movement: "split", Day: day, Confidence: 0.95, Seed: 1})
}

const twoScreens = `
Wren 2026-03-03 left warm passive hip-split 180 2 180
Wren 2026-03-03 left warm active hip-split 170 2 180
Wren 2026-04-02 left warm passive hip-split 181 2 180
Wren 2026-04-02 right warm active hip-split 171 2 180
Wren 2026-05-02 right warm passive hip-split 182 2 180
Wren 2026-05-02 right warm in-skill hip-split 172 2 180
Wren 2026-05-02 left warm passive hip-split 182 2 180
Wren 2026-05-02 left warm unknown hip-split 172 2 180`

// The last day on which one side was read in two conditions counts; a day on which
// two sides were read in one condition each does not, nor does a day in the future.
func TestScreenDay(t *testing.T) {
	for _, c := range []struct {
		today, day, want, side string
		notes                  int
	}{
		{"2026-05-03", "", "2026-05-02", "right", 1},
		{"2026-05-01", "", "2026-03-03", "left", 1},
		{"2026-05-03", "2026-03-03", "2026-03-03", "left", 0},
	} {
		r, err := screenAt(t, c.today, twoScreens, c.day)
		require.NoError(t, err)
		assert.Equal(t, c.want, r.Day)
		require.Len(t, r.Screens, 1)
		assert.Equal(t, c.side, r.Screens[0].Side)
		assert.Len(t, r.Notes, c.notes, r.Notes)
	}
	_, err := screenAt(t, "2026-05-03", twoScreens, "2026-04-02")
	require.ErrorContains(t, err, `"Wren" has no day with readings of one split in two conditions; on the last, 2026-04-02, there is active, passive`)
	assert.Contains(t, hintOf(t, err), "at least two of passive, active, in-skill and swung")
	_, err = screenAt(t, "2026-03-02", twoScreens, "")
	require.ErrorContains(t, err, "ahead of today, 2026-03-02")
}

// If some readings have no side and the others have one, the screen is of that side.
func TestScreenWithoutSides(t *testing.T) {
	r, err := screenAt(t, "2026-05-03", `
Wren 2026-03-03 left warm passive hip-split 180 2 180
Wren 2026-03-03 left warm active hip-split 170 2 180
Wren 2026-03-03 - warm in-skill hip-split 160 2 180`, "")
	require.NoError(t, err)
	require.Len(t, r.Screens, 1)
	assert.Equal(t, "left", r.Screens[0].Side)
	assert.Equal(t, []string{"1 reading of which the side was not said, left out: no gap is known of one condition"}, r.Notes)
}
