package rulebook

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
)

// A copy is the same book under another id: the same skills and figures, and
// every comment and line of the file but the one with the id.
func TestCopyIsTheSameBookUnderAnotherID(t *testing.T) {
	l, err := Load("", known)
	require.NoError(t, err)
	s := compiled(t)
	for _, b := range l.Books() {
		text, err := b.Copy("halle-nord")
		require.NoError(t, err, b.ID)
		assert.True(t, strings.HasPrefix(string(text), "# yaml-language-server: $schema=./rulebook.schema.json\n# A copy of "+b.ID+"."), b.ID)
		assert.NoError(t, s.Validate(asEditor(t, text)), b.ID)

		original, err := os.ReadFile(filepath.Join("books", b.File))
		require.NoError(t, err)
		want := strings.Replace(string(original), "\nbook: "+b.ID+"\n", "\nbook: halle-nord\n", 1)
		_, rest, _ := strings.Cut(string(text), ".\n")
		assert.Equal(t, want, rest, b.ID)

		got, problems := decode(b.File, text, known)
		require.Empty(t, problems, b.ID)
		for i, k := range b.Skills {
			k.Book, k.Line = "halle-nord", k.Line+2
			if k.straight != nil {
				rule := *k.straight
				rule.Rule = "halle-nord/" + k.Straight
				k.straight = &rule
			}
			assert.Equal(t, k, got.Skills[i])
		}
		assert.Len(t, got.Skills, len(b.Skills))
	}
}

func TestCopyOfAUsersBook(t *testing.T) {
	small := smallBook("hall-a", "")
	for name, text := range map[string]string{
		"plain":         small,
		"in quotes":     strings.Replace(small, "book: hall-a", `book: "hall-a" # ours`, 1),
		"in others":     strings.Replace(small, "book: hall-a", `"book":   'hall-a'`, 1),
		"in braces":     `{title: Größe, book: hall-a, ` + strings.NewReplacer("\n", " ").Replace(`schema: ecart/rulebook/1, document: d, edition: e, skills: [{name: hall-a, title: t, measure: pike, asked_deg: 9, origin: {provenance: published, source: s}, bands: [{over_deg: 0}]}]}`),
		"from Windows":  "\xef\xbb\xbf" + strings.ReplaceAll(small, "\n", "\r\n"),
		"a copy itself": modeline + "./rulebook.schema.json\n" + small,
	} {
		l := load(t, map[string]string{"a.yaml": text})
		b, err := l.Book("hall-a")
		require.NoError(t, err, name)
		copied, err := b.Copy("hall-b")
		require.NoError(t, err, name)
		got, problems := decode("b.yaml", copied, known)
		require.Empty(t, problems, name)
		assert.Equal(t, "hall-b", got.ID, name)
		assert.Equal(t, b.Title, got.Title, name)
		assert.Equal(t, b.Skills[0].Name, got.Skills[0].Name, "%s: only the id is changed", name)
		assert.Equal(t, 1, strings.Count(string(copied), modeline), name)
	}
	b, err := load(t, map[string]string{"a.yaml": strings.Replace(small, "book: hall-a", "book: >-\n  hall-a", 1)}).Book("hall-a")
	require.NoError(t, err)
	_, err = b.Copy("hall-b")
	var e *fault.Error
	require.ErrorAs(t, err, &e, "what cannot be done safely is not done")
	assert.Contains(t, e.Hint(), "by hand")
}

func TestTemplateIsAGoodBook(t *testing.T) {
	text, err := Template("squad-2")
	require.NoError(t, err)
	b, problems := decode("squad-2.yaml", text, known)
	require.Empty(t, problems)
	assert.Equal(t, "squad-2", b.ID)
	assert.NoError(t, compiled(t).Validate(asEditor(t, text)))
	measured := slices.ContainsFunc(b.Skills, func(s Skill) bool { return s.NotMeasured == "" })
	inWords := slices.ContainsFunc(b.Skills, func(s Skill) bool { return s.NotMeasured != "" })
	assert.True(t, measured && inWords, "it shows both kinds of skill")
	for _, line := range strings.Split(string(text), "\n") {
		assert.LessOrEqual(t, len(line), 78, "it stands in a help text of 80 columns, set in by two: %s", line)
	}
}

func TestInvalidIDs(t *testing.T) {
	for id, hint := range map[string]string{
		"Halle Nord": "here perhaps halle-nord", "": "such as halle-nord", "../x": "here perhaps x", "a--b": "here perhaps a-b",
		strings.Repeat("x", 41): "at most 40", "größe": "such as halle-nord", "x\x1b[31m": "here perhaps x-31m", "a/b": "here perhaps a-b",
	} {
		_, err := Template(id)
		var e *fault.Error
		require.ErrorAs(t, err, &e, id)
		assert.Contains(t, e.Error(), "cannot be the name of a rule book")
		assert.Contains(t, e.Hint(), hint, id)
	}
}
