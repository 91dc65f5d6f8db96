package journal

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRater(t *testing.T) {
	j := openNew(t)
	_, err := j.Rater(ctx, "Iris")
	require.ErrorIs(t, err, ErrAbsent)
	assert.Contains(t, hint(t, err), "repeat")
	r := Rater{Name: "Iris", Day: "2026-05-20", SDPx: 1.25, Freedom: 36, LongSidePx: 1920}
	require.NoError(t, j.KeepRater(ctx, r))
	r.Day, r.SDPx = "2026-05-28", 1.125
	require.NoError(t, j.KeepRater(ctx, r), "a newer figure takes the place of the older")
	got, err := j.Rater(ctx, "IRIS")
	require.NoError(t, err)
	r.Details = []byte("{}")
	assert.Equal(t, r, got)
	all, err := j.Raters(ctx)
	require.NoError(t, err)
	assert.Equal(t, []Rater{r}, all)
	for what, bad := range map[string]Rater{
		"no rater was named": {Day: "2026-05-20", SDPx: 1, Freedom: 1, LongSidePx: 1},
		"ahead of today":     {Name: "Iris", Day: "2027-05-20", SDPx: 1, Freedom: 1, LongSidePx: 1},
		"placement figure":   {Name: "Iris", Day: "2026-05-20", SDPx: 0, Freedom: 1, LongSidePx: 1},
		"no JSON":            {Name: "Iris", Day: "2026-05-20", SDPx: 1, Freedom: 1, LongSidePx: 1, Details: []byte("{")},
	} {
		require.ErrorContains(t, j.KeepRater(ctx, bad), what)
	}
}
