package rulebook

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
)

// smallBook is the text of a book with one skill, split-leap unless named.
func smallBook(id, extra string) string {
	return `schema: ecart/rulebook/1
book: ` + id + `
title: a hall's own
document: notes of the hall
edition: spring
skills:
  - name: split-leap
    title: split leap
    measure: hip-split
    asked_deg: 150
    ` + extra + `
    origin: {provenance: common-practice, source: the coaches}
    bands:
      - {over_deg: 0}
`
}

func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return dir
}

func load(t *testing.T, files map[string]string) *Library {
	t.Helper()
	l, err := Load(folder(t, files), known)
	require.NoError(t, err)
	return l
}

func TestFindAcceptsPlainAndFullNames(t *testing.T) {
	l := load(t, nil)
	for asked, want := range map[string]string{
		"split-leap":             "fig-women/split-leap", // the default of four
		"fig-aerobic/split-leap": "fig-aerobic/split-leap",
		" Split Leap ":           "fig-women/split-leap",
		"bars-handstand":         "fig-women/bars-handstand",
		"shoulder-past-ear":      "common-practice/shoulder-past-ear",
	} {
		got, err := l.Skill(asked)
		require.NoError(t, err, asked)
		assert.Equal(t, want, got.Ref())
	}
	assert.Equal(t, []string{"development-10/split-leap", "development-6-9/split-leap", "fig-aerobic/split-leap", "fig-women/split-leap"}, Refs(l.Named("split-leap")))
}

func TestFindSuggestsTheNearest(t *testing.T) {
	l := load(t, nil)
	tests := []struct{ asked, text, hint string }{
		{"split-laep", `no rule book has a skill "split-laep"`, "the nearest are split-leap,"},
		{"handstand", `no rule book has a skill "handstand"`, "the nearest are cast-handstand, handstand-hold, bars-handstand;"},
		{"fig-women/split", `no rule book has a skill "fig-women/split"`, "the nearest are fig-women/split-leap,"},
		{"fig-woman/split-leap", `no rule book "fig-woman"`, "the nearest are fig-women,"},
		{"fig-women", `"fig-women" is a rule book, not a skill`, "fig-women/bars-handstand"},
		{"", `no rule book has a skill ""`, "the nearest are"},
		{"\x1b[31m", `no rule book has a skill "\x1b[31m"`, "the nearest are"},
		{strings.Repeat("x", 5000), `xxx..."`, "the nearest are"},
	}
	for _, tt := range tests {
		_, err := l.Find(tt.asked)
		var e *fault.Error
		require.ErrorAs(t, err, &e, tt.asked)
		assert.Contains(t, e.Error(), tt.text)
		assert.Contains(t, e.Hint(), tt.hint)
		assert.Less(t, len(e.Error()), 120)
	}
}

func TestNameInSeveralBooksNeedsTheBook(t *testing.T) {
	l := load(t, map[string]string{
		"a.yaml": strings.ReplaceAll(smallBook("hall-a", ""), "name: split-leap", "name: straddle"),
		"b.yml":  strings.ReplaceAll(smallBook("hall-b", ""), "name: split-leap", "name: straddle"),
	})
	_, err := l.Find("straddle")
	var e *fault.Error
	require.ErrorAs(t, err, &e)
	assert.Equal(t, `skill "straddle" is in 2 rule books: hall-a/straddle, hall-b/straddle`, e.Error())
	assert.Equal(t, "name the book too, such as hall-a/straddle", e.Hint())
}

func TestTheUsersDefaultGoesFirst(t *testing.T) {
	s, err := load(t, map[string]string{"a.yaml": smallBook("hall-a", "default: true")}).Skill("split-leap")
	require.NoError(t, err)
	assert.Equal(t, "hall-a/split-leap", s.Ref())

	s, err = load(t, map[string]string{"a.yaml": smallBook("hall-a", "")}).Skill("split-leap")
	require.NoError(t, err)
	assert.Equal(t, "fig-women/split-leap", s.Ref(), "a book that does not ask to be the default is not")

	_, err = load(t, map[string]string{
		"a.yaml": smallBook("hall-a", "default: true"), "b.yaml": smallBook("hall-b", "default: true"),
	}).Skill("split-leap")
	assert.ErrorContains(t, err, "is in 6 rule books", "two defaults of the user's are none")
}

