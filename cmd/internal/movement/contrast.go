package movement

import "slices"

// Contrast is a pair of takes of one measure that differ in one thing. Its difference is how much
// further the limb goes in the slack position than in the taut one, in which the structure that
// the pair is about is stretched as well.
type Contrast struct {
	Name        string // as typed: "hip-flexion-knee"
	Title       string // as printed
	Measure     string
	Taut, Slack string   // variants of the measure
	Separates   string   // what the pair separates
	Above       string   // what to look at next if the difference is above 0
	Level       string   // what to look at next if no difference is shown
	Cannot      []string // what the pair cannot say
	Source      string   // the published test that it comes from, or common practice
	Provenance  string   // how the source is known
}

// fromMemory is the provenance of a published test that was not at hand.
const fromMemory = "from memory, not checked"

var contrasts = []Contrast{
	{
		Name: "hip-extension-knee", Title: "hip extension, knee bent and straight", Measure: "hip-extension", Taut: "knee-bent", Slack: "knee-straight",
		Separates: "the thigh's front muscle that crosses hip and knee (rectus femoris) from what crosses the hip alone",
		Above:     "the length of the rectus femoris",
		Level:     "what crosses the hip alone, the hip flexors first, and the joint itself",
		Cannot:    []string{"a pelvis that tips or a back that arches enters both takes, and need not enter them alike", "it does not tell muscle from capsule or nerve"},
		Source:    "after the modified Thomas test and the Duncan-Ely test", Provenance: fromMemory,
	},
	{
		Name: "hip-flexion-knee", Title: "hip flexion, knee straight and bent", Measure: "hip-flexion", Taut: "knee-straight", Slack: "knee-bent",
		Separates: "the muscles at the back of the thigh (hamstrings) from what stops the hip with the knee bent",
		Above:     "the length of the hamstrings",
		Level:     "the hip itself and what is folded in front of it",
		Cannot:    []string{"a difference is usual: it says that the knee matters, and not that it is too much", "the nerve at the back of the leg is stretched with them, and is not told apart"},
		Source:    "after the straight leg raise, against hip flexion with the knee bent", Provenance: fromMemory,
	},
	{
		Name: "shoulder-turn", Title: "shoulder flexion, arm turned out and in", Measure: "shoulder-flexion", Taut: "arm-turned-out", Slack: "arm-turned-in",
		Separates: "muscles that turn the arm in and draw it down (latissimus dorsi, teres major, pectorals) from the rest",
		Above:     "the length of the latissimus dorsi, the teres major and the pectorals",
		Level:     "the joint, and the thoracic spine under it",
		Cannot:    []string{"with the arm turned in the bones of the shoulder meet earlier: no difference does not clear the muscles", "which of these muscles it is"},
		Source:    "after the length test of the latissimus dorsi and teres major (Kendall, Muscles: Testing and Function)", Provenance: fromMemory,
	},
	{
		Name: "shoulder-back", Title: "shoulder flexion, lower back flat and free", Measure: "shoulder-flexion", Taut: "back-flat", Slack: "back-free",
		Separates: "what the arched lower back and the lifted ribs give from what the shoulder gives",
		Above:     "how much of the overhead position the back gives, and the latissimus dorsi, which runs over both",
		Level:     "the shoulder itself: the back adds nothing that these pictures show",
		Cannot:    []string{"an arched back also turns the line from shoulder to hip, so that the difference is of both", "whether the back may arch so far"},
		Source:    "after the length test of the latissimus dorsi, lying with the lower back flat (Kendall, Muscles: Testing and Function)", Provenance: fromMemory,
	},
	{
		Name: "shoulder-elbow", Title: "shoulder flexion, elbow bent and straight", Measure: "shoulder-flexion", Taut: "elbow-bent", Slack: "elbow-straight",
		Separates: "the long head of the triceps, which crosses shoulder and elbow, from what crosses the shoulder alone",
		Above:     "the length of the triceps, its long head",
		Level:     "what crosses the shoulder alone",
		Cannot:    []string{"the upper arm is read from shoulder to elbow in both: where the elbow is hidden the pair says nothing"},
		Source:    "the rule for a muscle that crosses two joints; no published test is cited", Provenance: Practice,
	},
	{
		Name: "ankle", Title: "ankle bent up, knee straight and bent", Measure: "foot-point", Taut: "knee-straight", Slack: "knee-bent",
		Separates: "the calf's muscle that crosses knee and ankle (gastrocnemius) from the deeper one and the joint (soleus)",
		Above:     "the length of the gastrocnemius",
		Level:     "the soleus, and the ankle joint itself",
		Cannot:    []string{"a foot that rolls in or an arch that drops looks like ankle", "the line to the toe bends with the toes: keep them alike in both"},
		Source:    "after the Silfverskiöld test", Provenance: fromMemory,
	},
	{
		Name: "bridge-feet", Title: "shoulder flexion in a bridge, feet on the floor and raised", Measure: "shoulder-flexion", Taut: "bridge", Slack: "bridge-feet-raised",
		Separates: "what hips and back take away from the bridge from what the shoulders do not give",
		Above:     "hips and lower back: with less asked of them the shoulders open further",
		Level:     "the shoulders: they open no further with less asked of hips and back",
		Cannot:    []string{"raised feet also put more weight on the hands, which opens the shoulders by itself", "the line from shoulder to hip turns with the arch of the back, which differs between the two"},
		Source:    "halls put the feet up to see it; no published test is cited", Provenance: Practice,
	},
	{
		Name: "straddle-seat", Title: "straddle, seated and lying", Measure: "leg-separation", Taut: "seated", Slack: "lying",
		Separates: "what holding trunk and pelvis upright takes away from what the legs alone do not open",
		Above:     "how pelvis and trunk are held when seated: the hamstrings and the strength of hips and trunk",
		Level:     "the adductors and the hips themselves",
		Cannot:    []string{"lying, the weight of the legs opens them: the load is not the same", "a camera that looks at the legs from another height reads another angle"},
		Source:    "halls compare the two; no published test is cited", Provenance: Practice,
	},
}

// Contrasts returns all contrasts.
func Contrasts() []Contrast { return slices.Clone(contrasts) }

// ContrastNames returns the names of all contrasts.
func ContrastNames() (out []string) {
	for _, c := range contrasts {
		out = append(out, c.Name)
	}
	return out
}

// FindContrast returns the contrast of that name.
func FindContrast(name string) (Contrast, bool) {
	i := slices.IndexFunc(contrasts, func(c Contrast) bool { return c.Name == name })
	if i < 0 {
		return Contrast{}, false
	}
	return contrasts[i], true
}

// ContrastsOf returns the contrasts with a measure in a position.
func ContrastsOf(measure, variant string) (out []Contrast) {
	for _, c := range contrasts {
		if c.Measure == measure && (c.Taut == variant || c.Slack == variant) {
			out = append(out, c)
		}
	}
	return out
}
