package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// alter changes bytes of the closed journal's file.
func alter(t *testing.T, path, from, to string) {
	require.Len(t, to, len(from))
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, 1, bytes.Count(data, []byte(from)), "%q", from)
	require.NoError(t, os.WriteFile(path, bytes.Replace(data, []byte(from), []byte(to), 1), 0o600))
}

// One damaged byte in one reading, an invalid JSON or another digit: that reading is named, and every
// operation works for the others.
func TestOneDamagedReading(t *testing.T) {
	for _, to := range []string{`961.37254320`, `961.37254"21`} {
		j := openNew(t)
		path := j.Path()
		keep(t, j, sample(t, 1))
		bad := keep(t, j, secret(t, 3))
		keep(t, j, sample(t, 2))
		require.NoError(t, j.Close())
		alter(t, path, `961.37254321`, to)

		j = openAt(t, path)
		_, err := j.Show(ctx, bad.ID)
		var one *Damaged
		require.ErrorAs(t, err, &one)
		assert.Equal(t, bad.ID, one.ID)
		assert.ErrorContains(t, err, "reading 2 of Kingfisher")
		assert.Contains(t, hint(t, err), "“erase the reading 2”")

		var b bytes.Buffer
		err = j.Export(ctx, &b, Filter{})
		var all DamagedReadings
		require.ErrorAs(t, err, &all)
		require.Len(t, all, 1)
		back := openNew(t)
		got, err := back.Import(ctx, &b)
		require.NoError(t, err)
		assert.Equal(t, 2, got.Added)

		var sound, failed int
		for m, err := range j.Recompute(ctx, Filter{}, func(e *Entry) (*reading.Reading, error) { return e.Parse() }) {
			require.NoError(t, err)
			if m.Err != nil {
				require.ErrorAs(t, m.Err, &one)
				failed++
			} else {
				sound++
			}
		}
		assert.Equal(t, []int{2, 1}, []int{sound, failed})

		// it is put right: erased, and imported from an export that has it
		second := export(t, openWith(t, sample(t, 1), secret(t, 3)), Filter{})
		left, err := j.Import(ctx, strings.NewReader(second))
		require.NoError(t, err)
		require.Len(t, left.Conflicts, 1)
		_, err = j.EraseReadings(ctx, bad.ID)
		require.NoError(t, err)
		left, err = j.Import(ctx, strings.NewReader(second))
		require.NoError(t, err)
		assert.Equal(t, 1, left.Added)
		require.NoError(t, j.Export(ctx, &b, Filter{}))
	}
}

func openWith(t *testing.T, entries ...Entry) *Journal {
	j := openNew(t)
	for _, e := range entries {
		keep(t, j, e)
	}
	return j
}

// A row with an altered figure is not listed.
func TestDamagedFigureInList(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 1))
	keep(t, j, sample(t, 2))
	_, err := j.db.Exec("UPDATE reading SET angle_deg = angle_deg + 1 WHERE id = ?", e.ID)
	require.NoError(t, err)
	rows, err := j.List(ctx, Filter{})
	assert.Len(t, rows, 1)
	var all DamagedReadings
	require.ErrorAs(t, err, &all)
	assert.Equal(t, e.ID, all[0].ID)
	var b bytes.Buffer
	require.ErrorAs(t, j.ExportCSV(ctx, &b, Filter{}), &all)
	assert.Equal(t, 2, strings.Count(b.String(), "\r\n"), "the head and the sound one")

	_, err = j.db.Exec("UPDATE athlete SET name = 'Wrem' WHERE key = ?", key(sample(t, 2).Athlete))
	require.NoError(t, err)
	rows, _ = j.List(ctx, Filter{})
	assert.Empty(t, rows, "nor under a name that is not as it was")
}

// A journal without checksums gets them when it is opened, and later damage is noticed.
func TestChecksumsAreAdded(t *testing.T) {
	j := openNew(t)
	keep(t, j, secret(t, 3))
	e := keep(t, j, sample(t, 1))
	require.NoError(t, j.Replace(ctx, e.ID, changedReading(t, &e), "1.0.0"))
	_, err := j.db.Exec("DROP TABLE checksum; PRAGMA user_version = 2")
	require.NoError(t, err)
	require.NoError(t, j.Close())
	j = openAt(t, j.Path())
	var b bytes.Buffer
	require.NoError(t, j.Export(ctx, &b, Filter{}), "all of them are as they were")
	require.NoError(t, j.Close())
	alter(t, j.Path(), `961.37254321`, `961.37254329`)
	j = openAt(t, j.Path())
	require.ErrorContains(t, j.Export(ctx, &b, Filter{}), "is damaged")
}

