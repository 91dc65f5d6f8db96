package journal

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

func export(t testing.TB, j *Journal, f Filter) string {
	var b bytes.Buffer
	require.NoError(t, j.Export(ctx, &b, f))
	return b.String()
}

// full is a journal with one of everything.
func full(t testing.TB) *Journal {
	j := openNew(t)
	for n := range 20 {
		e := sample(t, n)
		e.Session = []string{"", "evening"}[n%2]
		keep(t, j, e)
	}
	odd := sample(t, 20)
	odd.Athlete, odd.Setup, odd.Rater = `Zoë "<&>" O'Hara`, "=1+1", "@Otto"
	odd.Request.Lens, odd.Request.Priors = sampleLens(t), "schema: ecart/priors/1 # own\n"
	odd.Request.Skill.Title = "a <b> & c"
	odd.Marks = bytes.Replace(odd.Marks, []byte(`{"schema"`), []byte(`{"note": "as <seen> & 1.50e2", "schema"`), 1)
	odd = keep(t, j, odd)
	r, err := odd.Parse()
	require.NoError(t, err)
	r.AngleDeg += 1.25
	require.NoError(t, j.Replace(ctx, odd.ID, r, "1.1.0"))
	require.NoError(t, j.KeepRater(ctx, Rater{Name: "Otto", Day: "2026-05-30", SDPx: 1.875, Freedom: 42, LongSidePx: 1920, Details: []byte(`{"within": [1, 2.50]}`)}))
	return j
}

// An export that is imported into another journal is exported from there with the same bytes.
func TestExportAndBack(t *testing.T) {
	j := full(t)
	out := export(t, j, Filter{})
	assert.True(t, json.Valid([]byte(out)))
	assert.Contains(t, out, `"schema": "ecart/journal/1"`)
	assert.NotContains(t, out, j.Path(), "an export says nothing of the machine")

	k := openNew(t)
	got, err := k.Import(ctx, strings.NewReader(out))
	require.NoError(t, err)
	assert.Equal(t, Imported{Added: 21, Raters: 1}, got)
	assert.Equal(t, out, export(t, k, Filter{}))

	got, err = k.Import(ctx, strings.NewReader("\xef\xbb\xbf"+out))
	require.NoError(t, err)
	assert.Equal(t, Imported{Same: 21}, got, "once more changes nothing")
	assert.Equal(t, out, export(t, k, Filter{}))

	// one athlete's part
	part := export(t, j, Filter{Athlete: "merlin"})
	l := openNew(t)
	got, err = l.Import(ctx, strings.NewReader(part))
	require.NoError(t, err)
	assert.Equal(t, Imported{Added: 2}, got)
	var b bytes.Buffer
	require.ErrorIs(t, j.Export(ctx, &b, Filter{Athlete: "Heron"}), ErrAbsent)
	assert.Empty(t, b.String())
}

func TestImportNamesConflicts(t *testing.T) {
	j := full(t)
	out := export(t, j, Filter{})
	k := openNew(t)
	e := sample(t, 4)
	e.State, e.Session = "cold", ""
	e = keep(t, k, e)
	require.NoError(t, k.KeepRater(ctx, Rater{Name: "otto", Day: "2026-05-01", SDPx: 1, Freedom: 10, LongSidePx: 1920}))
	got, err := k.Import(ctx, strings.NewReader(out))
	require.NoError(t, err)
	assert.Equal(t, 20, got.Added)
	require.Len(t, got.Conflicts, 2)
	assert.Equal(t, "otto", got.Conflicts[0].Who)
	assert.Equal(t, Conflict{ID: e.ID, Who: "Dunlin", Day: e.Day, Differs: []string{`state ("cold" there, "warm" here)`}}, got.Conflicts[1])
	kept, err := k.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, "cold", kept.State, "what is there stays")
}

