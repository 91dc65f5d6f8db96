package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
)

// Unknown is the state or condition of a take if it was not stated.
const Unknown = "unknown"

// States are the possible states of the body when a take was made. Range depends on it.
var States = []string{"cold", "warm", "after", Unknown}

// Conditions say what moved the limb in a take, or that it was not stated.
var Conditions = append(slices.Clone(movement.Conditions), Unknown)

var sides = []string{"", "left", "right", "front", "back"}

// Entry is one kept reading: how it is filed, its result, and all that is needed to make
// it again.
type Entry struct {
	ID  int64  `json:"-"`   // in this journal; set by Keep
	UID string `json:"uid"` // the same in every journal: a hash of the take, the frame, the measure and the marks; set by Keep

	Athlete   string `json:"athlete"`           // a name or a pseudonym; case does not matter
	Day       string `json:"day"`               // on which the take was made, 2006-01-02
	Session   string `json:"session,omitempty"` // distinguishes sessions of one day
	State     string `json:"state"`             // one of States; "" is unknown
	Condition string `json:"condition"`         // one of Conditions; "" is unknown
	Variant   string `json:"variant,omitempty"` // the position of the body, as in package movement; "" is the measure's usual one
	Side      string `json:"side,omitempty"`    // left, right, front or back: of the limb
	Rater     string `json:"rater,omitempty"`   // who marked; "" is unknown
	Setup     string `json:"setup,omitempty"`   // a name for where and how the camera stood; "" is unknown
	Note      string `json:"note,omitempty"`    // free text
	Tool      string `json:"tool,omitempty"`    // the version that made the reading
	KeptAt    string `json:"kept_at"`           // RFC 3339; set by Keep

	Marks   json.RawMessage `json:"marks"` // a marks file, ecart/marks/1, with covariances
	Request Request         `json:"request"`
	Reading json.RawMessage `json:"reading"` // ecart/reading/1, as it was printed
	Former  []Former        `json:"former,omitempty"`
}

// Former is an earlier result of a reading, replaced when another version made it again.
type Former struct {
	Tool       string          `json:"tool"`
	ReplacedAt string          `json:"replaced_at"` // RFC 3339
	Reading    json.RawMessage `json:"reading"`
}

// Parse returns the reading as a struct.
func (e *Entry) Parse() (*reading.Reading, error) {
	var r reading.Reading
	if err := json.Unmarshal(e.Reading, &r); err != nil {
		return nil, fmt.Errorf("journal: reading %d: %w", e.ID, err)
	}
	return &r, nil
}

// SetReading sets the entry's reading, as JSON on one line with a line feed.
func (e *Entry) SetReading(r *reading.Reading) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(r)
	e.Reading = b.Bytes()
	return err
}

// longest is the largest length of a name or label, in characters, so that it fits on a
// line. longestNote is that of a note.
const (
	longest     = 80
	longestNote = 2000
)

// complete fills in defaults, checks all fields and compacts the JSON parts. today is the
// last possible day of a take.
func (e *Entry) complete(today string) (*reading.Reading, error) {
	if err := e.CheckNames(); err != nil {
		return nil, err
	}
	e.State, e.Condition = orUnknown(e.State), orUnknown(e.Condition)
	for _, c := range []struct {
		what, value string
		choices     []string
	}{{"state", e.State, States}, {"condition", e.Condition, Conditions}, {"side", e.Side, sides}} {
		if !slices.Contains(c.choices, c.value) {
			return nil, fault.New(fmt.Sprintf("the %s %q is not known", c.what, c.value), "it is one of "+strings.Join(slices.DeleteFunc(slices.Clone(c.choices), func(s string) bool { return s == "" }), ", "))
		}
	}
	if !isVariant(e.Variant) {
		return nil, fault.New(fmt.Sprintf("the variant %.40q cannot be kept", e.Variant), "give one of "+strings.Join(movement.VariantNames(e.Request.Measure), ", "))
	}
	if err := checkDay(e.Day, today); err != nil {
		return nil, err
	}
	var err error
	if e.Marks, err = compact("marks", e.Marks); err != nil {
		return nil, err
	}
	if e.Reading, err = compact("reading", e.Reading); err != nil {
		return nil, err
	}
	if err := e.Request.complete(); err != nil {
		return nil, err
	}
	marks, err := reading.ParseKeptMarks("of the entry", e.Marks)
	if err != nil {
		return nil, err
	}
	r, err := e.Parse()
	if err != nil {
		return nil, err
	}
	if err := checkReading(r); err != nil {
		return nil, err
	}
	e.UID, err = identity(r, e.Request.Leg, e.Request.Side, marks)
	return r, err
}

