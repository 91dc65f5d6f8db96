package journal

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

const notKept = "the reading was not kept"

// Keep stores a reading in the journal and returns its number there. It is on the disk when
// Keep returns. Keeping the same reading again changes nothing and returns its number.
// Keeping it with another filing or other figures is an error. Keep sets e's ID, UID and
// KeptAt.
func (j *Journal) Keep(ctx context.Context, e *Entry) (id int64, err error) {
	r, err := e.complete(j.today())
	if err != nil {
		return 0, err
	}
	e.KeptAt = j.stamp()
	err = j.write(ctx, notKept, func(tx *sql.Tx) error {
		old, err := show(ctx, tx, j.path, "r.uid = ?", e.UID)
		if errors.Is(err, ErrAbsent) {
			id, err = insert(ctx, tx, e, r)
			return err
		}
		if err != nil {
			return err
		}
		if differs := differences(old, e); len(differs) > 0 {
			return fault.New(fmt.Sprintf("these marks on frame %d of %q are kept already as reading %d, which differs in %s", r.Take.Frame, r.Take.Name, old.ID, strings.Join(differs, ", ")),
				fault.Operation("show the reading", fmt.Sprint(old.ID))+" shows it; "+fault.Operation("erase the reading", fmt.Sprint(old.ID))+" makes room if the new one is right")
		}
		id, e.KeptAt = old.ID, old.KeptAt
		return nil
	})
	e.ID = id
	return id, err
}

// differences returns the properties in which two entries of one UID differ. KeptAt and the
// spelling of the athlete's name do not count.
func differences(a, b *Entry) []string {
	var out []string
	compareText := func(what, x, y string) {
		if x != y {
			out = append(out, fmt.Sprintf("%s (%q there, %q here)", what, x, y))
		}
	}
	compareText("athlete", a.Athlete, b.Athlete)
	if key(a.Athlete) == key(b.Athlete) {
		out = nil // one athlete, written differently
	}
	compareText("day", a.Day, b.Day)
	compareText("session", a.Session, b.Session)
	compareText("state", a.State, b.State)
	compareText("condition", a.Condition, b.Condition)
	compareText("variant", a.Variant, b.Variant)
	compareText("side", a.Side, b.Side)
	compareText("rater", a.Rater, b.Rater)
	compareText("set-up", a.Setup, b.Setup)
	compareText("note", a.Note, b.Note)
	compareValue := func(what string, x, y any) {
		if !reflect.DeepEqual(x, y) {
			out = append(out, what)
		}
	}
	compareValue("its request", mustJSON(a.Request), mustJSON(b.Request))
	compareValue("its figures", withoutTakeName(a.Reading), withoutTakeName(b.Reading))
	compareValue("its former readings", formerValues(a), formerValues(b))
	return out
}

// withoutTakeName returns a reading without the file name of its take, which does not
// matter: the take is identified by its SHA-256.
func withoutTakeName(reading []byte) string {
	out, err := renameTake(reading, "")
	if err != nil {
		return string(reading)
	}
	return string(out)
}

func formerValues(e *Entry) (out []string) {
	for _, f := range e.Former {
		out = append(out, f.Tool, f.ReplacedAt, withoutTakeName(f.Reading))
	}
	return out
}

// mustJSON encodes a type that always has a JSON form.
func mustJSON(v any) string {
	data, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return string(data)
}

