package record

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/record"
)

// squadAt returns the screens of a list's athletes that a new journal with the readings of a table gives.
func squadAt(t testing.TB, today, table, list, side string) *record.SquadScreen {
	path := filepath.Join(t.TempDir(), "monday.csv")
	require.NoError(t, os.WriteFile(path, []byte(list), 0o600))
	d := record.New(desk.New(desk.Options{Journal: filedIn(t, "2027-12-31", table), Now: clockAt(today)}))
	squad, err := record.SquadOf(path)
	require.NoError(t, err)
	r, err := d.SquadScreen(context.Background(), record.SquadScreenAsk{Squad: squad, ScreenAsk: record.ScreenAsk{Movement: "split", Side: side, Confidence: 0.95, Seed: 1}})
	require.NoError(t, err)
	return r
}

// The standard deviations are 2, and single takes vary by 0 to 4 degrees besides, each value as likely as
// another. Of Iris, rater and set-up are named: what her takes share by them cancels in a gap. Its variance is
// 2.04^2 + 2 s^2, and with one further take in a condition 1.77^2 + 1.5 s^2: averaged over s, a gap of 6.3 and then
// one of 5.5 is above 0 in 95 of 100. So her control of 5.8 is shown with one more take. Her use of 1.8 and all of
// Lio are beyond what further takes tell. Wren's control of 18 is larger than his use of 2: their difference, of
// variance 24 + 6 s^2, is above 0 in 98 of 100. Siskin shows what is asked.
const squadTable = `
Siskin 2026-05-02 left warm passive hip-split 200 2 180
Siskin 2026-05-02 left warm active hip-split 195 2 180
Siskin 2026-05-02 left warm in-skill hip-split 190 2 180
Lio 2026-05-02 left warm passive hip-split 181 2 180
Lio 2026-05-02 left warm active hip-split 180 2 180
Lio 2026-05-02 left warm in-skill hip-split 178 2 180
Iris 2026-05-02 left warm passive hip-split 182 2 180 rater=Iris setup=wall
Iris 2026-05-02 left warm active hip-split 176.2 2 180 rater=Iris setup=wall
Iris 2026-05-02 left warm in-skill hip-split 174.4 2 180 rater=Iris setup=wall
Wren 2026-05-02 left warm passive hip-split 182 2 180
Wren 2026-05-02 left warm active hip-split 164 2 180
Wren 2026-05-02 left warm in-skill hip-split 162 2 180
Plover 2026-05-02 left warm active hip-split 168 2 180
Knot 2026-05-02 left warm passive hip-split 182 2 180
Knot 2026-05-02 left warm active hip-split 168 2 180`

const squadNames = "athlete\nKit\nsiskin\nLio\nIris\nWren\nPlover\n"

// takesIn returns the takes to make in a condition: "Iris 2, Plover 3".
func takesIn(r *record.SquadScreen, condition string) string {
	var out []string
	for _, c := range r.ToTake {
		for _, a := range c.Athletes {
			if c.Condition != condition {
				continue
			}
			for _, s := range a.Sides {
				out = append(out, a.Athlete+" "+s.Side+" "+strings.Repeat("|", s.Takes))
			}
		}
	}
	return strings.Join(out, ", ")
}

func TestSquadScreen(t *testing.T) {
	r := squadAt(t, "2026-05-02", squadTable, squadNames, "left")
	var order []string
	for _, s := range r.Screens {
		order = append(order, s.Athlete+" "+string(s.Outcome)+" "+s.Largest)
	}
	assert.Equal(t, []string{"Wren gap-shown control", "Iris undecided ", "Lio undecided ", "Siskin nothing-missing "}, order)
	assert.Equal(t, []record.WithoutScreen{{Athlete: "Kit", Side: "left", Why: "no reading"}, {Athlete: "Plover", Side: "left", Why: "only active on 2 May 2026"}}, r.Without)
	assert.Equal(t, 6, r.Athletes)
	assert.Empty(t, r.Notes)

	// of today: what is there counts
	require.Len(t, r.ToTake, 3)
	assert.Equal(t, "active", r.ToTake[0].Condition, "in the order of the protocol cards")
	assert.Equal(t, "Kit left |||, Plover left ||", takesIn(r, "active"))
	assert.Equal(t, "Kit left |||, Iris left |, Plover left |||", takesIn(r, "passive"))
	assert.Equal(t, "Kit left |||, Plover left |||", takesIn(r, "in-skill"))
	assert.Equal(t, []string{"6 more takes would not tell (control): Lio left", "6 more takes would not tell (use): Lio left, Iris left"}, r.NotByTakesWords())

	// of another day: a screen compares takes of one day
	r = squadAt(t, "2026-05-03", squadTable, squadNames, "left")
	assert.Equal(t, "Kit left |||, Iris left |, Plover left |||", takesIn(r, "active"))
	assert.Equal(t, "Kit left |||, Iris left ||, Plover left |||", takesIn(r, "passive"))
	assert.Equal(t, "Kit left |||, Iris left |, Plover left |||", takesIn(r, "in-skill"))
	assert.Contains(t, r.Notes[0], "takes of one day")
}

// Without a side both are screened: the other one is missing. A screen of two conditions lacks the
// third.
func TestSquadScreenBothSides(t *testing.T) {
	r := squadAt(t, "2026-05-02", squadTable, "athlete,take,marks\nKnot,a.mp4,a.json\nKnot,b.mp4,b.json\nKit,c.mp4,c.json\n", "")
	require.Len(t, r.Screens, 1)
	assert.Equal(t, []record.WithoutScreen{{Athlete: "Knot", Side: "right", Why: "no reading"}, {Athlete: "Kit", Why: "no reading"}}, r.Without)
	assert.Equal(t, "Knot left |||, Knot right |||, Kit left |||, Kit right |||", takesIn(r, "in-skill"))
	assert.Equal(t, "Knot right |||, Kit left |||, Kit right |||", takesIn(r, "passive"))
	assert.Equal(t, 3+3+6+3+6+3+6, r.Takes())
}

// If screens lack only the angle asked, the error says so.
func TestSquadScreenUnasked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "monday.csv")
	require.NoError(t, os.WriteFile(path, []byte("athlete\nWren\n"), 0o600))
	d := record.New(desk.New(desk.Options{Journal: filedIn(t, "2027-12-31", `
Wren 2026-05-02 left warm passive hip-split 182 2 -
Wren 2026-05-02 left warm active hip-split 164 2 -`), Now: clockAt("2026-05-02")}))
	squad, err := record.SquadOf(path)
	require.NoError(t, err)
	_, err = d.SquadScreen(context.Background(), record.SquadScreenAsk{Squad: squad, ScreenAsk: record.ScreenAsk{Movement: "split", Confidence: 0.95}})
	require.ErrorContains(t, err, "none of the readings says what is asked")
}
