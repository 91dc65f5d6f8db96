package squad

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/session"
)

// squadForm is the form of the table of 'ecart squad'.
var squadForm = output.Table("\ufeffline,athlete,day,")

// addCSV checks that path ends in .csv and can be written; "" is no file.
func addCSV(files *output.Set, path string) error {
	if path != "" && !strings.EqualFold(filepath.Ext(path), ".csv") {
		return fault.New(fmt.Sprintf("%q does not end in .csv", path), "give --csv a name such as squad.csv")
	}
	return files.Add(path, squadForm)
}

// writeSquadCSV writes one row for each row of the list, in its order. Decimals have
// points; units are in the heads.
func writeSquadCSV(ctx context.Context, files *output.Set, path string, r *session.Report) error {
	return files.Write(ctx, path, squadForm, func(w io.Writer) error {
		c, err := output.NewCSV(w, ',', true)
		if err != nil {
			return err
		}
		err = c.Write("line", "athlete", "day", "session", "state", "condition", "side", "measure", "rulebook", "skill", "asked_deg",
			"angle_deg", "standard_uncertainty_deg", "expanded_uncertainty_deg", "coverage", "low_deg", "high_deg",
			"decision", "meets_probability", "short_deg", "counts", "largest_gap", "take_sha256", "frame", "time_s", "note", "noted", "not_read")
		for _, l := range r.Lines() {
			err = errors.Join(err, c.Write(squadCells(l)...))
		}
		return errors.Join(err, c.Flush())
	})
}

func squadCells(l session.Line) []string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	line := strconv.Itoa(l.Number)
	if f := l.Failure; f != nil {
		out := make([]string, 28)
		out[0], out[1], out[27] = line, f.Athlete, f.Reason
		return out
	}
	a, row := l.Athlete, l.Reading
	read := row.Reading
	var book, skill, asked, decision, meets, short string
	if s := read.Skill; s != nil {
		book, skill, asked = s.Rulebook, s.Name, number(s.ThresholdDeg)
	}
	if v := read.Verdict; v != nil {
		decision, meets, short = string(v.Decision), number(v.MeetsProbability), number(v.ShortfallDeg)
	}
	counts := map[bool]string{true: "yes", false: "no"}[row.Counts]
	return []string{line, a.Athlete, row.Day, row.Session, row.State, row.Condition, row.Side, read.Measure, book, skill, asked,
		number(read.AngleDeg), number(read.StandardUncertaintyDeg), number(read.ExpandedUncertaintyDeg), number(read.Coverage), number(read.IntervalDeg[0]), number(read.IntervalDeg[1]),
		decision, meets, short, counts, a.Gap(row), read.Take.SHA256, strconv.Itoa(read.Take.Frame), number(read.Take.TimeS),
		row.Note, strings.Join(row.Notes, "; "), ""}
}

func drawSquad(ctx context.Context, files *output.Set, path string, r *session.Report) error {
	d, err := chart.Squad(desk.SessionPicture(r, func(f *session.Failure) string { return f.Reason }), chart.Options{})
	if err != nil {
		return err
	}
	return flags.WriteChart(ctx, files, path, d)
}
