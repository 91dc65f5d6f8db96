package movement

import "slices"

// The gaps of a screen, each between two of its levels.
const (
	Range   = "range"   // asked minus passive
	Control = "control" // passive minus active
	Use     = "use"     // active minus in-skill
	Swing   = "swing"   // swung minus active
)

// Movement is what a screen is of: a measure in one position, read in several conditions.
type Movement struct {
	Name    string // as typed: "split"
	Title   string // as printed
	Measure string
	Variant string // "" is the measure's usual position
	Less    bool   // less is better: a pike folds smaller
	Both    bool   // both legs or arms move together, so that no side is said

	// LooksAt lists, for each gap, what a screen looks at next. It is common practice in halls,
	// without a source: places to look, and no finding.
	LooksAt map[string][]string
	Note    string // a limit of readings of this movement; "" if there is none
}

// CardTakes is how many takes of each condition the protocol cards name.
const CardTakes = 3

// InHall lists the conditions in the order of takes on the protocol cards: active before passive, so that
// the push does not help; the skill when it is warm.
var InHall = []string{Active, Passive, InSkill, Swung}

// Practice is the provenance of what has no source.
const Practice = "common practice, no source"

// pastUpright is the note on a leg's angle to level past straight up.
const pastUpright = "the leg is read against level: past straight up the angle grows smaller again, so a leg beyond straight up reads too low"

