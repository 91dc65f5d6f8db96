package rulebook

import (
	"bytes"
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"
)

// compiled returns the schema in an independent validator.
func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(JSONSchema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("rulebook.json", doc))
	s, err := c.Compile("rulebook.json")
	require.NoError(t, err, "a schema that is none, by the meta-schema of its draft")
	return s
}

// asEditor reads a YAML file as an editor does that checks it by a schema: with
// a parser that is not the decoder's, by the core schema of YAML 1.2, in which a
// date is a text.
func asEditor(t *testing.T, text []byte) any {
	t.Helper()
	var n yaml.Node
	require.NoError(t, yaml.Unmarshal(text, &n))
	var value func(n *yaml.Node) any
	value = func(n *yaml.Node) any {
		switch n.Kind {
		case yaml.DocumentNode:
			return value(n.Content[0])
		case yaml.SequenceNode:
			out := []any{}
			for _, c := range n.Content {
				out = append(out, value(c))
			}
			return out
		case yaml.MappingNode:
			out := map[string]any{}
			for i := 0; i < len(n.Content); i += 2 {
				out[n.Content[i].Value] = value(n.Content[i+1])
			}
			return out
		}
		if n.Tag == "!!timestamp" {
			return n.Value
		}
		var v any
		require.NoError(t, n.Decode(&v))
		if f, ok := v.(float64); ok && (math.IsNaN(f) || math.IsInf(f, 0)) {
			return n.Value // which JSON has no number for
		}
		return v
	}
	return value(&n)
}

func filesOf(t *testing.T, glob string) []string {
	t.Helper()
	files, err := filepath.Glob(glob)
	require.NoError(t, err)
	require.NotEmpty(t, files, glob)
	return files
}

func TestSchemaAcceptsEveryGoodBook(t *testing.T) {
	s := compiled(t)
	for _, file := range append(filesOf(t, "books/*.yaml"), filesOf(t, "testdata/good/*.yaml")...) {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.NoError(t, s.Validate(asEditor(t, text)), file)
	}
}

// A fault of form is one that both find.
func TestSchemaAndCheckRefuseFaultsOfForm(t *testing.T) {
	s := compiled(t)
	files := append(filesOf(t, "testdata/broken-form/*.yaml"), filesOf(t, "testdata/bad/*.yaml")...)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		_, problems := decode(file, text, known)
		assert.NotEmpty(t, problems, "the check lets it through: %s", file)
		assert.Error(t, s.Validate(asEditor(t, text)), "the schema lets it through: %s", file)
	}
}

// Faults between several keys pass the schema and are found by the check.
func TestFaultsBetweenKeysPassTheSchema(t *testing.T) {
	s := compiled(t)
	for _, file := range filesOf(t, "testdata/broken-sense/*.yaml") {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		_, problems := decode(file, text, known)
		if assert.NotEmpty(t, problems, "the check lets it through: %s", file) {
			assert.Regexp(t, betweenKeys, problems[0].Text, file)
		}
		assert.NoError(t, s.Validate(asEditor(t, text)), "the schema sees more than was thought: %s", file)
	}
}

// betweenKeys matches the findings on faults between several keys.
var betweenKeys = regexp.MustCompile(`^(the bands fall|the band starts at .* and overlaps|a gap: |the band has no end|the band ends at` +
	`|some bands have a deduction|deduction .* (runs backwards|falls as the shortfall)|the name is used twice|no skill .*, which straight_legs names|skill .*, which straight_legs names, is not about)`)

// values are put in the place of a book's own, each a mistake that people make
// or a good value of some key. They are new each time, since they may be changed.
func values() []any {
	return []any{nil, "", "  ", "x", "Two Words", "a-name", "-", true, false, "true", "True", "yes", 0, 1, 5, 20, 45, 179.5, 180, 200, 359, 360, 361, -5,
		"0", "-0", "+20", "20", "180", "359.9", "360", "400", "-5", "1e1", ".5", "20 deg", "2026-09-01", "2026-9-1", "2026-13-01", "-0.1", ".nan", "a .inf",
		"hip-split", "leg-rise", "legs-apart", "20.0", "20.1", 19.5, "hip-splits", "published", "from-memory", "hearsay", Schema, "\x01", "tab\tand\nline", strings.Repeat("x", 41), strings.Repeat("x", maxText+1),
		[]any{}, []any{"x"}, []any{""}, map[string]any{}, map[string]any{"provenance": "published", "source": "x"}}
}

