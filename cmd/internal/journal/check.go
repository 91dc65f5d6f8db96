package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// mostDeg is more than any angle or difference of angles of a measure, in degrees: a
// measure has at most two turns to one side.
const mostDeg = 1000

// checkReading returns an error for values that no version of ecart writes. Code that
// draws, compares and remakes kept readings relies on valid values.
func checkReading(r *reading.Reading) error {
	hash, err := hex.DecodeString(r.Take.SHA256)
	degrees := func(v float64) bool { return math.Abs(v) <= mostDeg } // false for NaN
	bad := func(format string, a ...any) error {
		return fault.New("the reading "+fmt.Sprintf(format, a...), "keep what "+fault.Operation("save the reading as JSON")+" printed, as it was printed, or make it again")
	}
	switch low, high := r.IntervalDeg[0], r.IntervalDeg[1]; {
	case r.Schema != reading.Schema:
		return fault.New(fmt.Sprintf("the reading has the schema %q, and %q is kept here", r.Schema, reading.Schema), "keep what "+fault.Operation("save the reading as JSON")+" prints")
	case r.Measure == "":
		return fault.New("the reading does not say what was measured", "keep what "+fault.Operation("save the reading as JSON")+" prints")
	case err != nil || len(hash) != sha256.Size:
		return fault.New(fmt.Sprintf("the reading's take %q has no SHA-256 but %q", r.Take.Name, r.Take.SHA256), "keep a reading that was made from a take")
	case !degrees(r.AngleDeg) || !degrees(low) || !degrees(high) || !degrees(r.ExpandedUncertaintyDeg) || !degrees(r.PictureAngleDeg):
		return fault.New("an angle of the reading is no number of degrees", "make the reading again")
	case !(r.StandardUncertaintyDeg > 0) || !degrees(r.StandardUncertaintyDeg):
		return fault.New(fmt.Sprintf("the reading's standard uncertainty is %v", r.StandardUncertaintyDeg), "a reading without an uncertainty cannot be compared with another and is not kept; make it again")
	case r.ExpandedUncertaintyDeg < 0:
		return bad("has the expanded uncertainty %v", r.ExpandedUncertaintyDeg)
	case !(r.Coverage > 0 && r.Coverage < 1):
		return bad("has the coverage %v, which is no probability", r.Coverage)
	case !(low <= r.AngleDeg && r.AngleDeg <= high):
		return bad("has the angle %v outside its own interval, %v to %v", r.AngleDeg, low, high)
	case r.Take.Frame < 0 || r.Take.WidthPx <= 0 || r.Take.HeightPx <= 0:
		return bad("is of frame %d of a picture of %d x %d pixels", r.Take.Frame, r.Take.WidthPx, r.Take.HeightPx)
	}
	for _, b := range r.Budget {
		if b.Source == "" || !degrees(b.StandardUncertaintyDeg) {
			return bad("has a source %q with the uncertainty %v", b.Source, b.StandardUncertaintyDeg)
		}
	}
	if d := r.Density; len(d.Values) > 0 && (!(d.StepDeg > 0) || !degrees(d.FromDeg) || !degrees(d.StepDeg*float64(len(d.Values))) || slices.ContainsFunc(d.Values, func(v float64) bool { return !(v >= 0) })) {
		return bad("has an impossible density")
	}
	return checkVerdict(r, bad)
}

func checkVerdict(r *reading.Reading, bad func(string, ...any) error) error {
	probability := func(p float64) bool { return p >= -1e-9 && p <= 1+1e-9 } // a sum of shares may be off by rounding
	if s := r.Skill; s != nil && !(math.Abs(s.ThresholdDeg) <= mostDeg) {
		return bad("is compared with %v degrees", s.ThresholdDeg)
	}
	v := r.Verdict
	switch {
	case v == nil:
		return nil
	case r.Skill == nil:
		return bad("has a verdict and no skill")
	case !slices.Contains([]reading.Decision{reading.Meets, reading.Short, reading.Undecided}, v.Decision):
		return bad("has the unknown decision %q", v.Decision)
	case !probability(v.MeetsProbability) || !probability(v.Confidence) || !(math.Abs(v.ShortfallDeg) <= mostDeg):
		return bad("meets what is asked with the probability %v, decided at %v, %v degrees short", v.MeetsProbability, v.Confidence, v.ShortfallDeg)
	}
	for _, b := range v.Bands {
		if !probability(b.Probability) || !(math.Abs(b.FromDeg) <= mostDeg) || b.ToDeg != nil && !(*b.ToDeg >= b.FromDeg && *b.ToDeg <= mostDeg) {
			return bad("has an impossible band, %q", b.Label)
		}
	}
	return nil
}

// complete checks a former reading and compacts its JSON.
func (f *Former) complete() error {
	var err error
	if f.Reading, err = compact("former reading", f.Reading); err != nil {
		return err
	}
	var r reading.Reading
	if err := json.Unmarshal(f.Reading, &r); err != nil {
		return err
	}
	if _, err := time.Parse(time.RFC3339, f.ReplacedAt); err != nil {
		return fault.New(fmt.Sprintf("it was replaced at %q, which is no time", f.ReplacedAt), "")
	}
	probe := Entry{Athlete: "any", Tool: f.Tool}
	if err := probe.CheckNames(); err != nil {
		return err
	}
	return checkReading(&r)
}
