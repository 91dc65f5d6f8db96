package strict

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type sample struct {
	Name   string             `json:"name" yaml:"name"`
	N      int                `json:"n,omitempty" yaml:"n,omitempty"`
	At     [2]float64         `json:"at" yaml:"at"`
	Up     *[2][2]float64     `json:"up,omitempty" yaml:"up,omitempty"`
	To     *float64           `json:"to" yaml:"to"`
	By     map[string]float64 `json:"by,omitempty" yaml:"by,omitempty"`
	Flag   bool               `json:"flag,omitempty" yaml:"flag,omitempty"`
	Seed   uint64             `json:"seed,omitempty" yaml:"seed,omitempty"`
	Raw    json.RawMessage    `json:"raw,omitempty"`
	hidden int
}

const good = `{"name": "a", "at": [1, 2.5], "to": null`

func TestJSONValid(t *testing.T) {
	var s sample
	require.NoError(t, JSON([]byte("\xef\xbb\xbf"+good+`, "n": 3, "up": [[1,2],[3,4]], "by": {"x": 1e3}, "flag": true, "seed": 18446744073709551615, "raw": {"a" : [1, "x"]}}`), &s, Options{}))
	assert.Equal(t, sample{Name: "a", N: 3, At: [2]float64{1, 2.5}, Up: &[2][2]float64{{1, 2}, {3, 4}}, By: map[string]float64{"x": 1000}, Flag: true, Seed: 1<<64 - 1,
		Raw: json.RawMessage(`{"a" : [1, "x"]}`)}, s)
	assert.Zero(t, s.hidden)
}

func TestJSONInvalid(t *testing.T) {
	for text, want := range map[string]string{
		good + `, "N": 3}`:                    `line 1, the key "N" is not known`,
		good + `, "n": 3, "n": 3}`:            `the key "n" is there twice`,
		good + ",\n\"n\": null}":              "line 2, n: a number belongs here, and null is written",
		good + `, "n": 1.0}`:                  "n: 1.0 is no whole number",
		good + `, "n": 99999999999999999999}`: "n: 99999999999999999999 is no whole number, or is too large",
		good + `, "seed": -1}`:                "seed: -1 is no whole number from 0 up",
		good + `, "flag": 1}`:                 "flag: true or false belongs here, and a number is written",
		good + `, "up": [[1,2],[3]]}`:         "up 2: 2 entries belong here, and there are 1",
		good + `, "up": null}`:                "up: a list belongs here, and null is written",
		good + `, "by": {"x": "1"}}`:          "by, x: a number belongs here, and a text is written",
		good + `, "by": {"x": 1e999}}`:        "by, x: the number 1e999 is too large",
		good + `, "hidden": 1}`:               `the key "hidden" is not known`,
		good:                                  "it ends too early",
		good + `}}`:                           "something follows the end",
		`{"name": "a", "at": [1, 2]}`:         `the key "to" is missing`,
		`[]`:                                  "a table of keys belongs here, and a list is written",
		`{"name": 3, "at": [1, 2], "to": 1}`:  "name: a text belongs here, and a number is written",
		"":                                    "the file is empty",
		"\xff":                                "not UTF-8",
		strings.Repeat("[", 5_000_000):        "nested more than 20 deep",
		"[" + strings.Repeat("0,", 600_000):   "more than 500000 values",
		strings.Repeat(" ", 17<<20):           "too big",
	} {
		var s sample
		start := time.Now()
		err := JSON([]byte(text), &s, Options{})
		var e *Error
		require.ErrorAs(t, err, &e, "%.80s", text)
		assert.Contains(t, e.Error(), want, "%.80s", text)
		assert.NotEmpty(t, e.Hint())
		assert.NotContains(t, e.Error(), "json")
		assert.Less(t, time.Since(start), 10*time.Second)
	}
}

// Partial keeps fields that are not named, and refuses keys that a filled map does not have.
func TestPartial(t *testing.T) {
	s := sample{Name: "was", By: map[string]float64{"x": 1, "y": 2}}
	require.NoError(t, YAML([]byte("at: [1, 2]\nby: {y: 3}\n"), &s, Options{Partial: true}))
	assert.Equal(t, sample{Name: "was", At: [2]float64{1, 2}, By: map[string]float64{"x": 1, "y": 3}}, s)
	err := YAML([]byte("at: [1, 2]\nby:\n  z: 3\n"), &s, Options{Partial: true})
	assert.ErrorContains(t, err, `line 3, by: the key "z" is not known`)
}

// A float with an exponent needs no point (YAML 1.2.2, section 10.3.2), and in quotes it is a text.
func TestYAMLFloats(t *testing.T) {
	var s sample
	require.NoError(t, YAML([]byte("name: a\nat: [1e-9, -2E3]\nto: +.5e1\nby: {x: 1.0e-9}\n"), &s, Options{Partial: true}))
	assert.Equal(t, [2]float64{1e-9, -2000}, s.At)
	assert.Equal(t, 1e-9, s.By["x"])
	for _, text := range []string{"at: ['1e-9', 1]", "at: [1e, 1]", "at: [e9, 1]", "at: [1e-, 1]"} {
		assert.ErrorContains(t, YAML([]byte(text), &s, Options{Partial: true}), "a number belongs here", text)
	}
}

func FuzzJSON(f *testing.F) {
	f.Add([]byte(good + `, "n": 3, "up": [[1,2],[3,4]], "by": {"x": 1e3}, "raw": {"a": [1, "x"]}}`))
	f.Add([]byte(`{"name": "\u00e9\ud83d\ude00", "at": [-0, 1E-2], "to": 1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var s, standard sample
		err := JSON(data, &s, Options{})
		check(t, data, err)
		if err != nil {
			return
		}
		// the standard library decodes accepted data to the same values
		if err := json.Unmarshal([]byte(strings.TrimPrefix(string(data), "\xef\xbb\xbf")), &standard); err != nil {
			t.Fatalf("accepted, and the standard library refuses it: %v", err)
		}
		a, _ := json.Marshal(s)
		b, _ := json.Marshal(standard)
		if string(a) != string(b) {
			t.Fatalf("%s, and the standard library reads %s", a, b)
		}
	})
}

func FuzzYAML(f *testing.F) {
	for _, s := range []string{"name: a\nat: [1, 2]\nto: 3\n", "name: 'a'\nat:\n  - 1\n  - .nan\nto:\n", "{0", "*-0", "? [a]", "a: !!x &y z", "by: {x: 0x10, y: 1_000}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var s sample
		check(t, data, YAML(data, &s, Options{}))
	})
}

func check(t *testing.T, data []byte, err error) {
	if err == nil {
		return
	}
	var e *Error
	if !errors.As(err, &e) || e.What == "" || e.Do == "" {
		t.Fatalf("an error without fact or hint: %v", err)
	}
	if lines := 1 + strings.Count(string(data), "\n") + strings.Count(string(data), "\r"); e.Line > lines {
		t.Fatalf("line %d of %d: %v", e.Line, lines, e)
	}
}
