package change

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// Reading is one reading as this package compares it, with its circumstances. What is not
// known is left empty, and an empty field never reduces an uncertainty: see Rules.
type Reading struct {
	ID      int64
	IDs     []int64   // of the readings that were merged into it; nil: only ID
	Athlete string    // whose angle it is
	Picture string    // which picture of which take was marked; see onePerPicture
	Take    string    // the take's SHA-256; "": not known
	AtS     float64   // the moment in the take, s from its first frame
	Day     time.Time // of the take; the time of day does not count
	AnyDay  bool      // the day is not known and Day is a placeholder: two such readings may be of different days
	Session string    // distinguishes the sessions of one day

	Measure    string
	Definition string // between which lines: see Definition
	Side       string // left or right, of the limb
	State      string // cold, warm, after
	Condition  string // passive, active, in-skill, swung
	Variant    string // the position, as in package movement; "" is the measure's usual one
	Rater      string
	Setup      string // where and how the camera stood
	Lens       string // which lens file; "": none

	AngleDeg    float64
	StandardDeg float64            // standard uncertainty
	Sources     map[string]float64 // of each source alone, degrees
	AskedDeg    *float64           // the angle that a skill asks; nil: no skill was named
	AtMost      bool               // the skill asks for at most that angle
	Density     reading.Density    // of the angle; without values: normal

	// Missed is the range, degrees, by which the angle at the movement's widest moment may be
	// beyond AngleDeg; 0 and 0: AngleDeg is that of the widest moment.
	Missed [2]float64
}

// unknown is the value of a state or condition that was not given. It means the same as "".
const unknown = "unknown"

// FromReading converts a reading. The circumstances that a reading does not contain are
// left empty.
func FromReading(r *reading.Reading) Reading {
	out := Reading{Measure: r.Measure, AngleDeg: r.AngleDeg, StandardDeg: r.StandardUncertaintyDeg, Sources: map[string]float64{}, Density: r.Density,
		Picture:    Picture(r.Take),
		Take:       r.Take.SHA256,
		AtS:        r.Take.TimeS,
		Definition: Definition(r.Lines[0].From + ">" + r.Lines[0].To + "|" + r.Lines[1].From + ">" + r.Lines[1].To)}
	if m := r.Missed(); m != nil {
		out.Missed = [2]float64{m.LeastDeg, m.MostDeg}
	}
	for _, b := range r.Budget {
		out.Sources[b.Source] = b.StandardUncertaintyDeg
	}
	if r.Skill != nil {
		asked := r.Skill.ThresholdDeg
		out.AskedDeg, out.AtMost = &asked, r.Skill.AtMost
	}
	return out
}

// Picture identifies the picture (file and frame) that was marked; "" if it is not known.
func Picture(t reading.Take) string {
	if t.SHA256 == "" {
		return ""
	}
	return fmt.Sprintf("%s %d %g", t.SHA256, t.Frame, t.TimeS)
}

// Definition is the two lines of a measure without the sides and roles of their
// landmarks: "hip>front-ankle|hip>back-ankle" becomes "hip-ankle and hip-ankle". Angles
// between different lines are not compared.
func Definition(lines string) string {
	var out []string
	for _, line := range strings.Split(lines, "|") {
		from, to, _ := strings.Cut(line, ">")
		out = append(out, landmarkKind(from)+"-"+landmarkKind(to))
	}
	return strings.Join(out, " and ")
}

func landmarkKind(landmark string) string {
	for _, role := range []string{"left-", "right-", "front-", "back-"} {
		landmark = strings.TrimPrefix(landmark, role)
	}
	return landmark
}

// inputError is an error in the input: what to do, and what is wrong.
func inputError(hint, format string, a ...any) *fault.Error {
	return fault.New(fmt.Sprintf(format, a...), hint)
}

