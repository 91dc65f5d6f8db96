package rulebook

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

// measures has the measures that a rule book may name.
var measures = []string{"hip-split", "shoulder-flexion", "leg-separation", "shoulder-extension", "pike", "knee-bend",
	"elbow-bend", "foot-point", "off-vertical", "leg-rise",
	"hip-flexion", "hip-extension", "uneven-legs", "trunk-arch", "shoulder-flexion-from-ribs", "foot-sickle"}

func known(measure string) bool { return slices.Contains(measures, measure) }

// Every line of the files in testdata/bad that has something wrong with it says
// what after "#!". The findings have to be those, on those lines, and no others.
func TestCheckFileFindsEachFault(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		problems, err := CheckFile(file, known)
		require.NoError(t, err)
		for i, line := range strings.Split(string(text), "\n") {
			at := fmt.Sprintf("%s:%d:", file, i+1)
			for _, want := range strings.Split(line, "#!")[1:] {
				want = strings.TrimSpace(want)
				found := -1
				for j, p := range problems {
					if msg := p.Error(); strings.HasPrefix(msg, at) && strings.Contains(msg, want) {
						found = j
						break
					}
				}
				if assert.GreaterOrEqual(t, found, 0, "%swanted %q", at, want) {
					assert.NotEmpty(t, problems[found].Hint(), "what to do about: %s", problems[found])
					problems = append(problems[:found], problems[found+1:]...)
				}
			}
		}
		for _, p := range problems {
			t.Errorf("not wanted: %v", p)
		}
	}
}

func TestGoodFilesHaveNoFindings(t *testing.T) {
	var files []string
	for _, glob := range []string{"books/*.yaml", "testdata/good/*.yaml"} {
		some, err := filepath.Glob(glob)
		require.NoError(t, err)
		require.NotEmpty(t, some)
		files = append(files, some...)
	}
	for _, file := range files {
		problems, err := CheckFile(file, known)
		require.NoError(t, err)
		assert.Empty(t, problems, file)
	}
}

// A finding has the place of the value or the key that is meant, in characters: the
// text from there on begins with it.
func TestFindingsPointAtTheirPlace(t *testing.T) {
	tests := []struct {
		text, want string // what is at the place
		at         place  // counted by hand
	}{
		{"schema: ecart/rulebook/2\n", "ecart/rulebook/2", place{Line: 1, Column: 9}},
		{"schema: \"ecart/rulebook/2\"\n", "\"ecart/rulebook/2\"", place{Line: 1, Column: 9}},
		{"schema: ecart/rulebook/1\nbook: Größe\n", "Größe", place{Line: 2, Column: 7}},
		{"{schema: ecart/rulebook/1, title: größer, titel: x}", "titel", place{Line: 1, Column: 43}},
		{"skills:\n  - name: leap\n    measured: x\n", "measured", place{Line: 3, Column: 5}},
		{"skills:\n  - {name: leap, default: perhaps}\n", "perhaps", place{Line: 2, Column: 27}},
		{"\xef\xbb\xbfschema: x\r\nbook: A\r\n", "A", place{Line: 2, Column: 7}},
		{"book: 'a\n", "'a", place{Line: 1, Column: 7}},
	}
	for _, tt := range tests {
		_, problems := decode("x.yaml", []byte(tt.text), known)
		var found []place
		for _, p := range problems {
			found = append(found, place{Line: p.Line, Column: p.Column})
		}
		assert.Contains(t, found, tt.at, "%q: %v", tt.text, problems)
		lines := strings.Split(strings.TrimPrefix(tt.text, "\xef\xbb\xbf"), "\n")
		rest := []rune(lines[tt.at.Line-1])[tt.at.Column-1:]
		assert.True(t, strings.HasPrefix(string(rest), tt.want), "%q begins with %q", string(rest), tt.want)
	}
}

// The same book with Windows line ends and a byte order mark is the same book.
func TestLineEndsAndByteOrderMark(t *testing.T) {
	text, err := os.ReadFile("testdata/good/halle-nord.yaml")
	require.NoError(t, err)
	want, problems := decode("x", text, known)
	require.Empty(t, problems)
	got, problems := decode("x", append([]byte("\xef\xbb\xbf"), bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))...), known)
	require.Empty(t, problems)
	assert.Equal(t, want, got)
}

