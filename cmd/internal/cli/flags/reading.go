package flags

import (
	"github.com/spf13/pflag"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
)

// ReadOptions are the flags of commands that read an angle.
type ReadOptions struct {
	desk.Ask
	Files  output.Set // what is written
	Rules  string
	Figure string
	Cover  desk.Cover
	JSON   bool
	Keep   KeepOptions
}

// Desk returns a desk with the journal and the rule books of the flags.
func (o *ReadOptions) Desk(s terminal.Streams) *desk.Desk { return s.Desk(o.Keep.Journal, o.Rules) }

// AddReading adds the flags that all commands share that read an angle.
func AddReading(f *pflag.FlagSet, o *ReadOptions) {
	f.StringVar(&o.Skill, "skill", "", "compare with the skill `NAME` or BOOK/NAME; 'ecart rules' lists them")
	f.StringVar(&o.Measure, "measure", "", "the measure `NAME`, with no skill to compare with")
	f.StringVar(&o.Leg, "leg", "", "what stands for the leg: `PART` is whole (to the ankle, as is usual) or thigh (to the knee)")
	f.StringVar(&o.Side, "side", "", "whose marks count where several sides are marked: `SIDE` is left, right, front or back")
	f.StringVar(&o.Facing, "facing", "", "the way the chest faces in the picture: `WAY` is left, right, up, down, camera or away; else that of the marks file")
	f.StringVar(&o.Found, "found", "", "how the landmarks were found whose marks do not say it: `HOW` is seen (in the picture), felt (with the fingers, before the take) or sticker (felt, and a sticker put on it); else that of the marks file, of followed stickers sticker, else seen")
	f.BoolVar(&o.Beyond, "beyond", false, "the angle is meant, though it is outside what bodies are known to reach")
	f.StringVar(&o.Camera, "camera", "", "how the camera was set square to the movement: `HOW` is squared (measured along the floor), by-eye or unknown (default unknown)")
	FloatGiven(f, &o.Oblique, &o.ObliqueGiven, "oblique", "in place of --camera, how far it may be from square, as a standard deviation in `DEG`")
	f.StringVar(&o.Distance, "distance", "", "from the camera to the athlete, a `LENGTH` such as 5m")
	f.StringVar(&o.Focal, "focal", "", "the focal length, 35 mm equivalent, a `LENGTH` such as 26mm; else a still's own, where it says")
	f.StringVar(&o.Lens, "lens", "", "the lens `FILE` of this camera, made by 'ecart lens'")
	f.StringVar(&o.Stature, "stature", "", "how tall the athlete is, a `LENGTH` such as 152cm")
	f.Float64Var(&o.Confidence, "confidence", 0.95, "the probability that a decision takes, `P` between 0.5 and 1")
	f.StringVar(&o.Priors, "priors", "", "a `FILE` of figures of your own; 'ecart rules --priors' prints those built in")
	AddRulesDir(f, &o.Rules)
	f.Uint64Var(&o.Seed, "seed", 1, "of the random draws, any whole number `N`; the same seed gives the same bytes")
}

// FloatGiven adds a flag with a number, and says whether it was given: 0 may be meant.
func FloatGiven(f *pflag.FlagSet, number *float64, given *bool, name, usage string) {
	f.Float64Var(number, name, 0, usage)
	flag := f.Lookup(name)
	flag.Value = givenValue{flag.Value, given}
}

// givenValue is a flag's value that notes that it was set.
type givenValue struct {
	pflag.Value
	given *bool
}

func (v givenValue) Set(s string) error {
	err := v.Value.Set(s)
	*v.given = *v.given || err == nil
	return err
}