// For any change of a good book the schema and the check agree,
// except on faults between keys.
func TestSchemaAgreesWithCheckOnChangedBooks(t *testing.T) {
	s := compiled(t)
	var books [][]byte
	for _, file := range append(filesOf(t, "books/*.yaml"), filesOf(t, "testdata/good/*.yaml")...) {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		books = append(books, text)
	}
	keys := []string{"schema", "book", "title", "document", "edition", "note", "skills", "name", "default", "measure", "ratio", "not_measured", "asked_deg", "at_most",
		"free_deg", "straight_legs", "origin", "bands", "cautions", "label", "deduction", "over_deg", "to_deg", "over_ratio", "to_ratio", "when", "provenance", "section", "source", "seen", "titel"}
	rapid.Check(t, func(rt *rapid.T) {
		root := asEditor(t, rapid.SampledFrom(books).Draw(rt, "book"))
		doc := root.(map[string]any)
		skills := doc["skills"].([]any) // one is enough to be read by a person
		doc["skills"] = []any{skills[rapid.IntRange(0, len(skills)-1).Draw(rt, "skill")]}
		for range rapid.IntRange(1, 3).Draw(rt, "changes") {
			tables := tablesIn(root)
			table := tables[rapid.IntRange(0, len(tables)-1).Draw(rt, "table")]
			own := slices.Sorted(maps.Keys(table))
			switch rapid.IntRange(0, 2).Draw(rt, "kind") {
			case 0:
				if len(own) > 0 {
					delete(table, rapid.SampledFrom(own).Draw(rt, "drop"))
				}
			case 1:
				if len(own) > 0 {
					key := rapid.SampledFrom(own).Draw(rt, "change")
					table[key] = rapid.SampledFrom(values()).Draw(rt, "to")
				}
			default:
				key := rapid.SampledFrom(keys).Draw(rt, "add")
				table[key] = rapid.SampledFrom(values()).Draw(rt, "as")
			}
		}
		text, err := json.Marshal(root) // JSON is YAML
		require.NoError(t, err)
		_, problems := decode("x.yaml", text, known)
		problems = slices.DeleteFunc(problems, func(p Problem) bool { return betweenKeys.MatchString(p.Text) })
		instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		require.NoError(t, err)
		verdict := s.Validate(instance)
		if (verdict == nil) != (len(problems) == 0) {
			rt.Fatalf("the schema says %v, the check %v, of\n%s", verdict, problems, text)
		}
	})
}

// tablesIn returns every table of the tree, always in the same order.
func tablesIn(v any) []map[string]any {
	var out []map[string]any
	switch v := v.(type) {
	case map[string]any:
		out = append(out, v)
		for _, k := range slices.Sorted(maps.Keys(v)) {
			out = append(out, tablesIn(v[k])...)
		}
	case []any:
		for _, item := range v {
			out = append(out, tablesIn(item)...)
		}
	}
	return out
}

// Every key has an explanation.
func TestSchemaSaysWhatEachKeyIs(t *testing.T) {
	var schema struct {
		Properties map[string]map[string]any
		Defs       map[string]struct{ Properties map[string]map[string]any } `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(JSONSchema(), &schema))
	explained := 0
	for name, table := range map[string]map[string]map[string]any{
		"book": schema.Properties, "skill": schema.Defs["skill"].Properties,
		"band": schema.Defs["band"].Properties, "origin": schema.Defs["origin"].Properties,
	} {
		for key, about := range table {
			assert.NotEmpty(t, about["description"], "%s: %s", name, strconv.Quote(key))
			explained++
		}
	}
	assert.Equal(t, 7+14+8+6, explained, "the keys that doc.go lists")
}
