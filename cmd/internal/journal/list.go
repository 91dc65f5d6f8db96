package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// Filter selects readings. Empty fields do not restrict.
type Filter struct {
	Athlete   string
	Measure   string
	Side      string
	State     string
	Condition string
	Variant   string
	Skill     string
	Take      string   // SHA-256
	Takes     []string // SHA-256 in lower case; nil does not restrict. With it, List does not check the file's structure
	From, To  string   // days, both included
	IDs       []int64

	Moments bool // does not restrict: List then reads each row's Moment
}

// Row is one reading in a list.
type Row struct {
	ID        int64  `json:"id"`
	UID       string `json:"uid"`
	Athlete   string `json:"athlete"`
	Day       string `json:"day"`
	Session   string `json:"session,omitempty"`
	State     string `json:"state"`
	Condition string `json:"condition"`
	Variant   string `json:"variant,omitempty"`
	Side      string `json:"side,omitempty"`
	Rater     string `json:"rater,omitempty"`
	Setup     string `json:"setup,omitempty"`
	Note      string `json:"note,omitempty"`
	Lens      string `json:"lens_sha256,omitempty"`
	Tool      string `json:"tool,omitempty"`
	KeptAt    string `json:"kept_at"`

	Take    reading.Take `json:"take"`
	Measure string       `json:"measure"`
	Lines   string       `json:"lines"` // the two lines of the angle, as hip>front-ankle|hip>back-ankle

	Rulebook string   `json:"rulebook,omitempty"`
	Skill    string   `json:"skill,omitempty"`
	AskedDeg *float64 `json:"asked_deg,omitempty"`
	AtMost   bool     `json:"at_most,omitempty"`

	AngleDeg               float64    `json:"angle_deg"`
	StandardUncertaintyDeg float64    `json:"standard_uncertainty_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	Coverage               float64    `json:"coverage"`
	IntervalDeg            [2]float64 `json:"interval_deg"`
	Decision               string     `json:"decision,omitempty"`
	MeetsProbability       *float64   `json:"meets_probability,omitempty"`

	budget string
	key    string  // stored key of the athlete
	sum    string  // stored checksum of the filing, "" if there is none
	moment *string // what the frame may have missed, as JSON; "" if the reading does not say it; nil: not asked for
}

// Budget returns the standard uncertainty from each source, in degrees.
func (r *Row) Budget() (map[string]float64, error) {
	var b map[string]float64
	if err := json.Unmarshal([]byte(r.budget), &b); err != nil {
		return nil, fmt.Errorf("journal: budget of reading %d: %w", r.ID, err)
	}
	return b, nil
}

// Moment returns what the frame may have missed of the widest moment. It is nil if the reading does not
// have it: one of a peak, or one kept by an earlier version. It takes a list made with
// [Filter.Moments].
func (r *Row) Moment() (*reading.Moment, error) {
	if r.moment == nil {
		return nil, fmt.Errorf("journal: reading %d was listed without its moment", r.ID)
	}
	if *r.moment == "" {
		return nil, nil
	}
	m := &reading.Moment{}
	if err := json.Unmarshal([]byte(*r.moment), m); err != nil {
		return nil, fmt.Errorf("journal: the moment of reading %d: %w", r.ID, err)
	}
	return m, nil
}

const from = " FROM reading r JOIN session s ON s.id = r.session_id JOIN athlete a ON a.id = s.athlete_id"

const fromSealed = from + " LEFT JOIN checksum c ON c.reading_id = r.id"

// order sorts by athlete, then by time, then by uid, which does not depend on the journal.
const order = " ORDER BY a.key, s.day, s.label, r.kept_at, r.uid"

const rowColumns = `r.id, r.uid, a.name, s.day, s.label, r.state, r.condition, r.side, r.rater, r.setup, r.note, r.lens, r.tool, r.kept_at,
 r.take_name, r.take_sha256, r.frame, r.time_s, r.width_px, r.height_px, r.measure, r.lines, r.rulebook, r.skill, r.asked_deg, r.at_most,
 r.angle_deg, r.standard_uncertainty_deg, r.expanded_uncertainty_deg, r.coverage, r.low_deg, r.high_deg, r.decision, r.meets_probability, r.budget, r.variant, a.key, coalesce(c.filing, '')`

// momentColumn is read only with [Filter.Moments]: a list of ten thousand readings takes twice as long with it.
const momentColumn = `, coalesce((SELECT json_extract(m.reading, '$.moment') FROM whole m WHERE m.reading_id = r.id AND json_valid(m.reading)), '')`

func (r *Row) places() []any {
	return []any{&r.ID, &r.UID, &r.Athlete, &r.Day, &r.Session, &r.State, &r.Condition, &r.Side, &r.Rater, &r.Setup, &r.Note, &r.Lens, &r.Tool, &r.KeptAt,
		&r.Take.Name, &r.Take.SHA256, &r.Take.Frame, &r.Take.TimeS, &r.Take.WidthPx, &r.Take.HeightPx, &r.Measure, &r.Lines, &r.Rulebook, &r.Skill, &r.AskedDeg, &r.AtMost,
		&r.AngleDeg, &r.StandardUncertaintyDeg, &r.ExpandedUncertaintyDeg, &r.Coverage, &r.IntervalDeg[0], &r.IntervalDeg[1], &r.Decision, &r.MeetsProbability, &r.budget, &r.Variant, &r.key, &r.sum}
}

// where returns the filter as an SQL condition with its values.
func (f *Filter) where() (text string, values []any) {
	var parts []string
	add := func(part string, v any) { parts, values = append(parts, part), append(values, v) }
	for _, c := range []struct{ part, value string }{
		{"a.key = ?", key(f.Athlete)}, {"r.measure = ?", f.Measure}, {"r.side = ?", f.Side}, {"r.state = ?", f.State}, {"r.condition = ?", f.Condition}, {"r.variant = ?", f.Variant},
		{"r.skill = ?", f.Skill}, {"r.take_sha256 = ?", strings.ToLower(f.Take)}, {"s.day >= ?", f.From}, {"s.day <= ?", f.To},
	} {
		if c.value != "" {
			add(c.part, c.value)
		}
	}
	if f.Takes != nil {
		add("r.take_sha256 IN (SELECT value FROM json_each(?))", mustJSON(f.Takes))
	}
	if f.IDs != nil {
		add("r.id IN (SELECT value FROM json_each(?))", mustJSON(f.IDs))
	}
	if len(parts) == 0 {
		return "1", nil
	}
	return strings.Join(parts, " AND "), values
}

// damage compares a scanned row with its checksum. It returns nil if they agree.
func (r *Row) damage(path string) *Damaged {
	if r.sum == r.filing() && r.key == key(r.Athlete) {
		return nil
	}
	return &Damaged{r.ID, r.Athlete, r.Day, path, "its filing or its figures are not as they were kept"}
}

// List returns the readings that match the filter, by athlete and day. An athlete who is
// not in the journal is an error. If some readings are damaged, it returns the others and
// [DamagedReadings].
func (j *Journal) List(ctx context.Context, f Filter) ([]Row, error) {
	const doing = "it was not read"
	where, values := f.where()
	columns := rowColumns
	if f.Moments {
		columns += momentColumn
	}
	rows, err := j.db.QueryContext(ctx, "SELECT "+columns+fromSealed+" WHERE "+where+order, values...)
	if err != nil {
		return nil, explain(err, j.path, doing)
	}
	defer rows.Close()
	var out []Row
	var damaged DamagedReadings
	for rows.Next() {
		var r Row
		places := r.places()
		if f.Moments {
			places = append(places, &r.moment)
		}
		if err := rows.Scan(places...); err != nil {
			return nil, explain(err, j.path, doing)
		}
		if d := r.damage(j.path); d != nil {
			damaged = append(damaged, d)
			continue
		}
		out = append(out, r)
	}
	if err := rows.Err(); err != nil {
		return nil, explain(err, j.path, doing)
	}
	if f.Takes == nil {
		if d := j.incomplete(ctx, j.db); d != nil {
			damaged = append(damaged, d)
		}
	}
	if len(out)+len(damaged) == 0 && f.Athlete != "" {
		_, err := j.athlete(ctx, j.db, f.Athlete)
		return nil, explain(err, j.path, doing)
	}
	return out, damaged.error()
}

// Show returns one complete reading. The error for a damaged one is a [*Damaged].
func (j *Journal) Show(ctx context.Context, id int64) (*Entry, error) {
	e, err := show(ctx, j.db, j.path, "r.id = ?", id)
	if errors.Is(err, ErrAbsent) {
		return nil, absent(fmt.Sprintf("there is no reading %d in the journal %q", id, j.path), fault.Operation("list the readings")+" shows the numbers there are")
	}
	return e, explain(err, j.path, "it was not read")
}

// querier is a database or a transaction.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

const entryColumns = rowColumns + ", coalesce(w.marks, ''), coalesce(w.request, ''), coalesce(w.reading, ''), " + former + ", coalesce(c.whole, '')"

const (
	fromWhole       = from + " JOIN whole w ON w.reading_id = r.id"
	fromWholeSealed = fromSealed + " LEFT JOIN whole w ON w.reading_id = r.id"
)

// scanEntry reads entryColumns and compares them with their checksums.
func scanEntry(path string, scan func(...any) error) (*Entry, error) {
	var r Row
	var marks, request, read, former, whole string
	if err := scan(append(r.places(), &marks, &request, &read, &former, &whole)...); err != nil {
		return nil, err
	}
	if d := r.damage(path); d != nil {
		return nil, d
	}
	damaged := &Damaged{r.ID, r.Athlete, r.Day, path, "its marks, its request or its reading are not as they were kept"}
	if whole != sumOf(r.UID, marks, request, read, former) {
		return nil, damaged
	}
	e := Entry{ID: r.ID, UID: r.UID, Athlete: r.Athlete, Day: r.Day, Session: r.Session, State: r.State, Condition: r.Condition, Variant: r.Variant, Side: r.Side,
		Rater: r.Rater, Setup: r.Setup, Note: r.Note, Tool: r.Tool, KeptAt: r.KeptAt, Marks: json.RawMessage(marks), Reading: json.RawMessage(read)}
	// a former reading is stored as text, so that none of its digits change
	var list []struct {
		Tool       string `json:"tool"`
		ReplacedAt string `json:"replaced_at"`
		Reading    string `json:"reading"`
	}
	// it may have been damaged before the file had checksums
	if json.Unmarshal([]byte(request), &e.Request) != nil || json.Unmarshal([]byte(former), &list) != nil || !json.Valid(e.Marks) || !json.Valid(e.Reading) {
		return nil, damaged
	}
	for _, f := range list {
		if !json.Valid([]byte(f.Reading)) {
			return nil, damaged
		}
		e.Former = append(e.Former, Former{f.Tool, f.ReplacedAt, json.RawMessage(f.Reading)})
	}
	return &e, nil
}

func show(ctx context.Context, q querier, path, where string, value any) (*Entry, error) {
	e, err := scanEntry(path, q.QueryRowContext(ctx, "SELECT "+entryColumns+fromWholeSealed+" WHERE "+where, value).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, ErrAbsent
	}
	return e, err
}

// budgetSources returns all sources in the budgets of the rows, sorted.
func budgetSources(rows []Row) ([]string, error) {
	seen := map[string]bool{}
	for i := range rows {
		b, err := rows[i].Budget()
		if err != nil {
			return nil, err
		}
		for s := range b {
			seen[s] = true
		}
	}
	return slices.Sorted(maps.Keys(seen)), nil
}
