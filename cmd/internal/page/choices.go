package page

import (
	"net/http"
	"strings"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/rulebook"
	"ecart/geometry"
)

// measureChoice is a measure as the sheet asks for it.
type measureChoice struct {
	Name   string `json:"name"`
	Title  string `json:"title"`
	About  string `json:"about"`
	Facing bool   `json:"facing"` // the way the chest faces must be given
	Level  bool   `json:"level"`  // a line for level makes it better
	Leg    bool   `json:"leg"`    // ankle or knee can stand for the leg
	Steps  []step `json:"steps"`

	Variants []variantChoice `json:"variants"` // the positions other than the usual one
}

// variantChoice is a position in which a measure is read.
type variantChoice struct {
	Name  string `json:"name"`
	Words string `json:"words"`
}

// step is one thing to place: the alternatives, each a list of landmarks. An
// optional one may be left out.
type step struct {
	Ways     [][]string `json:"ways"`
	Optional bool       `json:"optional"`
	Later    bool       `json:"later"` // it is in the list but not asked for in turn
}

// stepOf reads a need as the catalogue words it: "hip", "elbow or wrist",
// "right-hip and left-hip, or hip".
func stepOf(need string, optional bool) step {
	s := step{Optional: optional}
	for _, way := range strings.Split(strings.ReplaceAll(need, ", or ", " or "), " or ") {
		s.Ways = append(s.Ways, strings.Split(way, " and "))
	}
	return s
}

func measureChoices() []measureChoice {
	var out []measureChoice
	for _, m := range geometry.Measures() {
		c := measureChoice{Name: m.Name, Title: m.Title, About: m.About, Facing: m.Facing, Level: m.Level,
			Leg: strings.Contains(m.About, "thigh"), Steps: []step{}, Variants: []variantChoice{}}
		for _, v := range movement.Variants(m.Name) {
			c.Variants = append(c.Variants, variantChoice{v.Name, v.Words})
		}
		for _, n := range m.Needs {
			c.Steps = append(c.Steps, stepOf(n, false))
		}
		for _, n := range m.Optional {
			s := stepOf(n, true)
			s.Later = strings.HasSuffix(n, "-hip") // like the knees: they tell more about a split, whose angle does not need them
			c.Steps = append(c.Steps, s)
		}
		for _, n := range m.Knees() {
			knee := stepOf(n, true)
			knee.Later = true
			c.Steps = append(c.Steps, knee)
		}
		out = append(out, c)
	}
	return out
}

// skillChoices are the rule books' skills that an angle is compared with.
func skillChoices(lib *rulebook.Library) []Skill {
	var out []Skill
	for _, b := range lib.Books() {
		for _, k := range b.Skills {
			if k.NotMeasured != "" {
				continue
			}
			s := Skill{Ref: k.Ref(), Title: k.Title, Book: b.Title, Measure: k.Measure, Asked: k.AskedDeg, Ratio: k.Ratio}
			if k.Ratio != "" {
				s.Needs = []string{"right-shoulder", "left-shoulder"}
			}
			out = append(out, s)
		}
	}
	return out
}

// choices sends what can be chosen on the sheet.
func (s *Server) choices(w http.ResponseWriter, r *http.Request) {
	lib, err := s.config.Desk.Library()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	answer(w, http.StatusOK, map[string]any{"measures": measureChoices(), "skills": skillChoices(lib)})
}
