package desk

import (
	"context"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/desktest"
	"ecart/vision/take"
)

// setZone sets the time zone for a test.
func setZone(t *testing.T, name string) {
	zone, err := time.LoadLocation(name)
	require.NoError(t, err)
	was := time.Local
	time.Local = zone
	t.Cleanup(func() { time.Local = was })
}

// The day of a take is that of the local time.
func TestDayOf(t *testing.T) {
	setZone(t, "Europe/Berlin") // UTC+1 in March, +2 in July
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return v
	}
	for _, c := range []struct {
		why   string
		still bool
		at    time.Time
		want  string
	}{
		{"a clip tells UTC: 23:30 is half past midnight in the hall", false, at("2026-03-03T23:30:00Z"), "2026-03-04"},
		{"in summer two hours are added", false, at("2026-07-03T22:10:00Z"), "2026-07-04"},
		{"a clip that names its zone was made there", false, at("2026-03-03T23:30:00-05:00"), "2026-03-03"},
		{"a still without a zone tells the time on the wall", true, at("2026-03-03T23:30:00Z"), "2026-03-03"},
		{"nothing is said", false, time.Time{}, ""},
		{"a clock that was never set", false, at("1970-01-01T00:00:00Z"), ""},
		{"nor was this one", true, at("1980-01-01T00:00:00Z"), ""},
	} {
		assert.Equal(t, c.want, DayOf(take.Info{Still: c.still, Captured: c.at}), c.why)
	}
}

func TestDateToKeepUnder(t *testing.T) {
	info := take.Info{Name: "split.jpg", Still: true, Captured: time.Date(2026, 3, 3, 18, 0, 0, 0, time.UTC)}
	var said []string
	d := New(Options{Note: func(line string) { said = append(said, fault.Bare(line)) }})
	got, err := d.Day("", info)
	require.NoError(t, err)
	assert.Equal(t, "2026-03-03", got)
	assert.Empty(t, said)

	got, err = d.Day("2026-03-02", info)
	require.NoError(t, err)
	assert.Equal(t, "2026-03-02", got)
	assert.Equal(t, []string{"split.jpg says that it was made on 2026-03-03; it is kept under 2026-03-02, as day says"}, said)

	_, err = d.Day("", take.Info{Name: "split.jpg"})
	require.ErrorContains(t, err, "does not say on which day")
	info.Captured = time.Now().AddDate(0, 0, 3)
	_, err = d.Day("", info)
	require.ErrorContains(t, err, "ahead of today")
}

func TestSideOf(t *testing.T) {
	lines := func(a, b, c, d string) *reading.Reading {
		return &reading.Reading{Lines: [2]reading.Line{{From: a, To: b}, {From: c, To: d}}}
	}
	assert.Equal(t, "left", sideOf(lines("left-shoulder", "left-hip", "left-shoulder", "left-wrist")))
	assert.Equal(t, "right", sideOf(lines("right-hip", "right-ankle", "right-hip", "level")))
	assert.Empty(t, sideOf(lines("hip", "left-ankle", "hip", "right-ankle")), "both")
	assert.Empty(t, sideOf(lines("hip", "front-ankle", "hip", "back-ankle")), "which leg is in front is not known")
}

// A rater's figure replaces only the usual one, and is widened since it
// was computed from a few placements: with 6 degrees of freedom by sqrt(6 / 4).
func TestRaterPriors(t *testing.T) {
	const rounding = 1e-12 // of a product of two floats
	r := journal.Rater{Name: `Iris "I." Nord`, Day: "2026-03-01", SDPx: 0.8, Freedom: 6, LongSidePx: 1280}
	want := 0.8 * math.Sqrt(1.5)
	for what, file := range map[string]string{
		"no file":         "",
		"a file":          "schema: ecart/priors/1 # mine\nstature: {mean_mm: 1800, sd_mm: 50, given_sd_mm: 10, why: tall, provenance: ours}\n",
		"its own figures": "schema: ecart/priors/1\nplacement:\n  sd_px: 9\n  long_side_px: 700\nstature: {mean_mm: 1800, sd_mm: 50}\n",
	} {
		out, err := raterPriors(r, []byte(file))
		require.NoError(t, err, what)
		got, err := reading.ParsePriors(what, out)
		require.NoError(t, err, what)
		assert.InDelta(t, want, got.Placement.SDPx, rounding, what)
		assert.Equal(t, 1280.0, got.Placement.LongSidePx, what)
		assert.Contains(t, got.Placement.Why, `Iris "I." Nord`)
		if file == "" {
			file = "schema: ecart/priors/1"
		}
		rest, err := reading.ParsePriors(what, []byte(file))
		require.NoError(t, err, what)
		rest.Placement = got.Placement
		assert.Equal(t, rest, got, what)
	}
}

// With a rater's figure the placement part of a reading is in proportion to that figure, the
// standard deviation of a placement.
func TestRaterIsUsed(t *testing.T) {
	const near = 0.02 // of the budget's draws
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "hall.journal")
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	read := func() (placement float64, said string) {
		q, err := Again(e)
		require.NoError(t, err)
		asked := &Asked{Request: q}
		d := New(Options{Journal: file, Note: func(line string) { said += fault.Bare(line) }})
		require.NoError(t, d.ApplyRater(ctx, asked, "iris"))
		r, _, err := asked.Read(ctx, nil)
		require.NoError(t, err)
		for _, row := range r.Budget {
			if row.Source == reading.SourcePlacement {
				placement = row.StandardUncertaintyDeg
			}
		}
		return placement, said
	}
	usual, said := read()
	assert.Equal(t, "how well iris places marks is not known, and the usual figure is taken; “find out how well somebody places marks” finds it", said)

	j, err := journal.Open(file, journal.Options{Create: true})
	require.NoError(t, err)
	defer j.Close()
	require.NoError(t, j.KeepRater(ctx, journal.Rater{Name: "Iris", Day: "2026-03-01", SDPx: 3, Freedom: 200, LongSidePx: 1920}))
	wide, said := read()
	assert.Equal(t, "Iris places marks to 3 px, as found on 2026-03-01", said)
	assert.InEpsilon(t, 3/reading.DefaultPriors().Placement.SDPx, wide/usual, near)

	require.NoError(t, j.KeepRater(ctx, journal.Rater{Name: "Iris", Day: "2026-03-01", SDPx: 3, Freedom: 2, LongSidePx: 1920}))
	few, said := read()
	assert.Equal(t, usual, few)
	assert.Contains(t, said, "too few placements")
}