func TestUsersBookReplacesTheBuiltInOne(t *testing.T) {
	l := load(t, map[string]string{"mine.yaml": smallBook("fig-aerobic", "")})
	s, err := l.Find("fig-aerobic/split-leap")
	require.NoError(t, err)
	assert.Equal(t, 150.0, s.AskedDeg)
	require.Len(t, l.Warnings(), 1)
	assert.Contains(t, l.Warnings()[0].Error(), `mine.yaml: rule book "fig-aerobic" replaces the built-in one`)
	for _, b := range l.Books() {
		assert.Equal(t, b.ID == "fig-aerobic", b.Replaces, b.ID)
		assert.Equal(t, b.ID != "fig-aerobic", b.BuiltIn, b.ID)
	}
}

func TestBrokenFileIsLeftOutAndTheOthersLoad(t *testing.T) {
	dir := folder(t, map[string]string{
		"broken.yaml": smallBook("fig-aerobic", "asked: 3"),
		"good.yaml":   smallBook("hall-a", ""),
		"twin.yaml":   smallBook("hall-a", ""),
		"notes.txt":   "not a rule book",
		".hidden.yml": "not one either",
	})
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.yaml"), 0o700))
	l, err := Load(dir, known)
	require.NoError(t, err)

	s, err := l.Find("fig-aerobic/split-leap")
	require.NoError(t, err)
	assert.Equal(t, 180.0, s.AskedDeg, "the built-in book stays where the user's is broken")
	_, err = l.Find("hall-a/split-leap")
	require.NoError(t, err)

	var got []string
	for _, p := range l.Warnings() {
		got = append(got, strings.ReplaceAll(p.Error(), dir+string(filepath.Separator), ""))
		assert.NotEmpty(t, p.Hint(), p.Error())
	}
	assert.Equal(t, []string{
		`broken.yaml:11:5: skill "split-leap": unknown key "asked" in a skill`,
		`broken.yaml: the rule book is left out`,
		`folder.yaml: rule book "folder.yaml" is a folder`,
		`twin.yaml: rule book "hall-a" is already in good.yaml, and is left out`,
	}, got)
}

func TestFolderOfTheUsers(t *testing.T) {
	l, err := Load(filepath.Join(t.TempDir(), "none"), known)
	require.NoError(t, err, "a folder that is not there yet is no failure")
	assert.Equal(t, []string{"common-practice", "dance", "development-10", "development-6-9", "fig-aerobic", "fig-men", "fig-women", "xcel"}, ids(l))

	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err = Load(file, known)
	var e *fault.Error
	require.ErrorAs(t, err, &e)
	assert.Contains(t, e.Error(), file)
	assert.NotEmpty(t, e.Hint())
}

func ids(l *Library) (out []string) {
	for _, b := range l.Books() {
		out = append(out, b.ID)
	}
	return out
}

func TestEveryKeyArrives(t *testing.T) {
	text, err := os.ReadFile("testdata/good/halle-nord.yaml")
	require.NoError(t, err)
	b, problems := decode("halle-nord.yaml", text, known)
	require.Empty(t, problems)
	assert.Equal(t, "Halle Nord: squad goals", b.Title)
	assert.Equal(t, "Agreed by the coaches. Looked at again in autumn.", b.Note)

	leap := b.Skills[0]
	assert.Equal(t, Origin{CommonPractice, "minutes", "2026", "leaps", "agreed by the coaches", "2026-09-01"}, leap.Origin)
	assert.Equal(t, "minutes; leaps; agreed by the coaches; looked at 2026-09-01", leap.Origin.String())
	assert.Equal(t, &Origin{FromMemory, "minutes", "2026", "leaps", "Plover's coach", ""}, leap.Bands[1].Origin)
	assert.Equal(t, 22.5, *leap.Bands[0].ToDeg)
	assert.Equal(t, "0,10", leap.Bands[0].Deduction, "a deduction stays as the book words it")
	assert.Equal(t, []string{"Never through pain."}, leap.Cautions)

	r, err := leap.Reading()
	require.NoError(t, err)
	assert.Equal(t, "from-memory", r.Provenance, "a skill is known no better than its weakest figure")
	assert.Equal(t, "minutes; leaps; Plover's coach", r.Source)

	_, err = b.Skills[1].Reading()
	assert.ErrorContains(t, err, `skill "halle-nord/legs-apart" is worded for something no measure gives: the gap between the ankles in shoulder widths`)
	assert.Equal(t, "less than shoulder width", b.Skills[1].Bands[0].Label)
}

func BenchmarkLoadBuiltIn(b *testing.B) {
	for b.Loop() {
		if _, err := Load("", known); err != nil {
			b.Fatal(err)
		}
	}
}