var movements = []Movement{
	{Name: "split", Title: "hip split", Measure: "hip-split", LooksAt: map[string][]string{
		Range:   {"length of the front leg's hamstrings", "length of the back leg's hip flexors", "length of the back leg's quadriceps", "length of the adductors", "rotators of both hips"},
		Control: {"strength of the gluteals at the end of the range", "strength of the front leg's hip flexors, knee straight", "hip rotators: whether the back hip opens out instead", "trunk control"},
		Use:     {"take-off: height, and the time there is to open", "which leg leads, and when each opens", "trunk control in flight", "whether the widest moment is at the top or after it"},
		Swing:   {"strength of both hips where the swing ends: whether the legs can be held there", "how the swing is stopped: by the muscles, or by the joint's end"},
	}},
	{Name: "shoulder", Title: "shoulder flexion", Measure: "shoulder-flexion", LooksAt: map[string][]string{
		Range:   {"length of the latissimus dorsi", "length of the teres major", "length of the pectorals, major and minor", "extension of the thoracic spine"},
		Control: {"strength of the upper back at the end of the range", "extension of the thoracic spine held by own strength", "trunk control: whether the ribs flare and the lower back arches instead"},
		Use:     {"how the arms are set when the skill begins, and when they open", "whether trunk control holds at the skill's speed", "whether fear or fatigue closes the shoulders: early and late takes beside each other"},
		Swing:   {"strength of the upper back where the swing ends: whether the arms can be held there", "whether the back arches at the end of the swing"},
	}},
	{Name: "straddle", Title: "leg separation", Measure: "leg-separation", Both: true, LooksAt: map[string][]string{
		Range:   {"length of the adductors", "length of the hamstrings, the inner ones first", "whether the thighs turn out, or the pelvis tilts", "how the hip joint itself ends: bone or muscle, for whoever may examine it"},
		Control: {"strength of the abductors at the end of the range", "strength of the hip flexors with the legs apart", "trunk control"},
		Use:     {"height, and the time there is to open", "whether both legs open alike", "whether the pelvis tilts in the skill"},
		Swing:   {"strength of the abductors where the swing ends", "whether one leg swings further than the other"},
	}},
	{Name: "bridge", Title: "shoulder flexion in a bridge", Measure: "shoulder-flexion", Variant: "bridge", Both: true, LooksAt: map[string][]string{
		Range:   {"length of the latissimus dorsi and the pectorals", "extension of the thoracic spine", "how much of the bridge the lower back gives instead", "the contrast bridge-feet: the same with the feet raised"},
		Control: {"strength of the arms and the upper back in support", "strength of the legs that push the shoulders over the hands", "whether the elbows bend"},
		Use:     {"where the hands are set down", "whether the shoulders stay open when a leg leaves the floor", "whether fear closes them: early and late takes beside each other"},
		Swing:   {"whether the shoulders stay open once the movement stops"},
	}, Note: "the angle is against the line from shoulder to hip, which an arched back turns: part of it may be the back's"},
	{Name: "pike", Title: "pike", Measure: "pike", Less: true, Both: true, LooksAt: map[string][]string{
		Range:   {"length of the hamstrings: the contrast hip-flexion-knee", "length of the calves, with the feet flexed", "rounding of the back in place of the hips"},
		Control: {"strength of the hip flexors in the shortened position", "strength of the abdominals", "whether the knees stay straight"},
		Use:     {"when the fold begins, and the time there is", "whether the trunk comes to the legs or the legs to the trunk"},
		Swing:   {"strength of the hip flexors where the swing ends: whether the fold can be held"},
	}},
	{Name: "leg-front", Title: "leg held to the front", Measure: "leg-rise", Variant: "front", LooksAt: map[string][]string{
		Range:   {"length of the hamstrings of the raised leg", "whether the pelvis tucks under", "hip flexors of the standing leg"},
		Control: {"strength of the hip flexors above level, knee straight", "strength of the quadriceps in the shortened position", "trunk control"},
		Use:     {"whether the standing leg and the trunk stay as they were when it was held", "the time there is to raise it"},
		Swing:   {"strength of the hip flexors where the swing ends", "whether the trunk leans back at the top"},
	}, Note: pastUpright},
	{Name: "leg-side", Title: "leg held to the side", Measure: "leg-rise", Variant: "side", LooksAt: map[string][]string{
		Range:   {"length of the adductors and the hamstrings of the raised leg", "whether the leg turns out", "whether the pelvis lifts on that side"},
		Control: {"strength of the abductors and the hip flexors above level", "strength of the rotators that hold the leg turned out", "the abductors of the standing leg"},
		Use:     {"whether the pelvis and the trunk stay as they were when it was held", "the time there is to raise it"},
		Swing:   {"strength of the abductors where the swing ends", "whether the trunk leans to the other side at the top"},
	}, Note: pastUpright},
	{Name: "leg-back", Title: "leg held to the back", Measure: "leg-rise", Variant: "back", LooksAt: map[string][]string{
		Range:   {"length of the hip flexors of the raised leg: the contrast hip-extension-knee", "whether the pelvis tilts or opens, and the lower back arches"},
		Control: {"strength of the gluteals in the shortened position", "strength of the hamstrings, knee straight", "strength of the back that holds the trunk up"},
		Use:     {"whether the trunk comes forward in the skill", "whether the hip opens out"},
		Swing:   {"strength of the gluteals where the swing ends", "whether the trunk falls forward at the top"},
	}, Note: pastUpright},
}

// All returns the movements that a screen can be of, the most usual first.
func All() []Movement { return slices.Clone(movements) }

// Names returns the names of all movements.
func Names() (out []string) {
	for _, m := range movements {
		out = append(out, m.Name)
	}
	return out
}

// Find returns the movement of that name.
func Find(name string) (Movement, bool) {
	return first(func(m *Movement) bool { return m.Name == name })
}

// Of returns the movement of a measure in a position; false where no screen is of it.
func Of(measure, variant string) (Movement, bool) {
	return first(func(m *Movement) bool { return m.Measure == measure && m.Variant == variant })
}

func first(is func(*Movement) bool) (Movement, bool) {
	for i := range movements {
		if is(&movements[i]) {
			return movements[i], true
		}
	}
	return Movement{}, false
}

// lessIsFurther lists measures and positions beside the movements in which a smaller angle is further.
var lessIsFurther = []string{"foot-point knee-straight", "foot-point knee-bent"}

// Less reports whether a smaller angle is the further one in this position.
func Less(measure, variant string) bool {
	if m, ok := Of(measure, variant); ok {
		return m.Less
	}
	return slices.Contains(lessIsFurther, measure+" "+variant)
}
