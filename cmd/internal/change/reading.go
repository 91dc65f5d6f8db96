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

// Reading is what is compared: one reading with where it comes from. What is not
// known is left empty; it then never makes a statement surer: see Rules.
type Reading struct {
	ID      int64
	IDs     []int64   // of the readings that it stands for, where that is more than one; else nil
	Athlete string    // whose angle it is
	Picture string    // which picture of which take was marked; see onePerPicture
	Day     time.Time // of the take; the time of day does not count
	AnyDay  bool      // the day is not known, and Day stands for it: another may have been made on another day
	Session string    // tells two sessions of one day apart

	Measure    string
	Definition string // which lines stand for it: see Definition
	Side       string // left or right, of the limb
	State      string // cold, warm, after
	Condition  string // passive, active, in-skill
	Rater      string
	Setup      string // where and how the camera stood
	Lens       string // which lens file; "" is none

	AngleDeg    float64
	StandardDeg float64            // standard uncertainty
	Sources     map[string]float64 // of each source alone, degrees
	AskedDeg    *float64           // what a skill asks, if one was named
	AtMost      bool               // the skill asks for no more than that
	Density     reading.Density    // of the angle; without values it is normal

	// Missed is from how far to how far beyond the angle that of the movement's widest moment
	// may lie, degrees; 0 and 0: the angle is that of the widest moment.
	Missed [2]float64
}

// unknown is a state or a condition that nobody said. It is the same as "".
const unknown = "unknown"

// FromReading fills in what a reading knows of itself.
func FromReading(r *reading.Reading) Reading {
	out := Reading{Measure: r.Measure, AngleDeg: r.AngleDeg, StandardDeg: r.StandardUncertaintyDeg, Sources: map[string]float64{}, Density: r.Density,
		Picture:    Picture(r.Take),
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

// Picture names which picture of which take was marked; "" where that is not known.
func Picture(t reading.Take) string {
	if t.SHA256 == "" {
		return ""
	}
	return fmt.Sprintf("%s %d %g", t.SHA256, t.Frame, t.TimeS)
}

// Definition is the two lines of a measure without the sides and roles of their
// landmarks: "hip>front-ankle|hip>back-ankle" is "hip-ankle and hip-ankle". Angles
// between other lines are other angles, and are not compared.
func Definition(lines string) string {
	var out []string
	for _, line := range strings.Split(lines, "|") {
		from, to, _ := strings.Cut(line, ">")
		out = append(out, kind(from)+"-"+kind(to))
	}
	return strings.Join(out, " and ")
}

func kind(landmark string) string {
	for _, role := range []string{"left-", "right-", "front-", "back-"} {
		landmark = strings.TrimPrefix(landmark, role)
	}
	return landmark
}

// wrong is an error of what was given.
func wrong(hint, format string, a ...any) *fault.Error {
	return fault.New(fmt.Sprintf(format, a...), hint)
}

// day is the reading's day at midnight UTC.
func (r *Reading) day() time.Time {
	y, m, d := r.Day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// ofOneAthlete is for statements about one athlete: readings that do not say whose
// they are get one name.
func ofOneAthlete(rs []Reading) []Reading {
	out := slices.Clone(rs)
	for i := range out {
		if out[i].Athlete == "" {
			out[i].Athlete = "the athlete"
		}
	}
	return out
}

func known(s string) string {
	if s == unknown {
		return ""
	}
	return s
}

// check refuses what cannot be compared at all.
func check(rs []Reading) error {
	for i := range rs {
		r := &rs[i]
		if math.IsNaN(r.AngleDeg) || math.IsInf(r.AngleDeg, 0) || !(r.StandardDeg > 0) || math.IsInf(r.StandardDeg, 0) {
			return wrong("make the reading again; without an uncertainty it cannot be compared", "reading %d has the angle %v with the standard uncertainty %v", r.ID, r.AngleDeg, r.StandardDeg)
		}
		if r.Day.IsZero() {
			return wrong("say on which day the take was made", "reading %d has no day", r.ID)
		}
		if r.Measure != rs[0].Measure {
			return wrong("compare readings of one measure: name it with "+fault.Option("measure"), "reading %d is of %s and reading %d of %s", rs[0].ID, rs[0].Measure, r.ID, r.Measure)
		}
	}
	return nil
}

// LeftOut is a reading that was not used, and why.
type LeftOut struct {
	ID  int64  `json:"reading"`
	Why string `json:"why"`
}

// alike parts the readings into those that can be compared, which are of the
// group with the most days (the latest of groups with as many), and the rest.
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
		g := name(&r, traits)
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
		if name(&r, traits) == best {
			like = append(like, r)
			continue
		}
		var why []string
		for _, t := range traits {
			if got, want := t.of(&r), t.of(&groups[best][0]); got != want {
				why = append(why, fmt.Sprintf("%s %s and not %s", t.what, orUnsaid(got), orUnsaid(want)))
			}
		}
		left = append(left, LeftOut{r.ID, strings.Join(why, ", ")})
	}
	slices.SortStableFunc(like, func(a, b Reading) int { return a.day().Compare(b.day()) })
	return like, left
}

// trait is something in which readings have to be alike.
type trait struct {
	what string
	of   func(*Reading) string
}

var (
	byDefinition = trait{"lines", func(r *Reading) string { return r.Definition }}
	bySide       = trait{"side", func(r *Reading) string { return known(r.Side) }}
	byCondition  = trait{"condition", func(r *Reading) string { return known(r.Condition) }}
	byState      = trait{"state", func(r *Reading) string { return known(r.State) }}
)

func name(r *Reading, traits []trait) string {
	out := ""
	for _, t := range traits {
		out += t.of(r) + "\x00"
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