func TestTextThatIsNoRuleBook(t *testing.T) {
	var bomb strings.Builder // each list holds the one before ten times
	bomb.WriteString("a0: &a0 [x, x]\n")
	for i := 1; i < 12; i++ {
		fmt.Fprintf(&bomb, "a%d: &a%d [%s]\n", i, i, strings.Repeat(fmt.Sprintf("*a%d, ", i-1), 10))
	}
	tests := []struct {
		name, text string
		line       int
		want       string
	}{
		{"nothing", "", 0, "the file is empty"},
		{"only a comment", "# nothing\n", 0, "the file is empty"},
		{"not YAML", "schema: ecart/rulebook/1\nbook: \"open\nskills: [\n", 2, "not YAML"},
		{"a bracket left open", "schema: ecart/rulebook/1\nskills: [\n", 2, "not YAML"},
		{"a tab for indentation", "schema: x\nskills:\n\t- name: y\n", 3, "not YAML"},
		{"a list", "- a\n- b\n", 1, "the file is a list, and has to be a table of keys"},
		{"a word", "hello", 1, "the file is a single value"},
		{"a key twice", "schema: ecart/rulebook/1\nbook: a\nbook: b\n", 3, `key "book" is here twice, first on line 2`},
		{"two documents", "schema: x\n---\nschema: y\n", 3, "a second YAML document in one file"},
		{"alias bomb", bomb.String(), 1, "YAML anchors, aliases, tags and directives are not allowed"},
		{"merge key", "a:\n  b: c\nd:\n  <<: {b: c}\n", 4, "are not allowed"},
		{"tag", "schema: !!binary aGVsbG8=\n", 1, "are not allowed"},
		{"deep brackets", "a: " + strings.Repeat("[", 60_000), 1, "nested more than 20 deep"},
		{"deep braces", strings.Repeat("{a: ", 16_000), 1, "nested more than 20 deep"},
		{"deep dashes", strings.Repeat("- ", 32_000), 1, "nested more than 20 deep"},
		{"deep indentation", staircase(300), 22, "nested more than 20 deep"},
		{"not text", "schema: \xff\xfe\n", 0, "not UTF-8 text"},
		{"too big", "# " + strings.Repeat("x", strict.MaxYAMLBytes), 0, "the file is too big"},
		{"too many lines", strings.Repeat("\n", strict.MaxYAMLLines+1), 0, "the file is too big"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "book.yaml")
			require.NoError(t, os.WriteFile(file, []byte(tt.text), 0o600))
			problems, err := CheckFile(file, known)
			require.NoError(t, err)
			require.NotEmpty(t, problems)
			assert.Contains(t, problems[0].Error(), tt.want)
			assert.Equal(t, tt.line, problems[0].Line)
			assert.Equal(t, file, problems[0].File)
			assert.NotEmpty(t, problems[0].Hint())
			assert.NotContains(t, problems[0].Error(), "\n")
		})
	}
}

func staircase(steps int) string {
	var b strings.Builder
	for i := range steps {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func TestFindingsAreLimited(t *testing.T) {
	_, problems := decode("x.yaml", []byte("schema: ecart/rulebook/1\nskills:\n"+strings.Repeat("  - no\n", 500)), known)
	require.Len(t, problems, maxProblems+1)
	assert.Contains(t, problems[maxProblems].Error(), "more problems")
}

func TestFileThatCannotBeRead(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe.yaml")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600)) // reading one would wait for ever
	for file, want := range map[string]string{
		filepath.Join(dir, "none.yaml"): "does not exist",
		dir:                             "is a folder",
		pipe:                            "is not an ordinary file",
	} {
		_, err := CheckFile(file, known)
		var e *fault.Error
		require.ErrorAs(t, err, &e)
		assert.Contains(t, e.Error(), want)
		assert.Contains(t, e.Error(), file)
		assert.NotEmpty(t, e.Hint())
	}
}