// insert inserts an entry, with its athlete and session if these are new.
func insert(ctx context.Context, tx *sql.Tx, e *Entry, r *reading.Reading) (int64, error) {
	session, err := sessionOf(ctx, tx, e.Athlete, e.Day, e.Session)
	if err != nil {
		return 0, err
	}
	request, err := json.Marshal(e.Request)
	if err != nil {
		return 0, fault.New(fmt.Sprintf("the reading's request cannot be written: %v", err), "make the reading again")
	}
	columns := append([]column{
		{"uid", e.UID}, {"session_id", session}, {"kept_at", e.KeptAt}, {"state", e.State}, {"condition", e.Condition}, {"variant", e.Variant}, {"side", e.Side},
		{"rater", e.Rater}, {"setup", e.Setup}, {"note", e.Note}, {"lens", fingerprint(e.Request.Lens)}}, figures(e.Tool, r)...)
	var names, places []string
	var values []any
	for _, c := range columns {
		names, places, values = append(names, c.name), append(places, "?"), append(values, c.value)
	}
	var id int64
	if err := tx.QueryRowContext(ctx, "INSERT INTO reading ("+strings.Join(names, ", ")+") VALUES ("+strings.Join(places, ", ")+") RETURNING id", values...).Scan(&id); err != nil {
		return 0, err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO whole (reading_id, marks, request, reading) VALUES (?, ?, ?, ?)", id, string(e.Marks), string(request), string(e.Reading)); err != nil {
		return 0, err
	}
	for _, f := range e.Former {
		if err := putFormer(ctx, tx, id, f.Tool, f.ReplacedAt, f.Reading); err != nil {
			return 0, err
		}
	}
	return id, seal(ctx, tx, "r.id = ?", id)
}

func putFormer(ctx context.Context, tx *sql.Tx, id int64, tool, replacedAt string, reading []byte) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO former (reading_id, tool, replaced_at, reading) VALUES (?, ?, ?, ?)", id, tool, replacedAt, string(reading))
	return err
}

// sessionOf returns the id of the session. It creates the session and its athlete if
// needed.
func sessionOf(ctx context.Context, tx *sql.Tx, athlete, day, label string) (id int64, err error) {
	// RETURNING needs an update, even one that changes nothing
	const findOrMake = " DO UPDATE SET id = id RETURNING id"
	var who int64
	if err := tx.QueryRowContext(ctx, "INSERT INTO athlete (name, key) VALUES (?, ?) ON CONFLICT (key)"+findOrMake, athlete, key(athlete)).Scan(&who); err != nil {
		return 0, err
	}
	return id, tx.QueryRowContext(ctx, "INSERT INTO session (athlete_id, day, label) VALUES (?, ?, ?) ON CONFLICT (athlete_id, day, label)"+findOrMake, who, day, label).Scan(&id)
}

type column struct {
	name  string
	value any
}

// figures returns the columns with the reading's values, so that listing need not parse
// its JSON.
func figures(tool string, r *reading.Reading) []column {
	budget := map[string]float64{}
	for _, b := range r.Budget {
		budget[b.Source] = b.StandardUncertaintyDeg
	}
	c := []column{
		{"tool", tool},
		{"take_name", r.Take.Name}, {"take_sha256", strings.ToLower(r.Take.SHA256)}, {"frame", r.Take.Frame}, {"time_s", r.Take.TimeS},
		{"width_px", r.Take.WidthPx}, {"height_px", r.Take.HeightPx},
		{"measure", r.Measure}, {"lines", lines(r)},
		{"angle_deg", r.AngleDeg}, {"standard_uncertainty_deg", r.StandardUncertaintyDeg}, {"expanded_uncertainty_deg", r.ExpandedUncertaintyDeg},
		{"coverage", r.Coverage}, {"low_deg", r.IntervalDeg[0]}, {"high_deg", r.IntervalDeg[1]}, {"budget", mustJSON(budget)},
	}
	var book, skill, decision string
	var asked, meets any
	atMost := false
	if s := r.Skill; s != nil {
		book, skill, asked, atMost = s.Rulebook, s.Name, s.ThresholdDeg, s.AtMost
	} else if p := r.Judged(); p != nil {
		book, skill = p.Rule.Rulebook, p.Rule.Name // which asks for no angle
	}
	if v := r.Verdict; v != nil {
		decision, meets = string(v.Decision), v.MeetsProbability
	}
	return append(c, column{"rulebook", book}, column{"skill", skill}, column{"asked_deg", asked}, column{"at_most", atMost},
		column{"decision", decision}, column{"meets_probability", meets})
}

func lines(r *reading.Reading) string {
	return r.Lines[0].From + ">" + r.Lines[0].To + "|" + r.Lines[1].From + ">" + r.Lines[1].To
}

// fingerprint returns a file's SHA-256 in hexadecimal, "" for an empty file.
func fingerprint(data []byte) string {
	if len(data) == 0 {
		return ""
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
