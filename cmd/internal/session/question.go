package session

import (
	"context"
	"strings"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// Reader converts a row to a Question. It reads the small files that the row names and does not
// open the take. Several goroutines call it at once. With an error the Question
// holds what was known until then. Errors name columns and not flags.
type Reader func(ctx context.Context, row *Row) (Question, error)

// Question says which angle a row asks for: of which take, from which marks, and how it is
// filed.
type Question struct {
	Files  Files
	Filing Filing
	Side   string // "" if the row names none

	At          string  // the frame or the moment, "" for that of the marks
	Measure     string  // the name of the angle
	Leg         string  // whole or thigh, "" is whole
	MarksOrigin string  // equal for two rows if and only if they use the same marks
	StatureMm   float64 // 0 is unknown
	Stature     string  // as it was written

	DependsOn []byte   // all that the reading depends on beside the take and the program
	Notes     []string // what was assumed before the take was opened

	// Read makes the reading, or the proposal of a row without marks. It calls progress with the number of a clip's frames followed.
	Read func(ctx context.Context, progress func(done, of int)) (*Result, error)
}

// Files are the files that a row names, "" for those that it does not name.
type Files struct {
	Take, Marks, Lens string
	Seeds             []string
}

// SeedFiles returns the files of a cell under "seeds": those of several frames have bars between them.
func SeedFiles(cell string) (out []string) {
	for file := range strings.SplitSeq(cell, "|") {
		if file = strings.TrimSpace(file); file != "" {
			out = append(out, file)
		}
	}
	return out
}

// Filing is how a reading is filed in the journal; "" is unknown.
type Filing struct {
	Day       string // 2006-01-02
	Session   string
	State     string // cold, warm, after
	Condition string // passive, active, in-skill, swung
	Variant   string // the position; "" is the usual one
	Rater     string
	Setup     string
	Note      string
}

// Result is a reading with what is needed to file it. Its JSON is what a Memory stores,
// without the names of athlete and take.
type Result struct {
	Entry   journal.Entry    `json:"entry"`    // the reading as the journal keeps it, not filed yet
	TakeDay string           `json:"take_day"` // day of recording according to the take, "" if unknown
	Notes   []string         `json:"notes"`    // what was noticed while it was read
	Reading *reading.Reading `json:"-"`

	// Proposed is the proposal for a row without marks; nil if the row was read.
	Proposed *Proposed `json:"proposed,omitempty"`
}

// Proposed is what the picture proposes for a row without marks. It is shown, and neither judged nor kept.
type Proposed struct {
	TakeSHA256 string `json:"take_sha256"`
	Fact       string `json:"fact"` // the angle
	Hint       string `json:"hint"` // what to do with it, with marks of package fault
}

// takeSum is the SHA-256 of the take that the result is of.
func (r *Result) takeSum() string {
	if r.Proposed != nil {
		return r.Proposed.TakeSHA256
	}
	return r.Reading.Take.SHA256
}
