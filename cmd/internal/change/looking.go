package change

import "ecart/cmd/internal/reading"

// Looking lists what to look at next for one gap. It is common practice in gyms, without
// a source; it is a list of places to look and not a finding.
type Looking struct {
	Gap        string   `json:"gap"`
	Means      string   `json:"means"`
	At         []string `json:"at"`
	Provenance string   `json:"provenance"`
}

const practice = "common practice, no source"

var explainGap = map[string]string{
	Range:   "the helper took the limb no further",
	Control: "the helper took the limb further than own strength does",
	Use:     "own strength takes the limb further than the skill shows",
}

var looks = map[string]map[string][]string{
	"shoulder-flexion": {
		Range:   {"length of the latissimus dorsi", "length of the teres major", "length of the pectorals, major and minor", "extension of the thoracic spine"},
		Control: {"strength of the upper back at the end of the range", "extension of the thoracic spine held by own strength", "trunk control: whether the ribs flare and the lower back arches instead"},
		Use:     {"how the arms are set when the skill begins, and when they open", "whether trunk control holds at the skill's speed", "whether fear or fatigue closes the shoulders: early and late takes beside each other"},
	},
	"hip-split": {
		Range:   {"length of the front leg's hamstrings", "length of the back leg's hip flexors", "length of the back leg's quadriceps", "length of the adductors", "rotators of both hips"},
		Control: {"strength of the gluteals at the end of the range", "strength of the front leg's hip flexors, knee straight", "hip rotators: whether the back hip opens out instead", "trunk control"},
		Use:     {"take-off: height, and the time there is to open", "which leg leads, and when each opens", "trunk control in flight", "whether the widest moment is at the top or after it"},
	},
}

// looksAt lists what to look at for each gap that is shown, the gap most likely to be the
// largest first.
func looksAt(s *Screen) []Looking {
	out := []Looking{}
	for _, g := range s.byProbability() {
		if at := looks[s.Measure][g.Name]; g.Shown && at != nil {
			out = append(out, Looking{g.Name, explainGap[g.Name], at, practice})
		}
	}
	return out
}

// cautions are printed under every screen of the measure.
func cautions(measure string) []string {
	out := []string{
		"this measures; it finds no cause and prescribes nothing: a person qualified for it examines the athlete and decides",
		"never through pain: pain, clicking or giving way means stop and see a clinician",
	}
	if measure == "hip-split" {
		out = append(out, reading.OverSplitCaution)
	}
	return out
}