// day is the reading's day at midnight UTC.
func (r *Reading) day() time.Time {
	y, m, d := r.Day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// ofOneAthlete gives readings without an athlete's name one common name, for statements
// about one athlete.
func ofOneAthlete(rs []Reading) []Reading {
	out := slices.Clone(rs)
	for i := range out {
		if out[i].Athlete == "" {
			out[i].Athlete = "the athlete"
		}
	}
	return out
}

// known returns "" for a value that was not given.
func known(s string) string {
	if s == unknown {
		return ""
	}
	return s
}

// check returns an error for readings that cannot be compared at all.
func check(rs []Reading) error {
	for i := range rs {
		r := &rs[i]
		if math.IsNaN(r.AngleDeg) || math.IsInf(r.AngleDeg, 0) || !(r.StandardDeg > 0) || math.IsInf(r.StandardDeg, 0) {
			return inputError("make the reading again; without an uncertainty it cannot be compared", "reading %d has the angle %v with the standard uncertainty %v", r.ID, r.AngleDeg, r.StandardDeg)
		}
		if r.Day.IsZero() {
			return inputError("say on which day the take was made", "reading %d has no day", r.ID)
		}
		if r.Measure != rs[0].Measure {
			return inputError("compare readings of one measure: name it with "+fault.Option("measure"), "reading %d is of %s and reading %d of %s", rs[0].ID, rs[0].Measure, r.ID, r.Measure)
		}
	}
	return nil
}

// LeftOut is a reading that was not used, and why.
type LeftOut struct {
	ID  int64  `json:"reading"`
	Why string `json:"why"`
}

// alike selects the readings that can be compared with each other: of the groups with equal
// traits, the one with the most days (of several, the one with the latest day). It returns
// them ordered by day, and the rest.
func alike(rs []Reading, traits ...trait) (like []Reading, left []LeftOut) {
	groups, days := map[string][]Reading{}, map[string]map[time.Time]bool{}
	var best string
	better := func(a, b string) bool {
		if n, m := len(days[a]), len(days[b]); n != m {
			return n > m
		}
		latest := func(g string) (t time.Time) {
			for d := range days[g] {
				if d.After(t) {
					t = d
				}
			}
			return t
		}
		if x, y := latest(a), latest(b); !x.Equal(y) {
			return x.After(y)
		}
		return a < b
	}
	for _, r := range rs {
		g := groupKey(&r, traits)
		groups[g] = append(groups[g], r)
		if days[g] == nil {
			days[g] = map[time.Time]bool{}
		}
		days[g][r.day()] = true
	}
	for g := range groups {
		if best == "" || better(g, best) {
			best = g
		}
	}
	for _, r := range rs {
		if groupKey(&r, traits) == best {
			like = append(like, r)
			continue
		}
		var why []string
		for _, t := range traits {
			if got, want := t.value(&r), t.value(&groups[best][0]); got != want {
				why = append(why, fmt.Sprintf("%s %s and not %s", t.what, orUnsaid(got), orUnsaid(want)))
			}
		}
		left = append(left, LeftOut{r.ID, strings.Join(why, ", ")})
	}
	slices.SortStableFunc(like, func(a, b Reading) int { return a.day().Compare(b.day()) })
	return like, left
}

// trait is a property in which readings have to agree to be compared.
type trait struct {
	what  string
	value func(*Reading) string
}

var (
	byDefinition = trait{"lines", func(r *Reading) string { return r.Definition }}
	bySide       = trait{"side", func(r *Reading) string { return known(r.Side) }}
	byCondition  = trait{"condition", func(r *Reading) string { return known(r.Condition) }}
	byVariant    = trait{"position", func(r *Reading) string {
		if r.Variant == "" {
			return "usual"
		}
		return r.Variant
	}}
	byState = trait{"state", func(r *Reading) string { return known(r.State) }}
)

// groupKey is the key of the group of readings with the same traits.
func groupKey(r *Reading, traits []trait) string {
	out := ""
	for _, t := range traits {
		out += t.value(r) + "\x00"
	}
	return out
}

func orUnsaid(s string) string {
	if s == "" {
		return "unsaid"
	}
	return s
}

func sortedKeys(m map[string]float64) []string { return slices.Sorted(maps.Keys(m)) }

// Beside is the reading of an angle that was read beside r from the same marks, filed as r is. What a
// single frame may have missed of the widest moment is that of r: no angle beside it is known to be at
// its own widest.
func (r *Reading) Beside(b *reading.Beside) Reading {
	out := *r
	out.Measure, out.Definition = b.Measure, b.Measure+" "+b.Leg
	out.AngleDeg, out.StandardDeg, out.Sources = b.AngleDeg, b.StandardUncertaintyDeg, b.Sources
	out.AskedDeg, out.AtMost, out.Density = nil, false, reading.Density{}
	return out
}

// FewestConditions is the number of conditions in which an angle must have been read for a gap.
const FewestConditions = 2

// Conditions counts the conditions that are stated in the readings.
func Conditions(rs []Reading) int {
	var stated []string
	for i := range rs {
		if c := known(rs[i].Condition); c != "" && !slices.Contains(stated, c) {
			stated = append(stated, c)
		}
	}
	return len(stated)
}