// isVariant reports whether a text has the form of a variant's name. Which names a measure has is
// not asked here, so that an export of a newer version can be imported.
func isVariant(s string) bool {
	return len(s) <= longest && !strings.ContainsFunc(s, func(r rune) bool { return (r < 'a' || r > 'z') && r != '-' })
}

// CheckNames normalises the names and the note, and returns an error for one that is not
// valid.
func (e *Entry) CheckNames() error {
	e.Athlete, e.Session, e.Rater, e.Setup = clean(e.Athlete), clean(e.Session), clean(e.Rater), clean(e.Setup)
	if e.Athlete == "" {
		return fault.New("no athlete was named", "give a name or a pseudonym, such as Wren")
	}
	for _, c := range []struct{ what, name string }{{"athlete", e.Athlete}, {"session", e.Session}, {"rater", e.Rater}, {"set-up", e.Setup}, {"tool version", e.Tool}} {
		if n := len([]rune(c.name)); n > longest || strings.ContainsFunc(c.name, unicode.IsControl) || strings.ContainsRune(c.name, unicode.ReplacementChar) {
			return fault.New(fmt.Sprintf("the %s %.40q cannot be kept as a name", c.what, c.name), fmt.Sprintf("give at most %d characters of plain text", longest))
		}
	}
	e.Note = strings.TrimSpace(norm.NFC.String(strings.ReplaceAll(e.Note, "\r\n", "\n")))
	if len([]rune(e.Note)) > longestNote || strings.ContainsFunc(e.Note, func(r rune) bool { return r != '\n' && r != '\t' && unicode.IsControl(r) }) {
		return fault.New(fmt.Sprintf("the note %.40q cannot be kept", e.Note), fmt.Sprintf("give at most %d characters of plain text", longestNote))
	}
	return nil
}

// identity returns the UID of a reading. The same marks on the same frame for the same
// measure are one reading, however often and by whichever version it is made.
func identity(r *reading.Reading, leg, side string, m *reading.Marks) (string, error) {
	data, err := json.Marshal(struct {
		Take, Measure, Leg, Side string
		Frame                    int
		Marks                    *reading.Marks
	}{strings.ToLower(r.Take.SHA256), r.Measure, leg, side, r.Take.Frame, m})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:16]), nil
}

func checkDay(day, today string) error {
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		return fault.New(fmt.Sprintf("the day %q is no date", day), "give the day the take was made as 2026-03-21")
	}
	if day > today {
		return fault.New(fmt.Sprintf("the day %s lies ahead of today, %s", day, today), "give the day the take was made; if it is right, set this machine's clock")
	}
	return nil
}

// compact returns JSON without white space, and with characters that control a terminal
// escaped. Nothing else in it changes.
func compact(what string, data []byte) (json.RawMessage, error) {
	var b bytes.Buffer
	if err := json.Compact(&b, data); err != nil {
		return nil, fault.New(fmt.Sprintf("the entry's %s are no JSON: %v", what, err), "keep what ecart wrote, as it was written")
	}
	return output.EscapeJSON(b.Bytes()), nil
}

// clean normalises a name: composed characters, single spaces.
func clean(name string) string { return strings.Join(strings.Fields(norm.NFC.String(name)), " ") }

// key returns the form of a name for look-up, in which case does not matter.
func key(name string) string { return norm.NFC.String(cases.Fold().String(clean(name))) }

func orUnknown(s string) string {
	if s == "" {
		return Unknown
	}
	return s
}
