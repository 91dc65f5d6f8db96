package change

import (
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
)

// Looking lists what to look at next for one gap. It is common practice in gyms, without
// a source; it is a list of places to look and not a finding.
type Looking struct {
	Gap        string   `json:"gap"`
	Means      string   `json:"means"`
	At         []string `json:"at"`
	Provenance string   `json:"provenance"`
}

var explainGap = map[string]string{
	Range:   "the helper took the limb no further",
	Control: "the helper took the limb further than own strength does",
	Use:     "own strength takes the limb further than the skill shows",
	Swing:   "its own speed takes the limb further than own strength holds it: range that is not controlled",
}

// looksAt lists what to look at for each gap that is shown, the gap most likely to be the
// largest first.
func looksAt(s *Screen) []Looking {
	out := []Looking{}
	m, _ := movement.Find(s.Movement)
	for _, g := range s.byProbability() {
		if at := m.LooksAt[g.Name]; g.Shown && at != nil {
			out = append(out, Looking{g.Name, explainGap[g.Name], at, movement.Practice})
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
