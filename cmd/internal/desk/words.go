package desk

import (
	"fmt"
	"strings"
	"time"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// sourceWords has the sources of a budget in words.
var sourceWords = map[string]string{
	reading.SourcePlacement:   "where the mark was put",
	reading.SourceLandmark:    "where the landmark is",
	reading.SourceLens:        "what the lens bends",
	reading.SourceLevel:       "camera not level",
	reading.SourceOblique:     "camera not square",
	reading.SourceDepth:       "the body is not flat",
	reading.SourcePerspective: "near things are bigger",
	reading.SourceTiming:      "which moment was caught",
}

// provenanceWords says how a rule book's figure is known.
var provenanceWords = map[string]string{
	"published":       "read in the source; check the edition in force",
	"second-hand":     "second-hand, not checked against the document in force",
	"common-practice": "common practice, no document says so",
	"from-memory":     "from memory, not checked against the document in force",
}

// SourceWords returns a source of a budget in words.
func SourceWords(source string) string { return words(sourceWords, source) }

// ProvenanceWords says how a rule book's figure is known.
func ProvenanceWords(provenance string) string { return words(provenanceWords, provenance) }

func words(table map[string]string, key string) string {
	if w, ok := table[key]; ok {
		return w
	}
	return key
}

// DateWords returns a day as people write it.
func DateWords(d time.Time) string { return d.Format("2 January 2006") }

// Count returns a number with what it counts, in the plural unless it is 1.
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// PlusMinus returns a value with its expanded uncertainty, both rounded to its digits.
func PlusMinus(v, u float64) string {
	a, b := uncertainty.Format(v, u)
	return a + "° ± " + b + "°"
}

// SignedPlusMinus is PlusMinus with a sign before the value.
func SignedPlusMinus(v, u float64) string {
	if s := PlusMinus(v, u); strings.HasPrefix(s, "-") {
		return s
	} else {
		return "+" + s
	}
}

// RealWords says whether a change is real, and if not, how large one would have to be.
func RealWords(isReal bool, smallest float64) string {
	if isReal {
		return "real"
	}
	_, u := uncertainty.Format(0, smallest)
	return fmt.Sprintf("cannot be told from none (%s° would show)", u)
}
