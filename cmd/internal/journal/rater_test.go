package journal

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRater(t *testing.T) {
	j := openNew(t)
	_, err := j.Rater(ctx, "Iris")
	require.ErrorIs(t, err, ErrAbsent)
	assert.Contains(t, hint(t, err), "find out how well")
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

func TestEraseRater(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	e := sample(t, 1)
	e.Rater = "Ouzel"
	e.Request.Priors = "schema: ecart/priors/1\nplacement: {sd_px: 2, long_side_px: 1920, why: Ouzel" + RaterSentence + "2026-05-01, provenance: measured}\n"
	e.Reading = bytes.Replace(e.Reading, []byte(`"how":"`), []byte(`"how":"Ouzel`+RaterSentence+`2026-05-01; `), 1)
	e = keep(t, j, e)
	other := keep(t, j, sample(t, 2))
	require.NoError(t, j.KeepRater(ctx, Rater{Name: "Ouzel", Day: "2026-05-01", SDPx: 1.5, Freedom: 9, LongSidePx: 1920}))
	_, err := j.EraseRater(ctx, "Heron")
	require.ErrorIs(t, err, ErrAbsent)

	got, err := j.EraseRater(ctx, "OUZEL")
	require.NoError(t, err)
	assert.Equal(t, 1, got.Readings)
	assert.Empty(t, traces(t, dir, "Ouzel"))
	shown, err := j.Show(ctx, e.ID)
	require.NoError(t, err, "which is sound")
	assert.Empty(t, shown.Rater)
	assert.Contains(t, string(shown.Reading), "somebody"+RaterSentence)
	untouched, err := j.Show(ctx, other.ID)
	require.NoError(t, err)
	assert.Equal(t, &other, untouched)
	_, err = j.Rater(ctx, "Ouzel")
	require.ErrorIs(t, err, ErrAbsent)
	sound(t, j.Path())
}
