package journal

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"database/sql/driver"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"strings"

	"modernc.org/sqlite"

	"ecart/cmd/internal/fault"
)

// Migrations call journal_sum too, so that its result for the same values must never
// change.
func init() {
	sqlite.MustRegisterDeterministicScalarFunction("journal_sum", -1, func(_ *sqlite.FunctionContext, args []driver.Value) (driver.Value, error) {
		values := make([]any, len(args))
		for i, v := range args {
			values[i] = v
		}
		return sumOf(values...), nil
	})
}

// sumOf returns the first 32 hexadecimal digits of the SHA-256 of values as SQLite stores
// them, each preceded by its type and length.
func sumOf(values ...any) string {
	h := sha256.New()
	part := func(kind byte, data []byte) {
		h.Write(binary.BigEndian.AppendUint64([]byte{kind}, uint64(len(data))))
		h.Write(data)
	}
	for _, v := range values {
		switch v := v.(type) {
		case int64:
			part('i', binary.BigEndian.AppendUint64(nil, uint64(v)))
		case float64:
			part('f', binary.BigEndian.AppendUint64(nil, math.Float64bits(v)))
		case string:
			part('t', []byte(v))
		case []byte:
			part('b', v)
		default:
			part('n', nil)
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// filingColumns are the columns covered by the checksum of a filing.
const filingColumns = `r.uid, s.day, s.label, r.state, r.condition, r.side, r.rater, r.setup, r.note, r.lens, r.tool, r.kept_at,
 r.take_name, r.take_sha256, r.frame, r.time_s, r.width_px, r.height_px, r.measure, r.lines, r.rulebook, r.skill, r.asked_deg, r.at_most,
 r.angle_deg, r.standard_uncertainty_deg, r.expanded_uncertainty_deg, r.coverage, r.low_deg, r.high_deg, r.decision, r.meets_probability, r.budget, r.variant`

// filing returns the checksum of filingColumns, computed from the scanned row.
func (r *Row) filing() string {
	optional := func(v *float64) any {
		if v == nil {
			return nil
		}
		return *v
	}
	var atMost int64
	if r.AtMost {
		atMost = 1
	}
	return sumOf(r.UID, r.Day, r.Session, r.State, r.Condition, r.Side, r.Rater, r.Setup, r.Note, r.Lens, r.Tool, r.KeptAt,
		r.Take.Name, r.Take.SHA256, int64(r.Take.Frame), r.Take.TimeS, int64(r.Take.WidthPx), int64(r.Take.HeightPx), r.Measure, r.Lines, r.Rulebook, r.Skill, optional(r.AskedDeg), atMost,
		r.AngleDeg, r.StandardUncertaintyDeg, r.ExpandedUncertaintyDeg, r.Coverage, r.IntervalDeg[0], r.IntervalDeg[1], r.Decision, optional(r.MeetsProbability), r.budget, r.Variant)
}

// former selects the former readings of reading r, as JSON.
const former = `(SELECT json_group_array(json_object('tool', f.tool, 'replaced_at', f.replaced_at, 'reading', f.reading) ORDER BY f.id) FROM former f WHERE f.reading_id = r.id)`

// seal computes and stores the checksums of the readings r for which where holds.
func seal(ctx context.Context, tx *sql.Tx, where string, values ...any) error {
	_, err := tx.ExecContext(ctx, sealText+where, values...)
	return err
}

const sealText = sealing + " (reading_id, filing, whole) SELECT r.id, journal_sum(" + filingColumns + "), journal_sum(r.uid, w.marks, w.request, w.reading, " + former + ")" + fromWhole + " WHERE "

// Damaged is a reading that does not match its checksum. With ID 0 it is a damaged file,
// from which readings may be missing.
type Damaged struct {
	ID           int64
	Athlete, Day string // as stored, possibly wrong; "" if unreadable
	path, why    string
}

func (d *Damaged) Error() string {
	if d.ID == 0 {
		return fmt.Sprintf("the journal %q is damaged, and readings may be missing from what it gives", d.path)
	}
	who := fmt.Sprintf("reading %d", d.ID)
	if d.Athlete != "" {
		who += fmt.Sprintf(" of %s, %s", d.Athlete, d.Day)
	}
	return fmt.Sprintf("%s is damaged in the journal %q: %s", who, d.path, d.why)
}

// Hint says what to do.
func (d *Damaged) Hint() string { return fault.Bare(d.do()) }

// Unwrap returns the error with what its hint names marked, for [fault.Words].
func (d *Damaged) Unwrap() error { return fault.Failed(d.Error(), d.do(), nil) }

// do says what to do.
func (d *Damaged) do() string {
	if d.ID == 0 {
		return "keep the file as it is, export what it still gives, and compare that with an earlier export; import both into a new journal"
	}
	return "take it out with " + fault.Operation("erase the reading", fmt.Sprint(d.ID)) + " and keep it again, or import it from an export that has it"
}

// Failed reports that the cause is the file, not the input.
func (d *Damaged) Failed() bool { return true }

// DamagedReadings is the error of an operation that succeeded for all readings except
// these.
type DamagedReadings []*Damaged

func (d DamagedReadings) Error() string {
	if len(d) == 1 {
		return d[0].Error()
	}
	var names []string
	missing := ""
	for _, one := range d {
		if one.ID == 0 {
			missing = "; others may be missing"
			continue
		}
		names = append(names, fmt.Sprint(one.ID))
	}
	are := "readings are"
	if len(names) == 1 {
		are = "reading is"
	}
	return fmt.Sprintf("%d %s damaged in the journal %q: %s%s", len(names), are, d[0].path, strings.Join(names, ", "), missing)
}

// Hint says what to do.
func (d DamagedReadings) Hint() string { return fault.Bare(d.do()) }

// Unwrap returns the error with what its hint names marked, for [fault.Words].
func (d DamagedReadings) Unwrap() error { return fault.Failed(d.Error(), d.do(), nil) }

// do says what to do.
func (d DamagedReadings) do() string {
	if len(d) == 1 {
		return d[0].do()
	}
	return "the others are as they were kept; take these out with " + fault.Operation("erase the reading", "N,...") + " and keep them again, or import them from an export that has them"
}

// Failed reports that the cause is the file, not the input.
func (d DamagedReadings) Failed() bool { return true }

// incomplete returns the damage of a file whose structure is inconsistent, from which
// SQLite returns fewer readings than were kept without an error; nil if there is none.
// The file is checked once for each Journal, which takes 0.3 s for 84 MB.
func (j *Journal) incomplete(ctx context.Context, q querier) *Damaged {
	j.checking.Lock()
	defer j.checking.Unlock()
	if !j.intact {
		d := quickCheck(ctx, q, j.path)
		if d != nil {
			return d
		}
		j.intact = ctx.Err() == nil
	}
	return nil
}

func quickCheck(ctx context.Context, q querier, path string) *Damaged {
	rows, err := q.QueryContext(ctx, "PRAGMA quick_check")
	if err == nil {
		defer rows.Close()
		for rows.Next() && err == nil {
			var said string
			err = rows.Scan(&said)
			// a row that violates a constraint is still returned, and its checksum shows damage
			if err == nil && said != "ok" && !strings.Contains(said, "constraint") {
				return &Damaged{path: path}
			}
		}
		err = errors.Join(err, rows.Err())
	}
	if err != nil && ctx.Err() == nil {
		return &Damaged{path: path}
	}
	return nil
}

// Torn returns the damage of the file itself, from which readings may be missing; nil if
// there is none.
func (d DamagedReadings) Torn() error {
	for _, one := range d {
		if one.ID == 0 {
			return one
		}
	}
	return nil
}

// error returns d as an error, nil if d is empty.
func (d DamagedReadings) error() error {
	if len(d) == 0 {
		return nil
	}
	return d
}