func changedReading(t *testing.T, e *Entry) *reading.Reading {
	r, err := e.Parse()
	require.NoError(t, err)
	r.AngleDeg += 0.125
	return r
}

// The file's header has an impossible form.
func TestDamagedHead(t *testing.T) {
	for _, v := range []byte{0x80, 0xff} {
		j := openNew(t)
		keep(t, j, sample(t, 1))
		require.NoError(t, j.Close())
		data, err := os.ReadFile(j.Path())
		require.NoError(t, err)
		data[60] |= v // user_version, big-endian (SQLite file format, 1.3)
		require.NoError(t, os.WriteFile(j.Path(), data, 0o600))
		for _, opt := range []Options{{Now: spring}, {Now: spring, Read: true}, {Now: spring, Create: true}} {
			_, err = Open(j.Path(), opt)
			require.ErrorContains(t, err, "is damaged")
			assert.NotEmpty(t, hint(t, err))
		}
		data[60], data[63] = 0, 0
		require.NoError(t, os.WriteFile(j.Path(), data, 0o600))
		_, err = Open(j.Path(), Options{Now: spring})
		require.ErrorContains(t, err, "is damaged")
	}
}

// A journal damaged at random causes no panic, only errors in words, and the readings that it gives are
// those that were kept.
func TestRandomDamage(t *testing.T) {
	rnd := rand.New(rand.NewPCG(13, 2026))
	j := openNew(t)
	kept := map[string]string{}
	for n := range 40 {
		e := keep(t, j, sample(t, n))
		kept[e.UID] = string(e.Reading) + string(e.Marks) + e.Athlete + e.Day + e.Note
	}
	require.NoError(t, j.Close())
	whole, err := os.ReadFile(j.Path())
	require.NoError(t, err)
	part := 0
	for round := range 80 {
		path := filepath.Join(t.TempDir(), "damaged.journal")
		data := bytes.Clone(whole)
		switch round % 4 {
		case 0: // one bit anywhere
			data[rnd.IntN(len(data))] ^= 1 << rnd.IntN(8)
		case 1: // a sector of nothing
			at := rnd.IntN(len(data)/512) * 512
			clear(data[at : at+512])
		case 2: // cut off
			data = data[:rnd.IntN(len(data))]
		case 3: // the head of a page, where it says which parts it has: SQLite may then give fewer, and no error
			data[rnd.IntN(len(data)/4096)*4096+rnd.IntN(40)] ^= 1 << rnd.IntN(8)
		}
		require.NoError(t, os.WriteFile(path, data, 0o600))
		checkError := func(err error) {
			if err != nil {
				require.NotEmpty(t, hint(t, err))
				require.NotRegexp(t, `\(\d+\)|should not|SQL logic|constraint`, err.Error())
			}
		}
		j, err := Open(path, Options{Now: spring})
		if err != nil {
			checkError(err)
			continue
		}
		var b bytes.Buffer
		err = j.Export(ctx, &b, Filter{})
		checkError(err)
		var all DamagedReadings
		if err == nil || errors.As(err, &all) {
			var out struct{ Readings []Entry }
			require.NoError(t, json.Unmarshal(b.Bytes(), &out))
			for _, e := range out.Readings {
				require.Equal(t, kept[e.UID], string(e.Reading)+string(e.Marks)+e.Athlete+e.Day+e.Note, "round %d", round)
			}
			if err == nil {
				require.Equal(t, len(kept), len(out.Readings), "round %d: readings are missing, and nothing is said", round)
			}
			part += len(out.Readings)
		}
		_, err = j.List(ctx, Filter{})
		checkError(err)
		_, err = j.Athletes(ctx)
		checkError(err)
		for m, err := range j.Recompute(ctx, Filter{}, func(e *Entry) (*reading.Reading, error) { return e.Parse() }) {
			checkError(err)
			checkError(m.Err)
		}
		_, err = j.Erase(ctx, "Wren")
		checkError(err)
		e := sample(t, 41)
		_, err = j.Keep(ctx, &e)
		checkError(err)
		checkError(j.Relocate(ctx, path+".new"))
		j.Close()
	}
	t.Logf("%d of %d readings were exported", part, 80*40)
	assert.Greater(t, part, 300)
}

