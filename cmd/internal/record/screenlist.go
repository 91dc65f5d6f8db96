package record

import "ecart/cmd/internal/movement"

// ScreenListSchema names the version of the JSON of a ScreenList.
const ScreenListSchema = "ecart/screens/1"

// ScreenList is what a screen can be of, and its JSON.
type ScreenList struct {
	Schema    string         `json:"schema"`
	Movements []MovementRow  `json:"movements"`
	Contrasts []ContrastRow  `json:"contrasts"`
	Variants  []PositionName `json:"variants"`
}

// MovementRow is a movement in a list.
type MovementRow struct {
	Name    string `json:"name"`
	Title   string `json:"title"`
	Measure string `json:"measure"`
	Variant string `json:"variant,omitempty"`
	Less    bool   `json:"less_is_better"`
}

// ContrastRow is a contrast in a list.
type ContrastRow struct {
	Name       string   `json:"name"`
	Title      string   `json:"title"`
	Measure    string   `json:"measure"`
	Taut       string   `json:"taut"`
	Slack      string   `json:"slack"`
	Separates  string   `json:"separates"`
	Cannot     []string `json:"cannot_say"`
	Source     string   `json:"source"`
	Provenance string   `json:"provenance"`
}

// PositionName is a position of a measure in a list.
type PositionName struct {
	Name    string `json:"name"`
	Measure string `json:"measure"`
	Words   string `json:"words"`
	Thigh   bool   `json:"thigh"` // the leg is read from hip to knee
}

// Screens lists what a screen can be of.
func Screens() *ScreenList {
	l := &ScreenList{Schema: ScreenListSchema}
	for _, m := range movement.All() {
		l.Movements = append(l.Movements, MovementRow{m.Name, m.Title, m.Measure, m.Variant, m.Less})
	}
	for _, c := range movement.Contrasts() {
		l.Contrasts = append(l.Contrasts, ContrastRow{c.Name, c.Title, c.Measure, c.Taut, c.Slack, c.Separates, c.Cannot, c.Source, c.Provenance})
	}
	for _, v := range movement.Variants("") {
		l.Variants = append(l.Variants, PositionName{v.Name, v.Measure, v.Words, v.Thigh})
	}
	return l
}
