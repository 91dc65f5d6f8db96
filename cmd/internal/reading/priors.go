package reading

import (
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

//go:embed priors.yaml
var builtIn []byte

// Priors are the figures that a reading uses unless it is given better ones. The built-in file,
// priors.yaml, explains each figure and its reason.
type Priors struct {
	Schema    string `yaml:"schema"`
	Placement struct {
		SDPx       float64 `yaml:"sd_px"`
		LongSidePx float64 `yaml:"long_side_px"`
		Reason     `yaml:",inline"`
	} `yaml:"placement"`
	Landmark struct {
		SDMm             map[string]float64 `yaml:"sd_mm"`
		WithoutStickerMm map[string]float64 `yaml:"without_sticker_mm"`
		NotFeltMm        map[string]float64 `yaml:"not_felt_mm"`
		Reason           `yaml:",inline"`
	} `yaml:"landmark"`
	Proposal struct {
		SDStature             map[string]float64 `yaml:"sd_stature"`
		ArmSDStature          float64            `yaml:"arm_across_sd_stature"`
		ClipSDStature         map[string]float64 `yaml:"clip_sd_stature"`
		ClipArmSDStature      float64            `yaml:"clip_arm_across_sd_stature"`
		ClipBothArmsSDStature float64            `yaml:"clip_both_arms_sd_stature"`
		OutlineSDStature      float64            `yaml:"outline_sd_stature"`
		DriftSDDegS           float64            `yaml:"drift_sd_deg_s"`
		FollowedMomentSDS     float64            `yaml:"followed_moment_sd_s"`
		Reason                `yaml:",inline"`
	} `yaml:"proposal"`
	Stature struct {
		MeanMm    float64 `yaml:"mean_mm"`
		SDMm      float64 `yaml:"sd_mm"`
		GivenSDMm float64 `yaml:"given_sd_mm"`
		Reason    `yaml:",inline"`
	} `yaml:"stature"`
	Segments struct {
		Fraction map[string]float64 `yaml:"fraction"`
		Reason   `yaml:",inline"`
	} `yaml:"segments"`
	Oblique struct {
		YawDeg   map[string]float64 `yaml:"yaw_deg"`
		PitchDeg map[string]float64 `yaml:"pitch_deg"`
		LeanDeg  float64            `yaml:"lean_deg"`
		Reason   `yaml:",inline"`
	} `yaml:"oblique"`
	Plane struct {
		YawDeg            float64 `yaml:"yaw_deg"`
		PitchDeg          float64 `yaml:"pitch_deg"`
		LevelHalfWidthDeg float64 `yaml:"level_half_width_deg"`
		AheadM            float64 `yaml:"ahead_m"`
		Reason            `yaml:",inline"`
	} `yaml:"plane"`
	Lens struct {
		LeftOver float64 `yaml:"left_over"`
		Reason   `yaml:",inline"`
	} `yaml:"lens"`
	Timing struct {
		ReadoutFromS float64 `yaml:"readout_from_s"`
		ReadoutToS   float64 `yaml:"readout_to_s"`
		Reason       `yaml:",inline"`
	} `yaml:"timing"`
	Moment struct {
		ClipDeg  float64 `yaml:"clip_deg"`
		StillDeg float64 `yaml:"still_deg"`
		Reason   `yaml:",inline"`
	} `yaml:"moment"`
	Focal struct {
		GivenSD float64 `yaml:"given_sd"`
		Reason  `yaml:",inline"`
	} `yaml:"focal"`
	Level struct {
		HalfWidthDeg float64 `yaml:"half_width_deg"`
		Reason       `yaml:",inline"`
	} `yaml:"level"`
	Distance struct {
		FromM   float64 `yaml:"from_m"`
		ToM     float64 `yaml:"to_m"`
		GivenSD float64 `yaml:"given_sd"`
		Reason  `yaml:",inline"`
	} `yaml:"distance"`
	Bodies struct {
		Reach  map[string]Reach `yaml:"reach_deg"`
		Reason `yaml:",inline"`
	} `yaml:"bodies"`
	Depth struct {
		Joint  map[string]float64 `yaml:"joint"`
		Spread struct {
			Joint float64 `yaml:"joint"`
			Skin  float64 `yaml:"skin"`
		} `yaml:"spread"`
		Sagittal Stand `yaml:"sagittal"`
		Frontal  Stand `yaml:"frontal"`
		Reason   `yaml:",inline"`
	} `yaml:"depth"`
}

// Stand is the prior of a body's extent out of the plane of motion, for one view of it.
type Stand struct {
	Skin    map[string]float64 `yaml:"skin"`
	LeanDeg map[string]float64 `yaml:"lean_deg"`
	OutDeg  map[string]float64 `yaml:"out_deg,omitempty"`
}

// Reason explains a figure and says where it comes from.
type Reason struct {
	Why        string `yaml:"why"`
	Provenance string `yaml:"provenance"`
}

// DefaultPriors returns the built-in figures.
func DefaultPriors() *Priors {
	var p Priors
	if err := strict.YAML(builtIn, &p, strict.Options{}); err != nil {
		panic("reading: priors.yaml: " + err.Error())
	}
	return &p
}

// usual returns the built-in figures, decoded once. They are not to be changed.
var usual = sync.OnceValue(DefaultPriors)

// PriorsUsed returns the figures that the request uses: its own or the built-in ones. They
// are not to be changed.
func (q *Request) PriorsUsed() *Priors {
	if q.Priors != nil {
		return q.Priors
	}
	return usual()
}

// PriorsFile returns the text of the built-in file, to be copied and changed.
func PriorsFile() []byte { return slices.Clone(builtIn) }

// ParsePriors reads a user's file on top of the built-in figures, which are kept where the file does
// not name them. name is used in errors.
func ParsePriors(name string, data []byte) (*Priors, error) {
	bad := func(err error) error {
		do := ""
		var e *strict.Error
		if errors.As(err, &e) {
			do = e.Do + "; "
		}
		return fault.New(fmt.Sprintf("the priors file %q cannot be used: %v", name, err), do+"print the built-in one with "+fault.Operation("print the priors")+", change its figures and leave its shape")
	}
	p := DefaultPriors()
	p.Schema = ""
	if err := strict.YAML(data, p, strict.Options{Partial: true}); err != nil {
		return nil, bad(err)
	}
	if err := p.check(); err != nil {
		return nil, bad(err)
	}
	return p, nil
}

func (p *Priors) check() error {
	if p.Schema != "ecart/priors/1" {
		return fmt.Errorf("its schema is %q and not %q", p.Schema, "ecart/priors/1")
	}
	positive := map[string]float64{
		"placement sd_px": p.Placement.SDPx, "placement long_side_px": p.Placement.LongSidePx,
		"proposal outline_sd_stature": p.Proposal.OutlineSDStature, "proposal drift_sd_deg_s": p.Proposal.DriftSDDegS,
		"proposal followed_moment_sd_s":  p.Proposal.FollowedMomentSDS,
		"proposal arm_across_sd_stature": p.Proposal.ArmSDStature, "proposal clip_arm_across_sd_stature": p.Proposal.ClipArmSDStature,
		"proposal clip_both_arms_sd_stature": p.Proposal.ClipBothArmsSDStature,
		"stature mean_mm":                    p.Stature.MeanMm, "stature sd_mm": p.Stature.SDMm, "stature given_sd_mm": p.Stature.GivenSDMm,
		"level half_width_deg": p.Level.HalfWidthDeg, "lens left_over": p.Lens.LeftOver, "focal given_sd": p.Focal.GivenSD, "moment clip_deg": p.Moment.ClipDeg, "moment still_deg": p.Moment.StillDeg,
		"timing readout_from_s": p.Timing.ReadoutFromS, "timing readout_to_s": p.Timing.ReadoutToS,
		"plane yaw_deg": p.Plane.YawDeg, "plane pitch_deg": p.Plane.PitchDeg, "plane level_half_width_deg": p.Plane.LevelHalfWidthDeg,
		"plane ahead_m":      p.Plane.AheadM,
		"oblique lean_deg":   p.Oblique.LeanDeg,
		"depth spread joint": p.Depth.Spread.Joint, "depth spread skin": p.Depth.Spread.Skin,
		"distance from_m": p.Distance.FromM, "distance to_m": p.Distance.ToM, "distance given_sd": p.Distance.GivenSD,
	}
	for _, m := range []struct {
		name   string
		values map[string]float64
	}{{"proposal sd_stature", p.Proposal.SDStature}, {"proposal clip_sd_stature", p.Proposal.ClipSDStature}, {"landmark sd_mm", p.Landmark.SDMm}, {"landmark without_sticker_mm", p.Landmark.WithoutStickerMm}, {"landmark not_felt_mm", p.Landmark.NotFeltMm}, {"segments fraction", p.Segments.Fraction}, {"oblique yaw_deg", p.Oblique.YawDeg}, {"oblique pitch_deg", p.Oblique.PitchDeg},
		{"depth sagittal lean_deg", p.Depth.Sagittal.LeanDeg}, {"depth frontal lean_deg", p.Depth.Frontal.LeanDeg}} {
		for k, v := range m.values {
			positive[m.name+" "+k] = v
		}
	}
	for _, m := range []map[string]float64{p.Depth.Joint, p.Depth.Sagittal.Skin, p.Depth.Frontal.Skin} {
		for _, k := range slices.Sorted(maps.Keys(m)) {
			if v := m[k]; !(v >= 0 && v < 0.5) {
				return fmt.Errorf("depth %s lies outside the body: %v", k, v)
			}
		}
	}
	for _, stand := range []*Stand{&p.Depth.Sagittal, &p.Depth.Frontal} {
		for _, k := range slices.Sorted(maps.Keys(stand.OutDeg)) {
			if _, ok := stand.LeanDeg[k]; !ok {
				return fmt.Errorf("depth out_deg %q is no segment that leans", strict.Clip(k))
			}
			if v := stand.OutDeg[k]; !(math.Abs(v) <= 90) {
				return fmt.Errorf("depth out_deg %s must be from -90 to 90, not %v", k, v)
			}
		}
	}
	for _, k := range slices.Sorted(maps.Keys(positive)) {
		most := 1e5
		if degrees := strings.Contains(k, "_deg"); degrees {
			most = 90
		}
		if v := positive[k]; !(v > 0 && v <= most) {
			return fmt.Errorf("%s must be above 0 and at most %g, not %v", k, most, v)
		}
	}
	if err := p.checkReach(); err != nil {
		return err
	}
	if p.Distance.FromM >= p.Distance.ToM {
		return fmt.Errorf("distance from_m %v is not below to_m %v", p.Distance.FromM, p.Distance.ToM)
	}
	if p.Timing.ReadoutFromS >= p.Timing.ReadoutToS {
		return fmt.Errorf("timing readout_from_s %v is not below readout_to_s %v", p.Timing.ReadoutFromS, p.Timing.ReadoutToS)
	}
	return nil
}

// fraction is the length between two landmarks as a fraction of stature; false if the body does not
// fix it.
func (p *Priors) fraction(a, b string) (float64, bool) {
	ka, kb := kindOf(a), kindOf(b)
	for _, k := range []string{ka + "-" + kb, kb + "-" + ka} {
		if f, ok := p.Segments.Fraction[k]; ok {
			return f, true
		}
	}
	return 0, false
}

// kindOf is a landmark's name without its side or role.
func kindOf(landmark string) string {
	if i := strings.LastIndexByte(landmark, '-'); i >= 0 {
		return landmark[i+1:]
	}
	return landmark
}
