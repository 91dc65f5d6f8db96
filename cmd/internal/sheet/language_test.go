package sheet

import (
	"reflect"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// Every language says all that English says, with the same figures in it. A field that
// English leaves out may be left out.
func TestLanguagesAreWhole(t *testing.T) {
	require.NotEmpty(t, languages)
	for base, w := range languages {
		compareTexts(t, base.String(), reflect.ValueOf(*english), reflect.ValueOf(*w))
		assert.Equal(t, base.String(), w.lang)
	}
	// the walk finds what is missing
	incomplete := *english
	incomplete.judge.asked = "asked:"
	var probe complaints
	compareTexts(&probe, "", reflect.ValueOf(*english), reflect.ValueOf(incomplete))
	assert.Len(t, probe, 1)
}

// complaints are the failures of a walk.
type complaints []string

func (h *complaints) Errorf(format string, args ...any) { *h = append(*h, format) }

var verb = regexp.MustCompile(`%(\[\d+\])?[sdq]`)

// compareTexts walks two values of one type and compares their texts.
func compareTexts(t assert.TestingT, where string, a, b reflect.Value) {
	switch a.Kind() {
	case reflect.String:
		if a.String() == "" {
			return
		}
		assert.NotEmpty(t, b.String(), where)
		x, y := verb.FindAllString(a.String(), -1), verb.FindAllString(b.String(), -1)
		slices.Sort(x)
		slices.Sort(y)
		assert.Equal(t, x, y, where)
	case reflect.Struct:
		for i := range a.NumField() {
			compareTexts(t, where+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i))
		}
	case reflect.Map:
		for _, k := range a.MapKeys() {
			if assert.True(t, b.MapIndex(k).IsValid(), "%s[%v]", where, k) {
				compareTexts(t, where+"["+k.String()+"]", a.MapIndex(k), b.MapIndex(k))
			}
		}
	case reflect.Slice, reflect.Array:
		if !assert.Equal(t, a.Len(), b.Len(), where) {
			return
		}
		for i := range a.Len() {
			compareTexts(t, where, a.Index(i), b.Index(i))
		}
	}
}

// English has words for every measure, for each reader.
func TestEveryMeasureHasWords(t *testing.T) {
	for _, m := range geometry.Measures() {
		assert.Contains(t, english.measure, m.Name)
		for who, w := range english.plain {
			assert.Contains(t, w.angle, m.Name, "%s", who)
		}
	}
}
