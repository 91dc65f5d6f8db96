package flags

import (
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"

	"github.com/spf13/pflag"
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

// AddReading adds the flags of all commands that read an angle.
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

// FloatGiven adds a flag with a number and reports whether it was given, since 0 may be meant.
func FloatGiven(f *pflag.FlagSet, number *float64, given *bool, name, usage string) {
	f.Float64Var(number, name, 0, usage)
	flag := f.Lookup(name)
	flag.Value = givenValue{flag.Value, given}
}

// givenValue is a flag's value that records that it was set.
type givenValue struct {
	pflag.Value
	given *bool
}

func (v givenValue) Set(s string) error {
	err := v.Value.Set(s)
	*v.given = *v.given || err == nil
	return err
}

// CoverHelp is the help on covers, of every command that has them.
const CoverHelp = `--faceless covers the athlete's head with paper, worked out from the marks: a
shoulder says where it is, and the body how large. The cover is wide, since a
neck bends. --cover x,y,r puts a circle of your own in its place, and may be
given again for others in the picture, whom no mark tells of: look at the
picture before it leaves your hands. A covered picture names no file.`

func AddCover(f *pflag.FlagSet, c *desk.Cover) {
	AddFaceless(f, c)
	f.StringArrayVar(&c.At, "cover", nil, "cover a circle in place of that: `X,Y,R` are its middle and radius in pixels; may be given again")
}

func AddFaceless(f *pflag.FlagSet, c *desk.Cover) {
	f.BoolVar(&c.Faceless, "faceless", false, "cover the head in every picture that is written")
}

func AddJournal(f *pflag.FlagSet, path *string) {
	f.StringVar(path, "journal", "", "the journal `FILE`; else "+desk.JournalName+" in ecart in your data folder (XDG_DATA_HOME, ~/.local/share)")
}

// AddFilter adds the flags that choose readings of the journal.
func AddFilter(f *pflag.FlagSet, q *journal.Filter) {
	f.StringVar(&q.Athlete, "athlete", "", "those of the athlete `NAME`")
	f.StringVar(&q.Measure, "measure", "", "those of the measure `NAME`")
	f.StringVar(&q.Skill, "skill", "", "those compared with the skill `NAME`")
	f.StringVar(&q.Side, "side", "", "those of the `SIDE` left, right, front or back")
	f.StringVar(&q.State, "state", "", "those made in the `STATE` cold, warm, after or unknown")
	f.StringVar(&q.Condition, "condition", "", "those with the `CONDITION` passive, active, in-skill, swung or unknown")
	f.StringVar(&q.Variant, "variant", "", "those in the `POSITION`, such as front or knee-bent")
	f.StringVar(&q.From, "from", "", "those of takes made on the `DAY` such as 2026-03-21, or later")
	f.StringVar(&q.To, "to", "", "those of takes made on the `DAY`, or earlier")
}

func AddRulesDir(f *pflag.FlagSet, dir *string) {
	f.StringVar(dir, "rules", "", "a `FOLDER` of rule books of your own; else ecart/rules in your configuration folder")
}