// An import refuses what no version of ecart writes.
func TestImportChecksFigures(t *testing.T) {
	j := openWith(t, sample(t, 1))
	out := export(t, j, Filter{})
	angle := figureIn(t, out, `"angle_deg":`)
	for _, c := range []struct{ old, new, want string }{
		{`"angle_deg":` + angle, `"angle_deg":10`, "outside its own interval"},
		{`"coverage":0.95`, `"coverage":95`, "coverage"},
		{`"frame":137,"time_s"`, `"frame":-1,"time_s"`, "frame -1"},
		{`"decision":"short"`, `"decision":"maybe"`, "decision"},
		{`"width_px":1920`, `"width_px":0`, "pixels"},
		{`"source":"oblique"`, `"source":""`, "source"},
		{`"kept_at":"2026-06-01T18:30:00Z",`, `"kept_at":"2026-06-01T18:30:00Z","former":[{"tool":"1","replaced_at":"then","reading":{}}],`, "former reading"},
	} {
		require.Contains(t, out, c.old)
		_, err := openNew(t).Import(ctx, strings.NewReader(strings.Replace(out, c.old, c.new, 1)))
		require.ErrorContains(t, err, c.want)
		require.NotEmpty(t, hint(t, err))
		require.Error(t, CheckImport(strings.NewReader(strings.Replace(out, c.old, c.new, 1)), spring))
	}
	require.NoError(t, CheckImport(strings.NewReader(out), spring))
}

func figureIn(t *testing.T, text, after string) string {
	_, rest, ok := strings.Cut(text, `"reading":{`)
	require.True(t, ok)
	_, rest, ok = strings.Cut(rest, after)
	require.True(t, ok)
	figure, _, _ := strings.Cut(rest, ",")
	return figure
}

// A take's file name may contain the athlete's name: Move replaces it everywhere, and the same marks
// still count as kept.
func TestMoveForgetsTheTakesName(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	e := keep(t, j, secret(t, 3))
	require.NoError(t, j.Replace(ctx, e.ID, changedReading(t, &e), "1.0.0"))
	n, err := j.Move(ctx, Filter{Athlete: "Kingfisher"}, "Athlete 7", true)
	require.NoError(t, err)
	require.Equal(t, 1, n)
	assert.NotEmpty(t, traces(t, dir, "leap-kingfisher.mp4"))
	_, err = j.Move(ctx, Filter{Athlete: "Athlete 7"}, "Athlete 8", false)
	require.NoError(t, err)
	assert.Empty(t, traces(t, dir, "leap-kingfisher.mp4"))
	got, err := j.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Contains(t, string(got.Reading), `"name":"take-00000000.mp4"`)
	assert.Contains(t, string(got.Former[0].Reading), `"name":"take-00000000.mp4"`)
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Equal(t, "take-00000000.mp4", rows[0].Take.Name)
	assert.Equal(t, "take-12345678", neutralName("x.Kingfisher", "12345678"), "an unknown extension may be a name")

	same := secret(t, 3)
	same.Athlete, same.Reading = "Athlete 8", got.Reading
	renamed, err := renameTake(got.Reading, "leap-kingfisher.mp4")
	require.NoError(t, err)
	e2 := *got
	e2.Reading = renamed
	assert.Empty(t, differences(got, &e2), "the name of a take is no difference")
}

// No cell of a table is a formula, even if an imported source is.
func TestCSVHeadIsNoFormula(t *testing.T) {
	e := sample(t, 1)
	e.Reading = bytes.Replace(e.Reading, []byte(`"source":"oblique"`), []byte(`"source":"=HYPERLINK(1)"`), 1)
	j := openWith(t, e)
	var b bytes.Buffer
	require.NoError(t, j.ExportCSV(ctx, &b, Filter{}))
	assert.Contains(t, b.String(), ",'=HYPERLINK(1)_deg,")
	assert.NotContains(t, b.String(), ",=")
}

// Characters that control the direction of text are escaped in exports, and restored by imports.
func TestBidiIsEscaped(t *testing.T) {
	e := sample(t, 1)
	e.Note = "left\u202etfel"
	e.Reading = bytes.Replace(e.Reading, []byte("leap-wren.mp4"), []byte("leap\u202e4pm.mp4"), 1)
	j := openWith(t, e)
	out := export(t, j, Filter{})
	assert.NotContains(t, out, "\u202e")
	back := openNew(t)
	for i := range 2 {
		got, err := back.Import(ctx, strings.NewReader(out))
		require.NoError(t, err)
		assert.Equal(t, []int{1 - i, i}, []int{got.Added, got.Same}, fmt.Sprint(i))
	}
	var b bytes.Buffer
	require.NoError(t, j.ExportCSV(ctx, &b, Filter{}))
	assert.NotContains(t, b.String(), "\u202e")
}
