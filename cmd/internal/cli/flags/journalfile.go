package flags

import (
	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
)

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