func TestImportRefuses(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 0))
	out := export(t, j, Filter{})
	require.NoError(t, j.Close())
	k := openNew(t)
	for what, text := range map[string]string{
		"EOF":                        "",
		"form that an export has":    "[]",
		"ecart/reading/1":            `{"schema": "ecart/reading/1"}`,
		"ecart/journal/2":            strings.Replace(out, "journal/1", "journal/2", 1),
		"schema does not come first": `{"readings": []}`,
		`"athletes" is not known`:    `{"schema": "ecart/journal/1", "athletes": []}`,
		"unexpected":                 out[:len(out)-100],
		"something follows":          out + "{}",
		"were changed":               strings.Replace(out, `"x":960.25`, `"x":960.5`, 1),
		"reading 1 of the import":    strings.Replace(out, e.Day, "2031-01-01", 1),
		"kept_at":                    strings.Replace(out, e.KeptAt, "yesterday", 1),
		"no athlete":                 strings.Replace(out, `"athlete":"Wren"`, `"athlete":""`, 1),
		"placement figure":           `{"schema": "ecart/journal/1", "raters": [{"name": "Otto", "day": "2026-05-01"}]}`,
		"invalid character":          "reading,athlete\r\n1,Wren\r\n",
	} {
		require.NotEqual(t, out, text, what)
		_, err := k.Import(ctx, strings.NewReader(text))
		require.ErrorContains(t, err, what)
		assert.NotEmpty(t, hint(t, err), what)
		rows, err := k.List(ctx, Filter{})
		require.NoError(t, err)
		assert.Empty(t, rows, what)
	}
}

func TestCSV(t *testing.T) {
	j := full(t)
	var b bytes.Buffer
	require.NoError(t, j.ExportCSV(ctx, &b, Filter{}))
	text, ok := strings.CutPrefix(b.String(), "\ufeff")
	require.True(t, ok, "spreadsheets know UTF-8 by its mark")
	assert.Equal(t, strings.Count(text, "\n"), strings.Count(text, "\r\n"))
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 22)
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	list, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	for i, row := range rows[1:] {
		_, err := time.Parse(time.DateOnly, row[col["day"]])
		require.NoError(t, err)
		angle, err := strconv.ParseFloat(row[col["angle_deg"]], 64)
		require.NoError(t, err)
		assert.Equal(t, list[i].AngleDeg, angle)
		placement, err := strconv.ParseFloat(row[col["placement_deg"]], 64)
		require.NoError(t, err)
		budget, err := list[i].Budget()
		require.NoError(t, err)
		assert.Equal(t, budget["placement"], placement)
	}
	last := rows[21]
	assert.Equal(t, []string{`Zoë "<&>" O'Hara`, "'=1+1", "'@Otto", "1.1.0"}, []string{last[col["athlete"]], last[col["setup"]], last[col["rater"]], last[col["tool"]]})
}

// Every entry that an import passes on is valid, and a second check changes nothing in it. Every error
// has a hint.
func FuzzImport(f *testing.F) {
	j := openNew(f)
	keep(f, j, sample(f, 0))
	out := export(f, j, Filter{})
	f.Add(out)
	f.Add(`{"schema": "ecart/journal/1", "raters": [{"name": "Otto", "day": "2026-05-01", "sd_px": 1, "freedom": 3, "long_side_px": 9}], "readings": []}`)
	f.Add(strings.Replace(out, `"request":{`, `"former":[{"reading":{}}],"request":{`, 1))
	f.Fuzz(func(t *testing.T, text string) {
		in := importer{today: "2026-06-01", dec: json.NewDecoder(strings.NewReader(text)),
			onRater: func(r Rater) error { return r.complete("2026-06-01") },
			onEntry: func(e *Entry, _ *reading.Reading) error {
				second := *e
				_, err := second.complete("2026-06-01")
				require.NoError(t, err)
				require.Equal(t, e, &second)
				return nil
			}}
		if err := in.run(); err != nil {
			require.NotEmpty(t, hint(t, err))
		}
	})
}
