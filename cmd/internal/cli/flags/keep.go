package flags

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

// KeepOptions are the flags that say how a reading is filed in the journal.
type KeepOptions struct {
	desk.Filing
	Journal string
}

// AddKeep adds the flags of [KeepOptions].
func AddKeep(f *pflag.FlagSet, k *KeepOptions) {
	f.StringVar(&k.Athlete, "keep", "", "keep the reading in the journal for the athlete `NAME`, a pseudonym if you like; one name is one athlete. --side then also says whose side it is filed as: of a split, that of the leg in front")
	f.StringVar(&k.Day, "day", "", "with --keep, the `DATE` on which the take was made, such as 2026-03-21; else that of the take itself")
	f.StringVar(&k.State, "state", "", "with --keep, the `STATE` of the body: cold, warm or after (at the end of a session)")
	f.StringVar(&k.Condition, "condition", "", "with --keep, who moved the limb: `HOW` is passive (a helper or gravity), active (own strength, held), in-skill or swung (thrown, not held)")
	f.StringVar(&k.Variant, "variant", "", "with --keep, the `POSITION` where it is not the measure's usual one, such as front or knee-bent: 'ecart screen --list' has them; readings of unlike positions are never put into one trend")
	f.StringVar(&k.Setup, "setup", "", "with --keep, a `NAME` for where and how the camera stood; of readings with one name, what the camera adds to both is known to cancel")
	f.StringVar(&k.Session, "session", "", "with --keep, a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.Note, "note", "", "with --keep, a `TEXT` to remember it by")
	f.StringVar(&k.Rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
	AddJournal(f, &k.Journal)
}

// Check checks the flags and that the journal can be written, before the take is read.
func (k *KeepOptions) Check(d *desk.Desk) error {
	if k.Athlete == "" {
		for _, f := range []struct{ flag, value string }{{"day", k.Day}, {"state", k.State}, {"condition", k.Condition}, {"variant", k.Variant}, {"setup", k.Setup}, {"session", k.Session}, {"note", k.Note}} {
			if f.value != "" {
				return fault.New(fmt.Sprintf("--%s says how a reading is kept, and --keep was not given", f.flag), "give --keep NAME, or leave it out")
			}
		}
		return nil
	}
	return d.CheckFiling(k.Filing, true)
}

// SetDay sets the day on which the take was made if the reading is to be kept.
func (k *KeepOptions) SetDay(d *desk.Desk, info take.Info) (err error) {
	if k.Athlete != "" {
		k.Day, err = d.Day(k.Day, info)
	}
	return err
}

// KeepReading keeps a reading in the journal if --keep was given, and prints where.
func (k *KeepOptions) KeepReading(ctx context.Context, d *desk.Desk, warn io.Writer, q *desk.Asked, r *reading.Reading) error {
	if k.Athlete == "" {
		return nil
	}
	at, err := d.Keep(ctx, k.Filing, q, r)
	if err != nil {
		return err
	}
	fmt.Fprintln(warn, terminal.OneLine(fmt.Sprintf("kept as reading %d of %s, %s, in %q", at.ID, at.Athlete, at.Day, at.Path)))
	if at.AtLeast != "" {
		fmt.Fprintln(warn, terminal.OneLine(at.AtLeast))
	}
	if at.Near != "" {
		fmt.Fprintln(warn, terminal.OneLine(fmt.Sprintf("%s is new in the journal; if %s was meant: ecart journal move --reading %d %q", at.Athlete, at.Near, at.ID, at.Near)))
	}
	return nil
}

// AddFiling adds the flags that say how the readings of a list are filed; the cells of a row take
// precedence.
func AddFiling(f *pflag.FlagSet, k *KeepOptions) {
	AddDayStateCondition(f, k)
	f.StringVar(&k.Session, "session", "", "a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.Setup, "setup", "", "a `NAME` for where and how the camera stood")
	f.StringVar(&k.Rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
}

func AddDayStateCondition(f *pflag.FlagSet, k *KeepOptions) {
	f.StringVar(&k.Day, "day", "", "the `DATE` on which the takes were made, such as 2026-03-21; else that of each take itself")
	f.StringVar(&k.Condition, "condition", "", "who moved the limb: `HOW` is passive, active, in-skill or swung")
	f.StringVar(&k.Variant, "variant", "", "the `POSITION` where it is not the measure's usual one: 'ecart screen --list' has them")
	f.StringVar(&k.State, "state", "", "the `STATE` of the body: cold, warm or after (at the end of a session)")
}
