package journal

import (
	"encoding/json"
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// Request holds every field of [reading.Request] except the marks, in a form for files.
// Zero is the default.
type Request struct {
	Still   bool   `json:"still,omitempty"`
	Measure string `json:"measure"`
	Leg     string `json:"leg,omitempty"`
	Side    string `json:"side,omitempty"`
	Facing  string `json:"facing,omitempty"`
	Skill   *Skill `json:"skill,omitempty"`

	Found      string    `json:"found,omitempty"` // how landmarks were found if their marks do not say so
	Camera     string    `json:"camera,omitempty"`
	ObliqueDeg float64   `json:"oblique_deg,omitempty"`
	StatureMm  float64   `json:"stature_mm,omitempty"`
	DistanceM  float64   `json:"distance_m,omitempty"`
	FocalMm    float64   `json:"focal_mm,omitempty"`
	Movement   *Movement `json:"movement,omitempty"`
	Moment     *Moment   `json:"moment,omitempty"`
	Confidence float64   `json:"confidence,omitempty"`
	Coverage   float64   `json:"coverage,omitempty"`
	Seed       uint64    `json:"seed,omitempty"`
	MaxDraws   int       `json:"max_draws,omitempty"`

	Lens   json.RawMessage `json:"lens,omitempty"`        // the lens file, ecart/lens/1
	Priors string          `json:"priors_yaml,omitempty"` // the priors file, if it was the user's own
}

// Skill is [reading.Skill] in a form for files.
type Skill struct {
	Rulebook   string   `json:"rulebook"`
	Name       string   `json:"name"`
	Title      string   `json:"title"`
	Measure    string   `json:"measure"`
	AskedDeg   float64  `json:"asked_deg"`
	AtMost     bool     `json:"at_most"`
	FreeDeg    float64  `json:"free_deg"`
	Bands      []Band   `json:"bands"`
	Edition    string   `json:"edition"`
	Source     string   `json:"source"`
	Provenance string   `json:"provenance"`
	Cautions   []string `json:"cautions,omitempty"`
	Note       string   `json:"note,omitempty"`

	Ratio      string              `json:"ratio,omitempty"` // judged in place of an angle
	RatioBands []reading.RatioBand `json:"ratio_bands,omitempty"`

	StraightLegs *reading.StraightLegs `json:"straight_legs,omitempty"`
}

// Band is [reading.Band] in a form for files: ToDeg is null if the band has no end.
type Band struct {
	Label     string   `json:"label"`
	Deduction string   `json:"deduction"`
	FromDeg   float64  `json:"from_deg"`
	ToDeg     *float64 `json:"to_deg"`
}

// Movement is [reading.Movement] in a form for files. The two types are converted to each
// other, so that a field added only there does not compile.
type Movement struct {
	OffsetDeg   float64               `json:"offset_deg"`
	FitSDDeg    float64               `json:"fit_standard_uncertainty_deg"`
	TimingSDDeg float64               `json:"timing_standard_uncertainty_deg"`
	VelocityPx  map[string][2]float64 `json:"velocity_px_s"`
	Readout     [2]float64            `json:"readout"`
	Unseen      []string              `json:"unseen,omitempty"`
}

// Moment is [reading.Moment] in a form for files.
type Moment struct {
	LeastDeg float64 `json:"least_deg"`
	MostDeg  float64 `json:"most_deg"`
	How      string  `json:"how"`
}

// NewRequest returns q in the form for files. lens and priors are the contents of the files
// given, nil if there were none.
func NewRequest(q *reading.Request, lens, priors []byte) Request {
	r := Request{Still: q.Still, Measure: q.Measure.Name, Leg: string(q.Options.Leg), Side: string(q.Options.Side), Facing: string(q.Options.Facing),
		Found: string(q.Found), Camera: q.Camera, ObliqueDeg: q.ObliqueDeg, StatureMm: q.StatureMm, DistanceM: q.DistanceM, FocalMm: q.FocalMm,
		Movement: (*Movement)(q.Movement), Moment: (*Moment)(q.Moment), Confidence: q.Confidence, Coverage: q.Coverage, Seed: q.Seed, MaxDraws: q.MaxDraws,
		Lens: lens, Priors: string(priors)}
	if s := q.Skill; s != nil {
		r.Skill = &Skill{Rulebook: s.Rulebook, Name: s.Name, Title: s.Title, Measure: s.Measure, AskedDeg: s.AskedDeg, AtMost: s.AtMost, FreeDeg: s.FreeDeg,
			Edition: s.Edition, Source: s.Source, Provenance: s.Provenance, Cautions: s.Cautions, Note: s.Note, StraightLegs: s.StraightLegs, Ratio: s.Ratio, RatioBands: s.RatioBands}
		for _, b := range s.Bands {
			band := Band{b.Label, b.Deduction, b.FromDeg, nil}
			if !math.IsInf(b.ToDeg, 1) {
				band.ToDeg = &b.ToDeg
			}
			r.Skill.Bands = append(r.Skill.Bands, band)
		}
	}
	return r
}

// Again returns the request that makes the entry's reading again. The caller sets Measure
// by its name and parses Request.Lens, if there is one: both belong to packages that this
// one does not import. What was found about a clip's peak is in the kept reading and not
// part of a request.
func (e *Entry) Again() (reading.Request, error) {
	r := &e.Request
	kept, err := e.Parse()
	if err != nil {
		return reading.Request{}, err
	}
	q := reading.Request{Take: kept.Take, Beyond: true, // no questions about values that were accepted before
		Still: r.Still, Found: reading.HowFound(r.Found), Camera: r.Camera, ObliqueDeg: r.ObliqueDeg, StatureMm: r.StatureMm, DistanceM: r.DistanceM,
		FocalMm: r.FocalMm, Movement: (*reading.Movement)(r.Movement), Moment: (*reading.Moment)(r.Moment), Confidence: r.Confidence, Coverage: r.Coverage, Seed: r.Seed, MaxDraws: r.MaxDraws}
	set(&q.Options.Leg, r.Leg)
	set(&q.Options.Side, r.Side)
	set(&q.Options.Facing, r.Facing)
	if q.Marks, err = reading.ParseKeptMarks(fmt.Sprintf("of reading %d", e.ID), e.Marks); err != nil {
		return q, err
	}
	if r.Priors != "" {
		if q.Priors, err = reading.ParsePriors(fmt.Sprintf("of reading %d", e.ID), []byte(r.Priors)); err != nil {
			return q, err
		}
	}
	if s := r.Skill; s != nil {
		q.Skill = &reading.Skill{Rulebook: s.Rulebook, Name: s.Name, Title: s.Title, Measure: s.Measure, AskedDeg: s.AskedDeg, AtMost: s.AtMost, FreeDeg: s.FreeDeg,
			Edition: s.Edition, Source: s.Source, Provenance: s.Provenance, Cautions: s.Cautions, Note: s.Note, StraightLegs: s.StraightLegs, Ratio: s.Ratio, RatioBands: s.RatioBands}
		for _, b := range s.Bands {
			band := reading.Band{Label: b.Label, Deduction: b.Deduction, FromDeg: b.FromDeg, ToDeg: math.Inf(1)}
			if b.ToDeg != nil {
				band.ToDeg = *b.ToDeg
			}
			q.Skill.Bands = append(q.Skill.Bands, band)
		}
	}
	return q, nil
}

// set assigns s to a string type of a package that is not imported here.
func set[T ~string](to *T, s string) { *to = T(s) }

func (r *Request) complete() (err error) {
	if r.Measure == "" {
		return fault.New("the entry does not say what was measured", "keep a reading with its request")
	}
	if len(r.Lens) == 0 || string(r.Lens) == "null" {
		r.Lens = nil
		return nil
	}
	r.Lens, err = compact("lens", r.Lens)
	return err
}
