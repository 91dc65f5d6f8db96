package cli

import (
	"ecart/cmd/internal/reading"
)

// sourceWords are the sources of a budget in words.
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

// provenanceWords say how a rule book's figure is known.
var provenanceWords = map[string]string{
	"published":       "read in the source; check the edition in force",
	"second-hand":     "second-hand, not checked against the document in force",
	"common-practice": "common practice, no document says so",
	"from-memory":     "from memory, not checked against the document in force",
}

func words(table map[string]string, key string) string {
	if w, ok := table[key]; ok {
		return w
	}
	return key
}
