package page

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
)

// contrast is one pair of positions of an athlete on one day.
type contrast struct {
	Name      string         `json:"name"`
	Title     string         `json:"title"`
	Separates string         `json:"separates"`
	Sides     []contrastSide `json:"sides"`
	Next      []string       `json:"next"`   // what is looked at next
	Cannot    []string       `json:"cannot"` // what the pair cannot say
	Source    string         `json:"source"`
	Notes     []string       `json:"notes"` // with the cautions
}

// contrastSide is what is said of one side.
type contrastSide struct {
	Title string `json:"title"`
	Says  string `json:"says"` // as 'ecart screen --contrast' does
	Chart string `json:"chart"`
}

// contrastIs is a contrast as the page shows it.
func contrastIs(c *record.Contrast, who string, wide float64) contrast {
	first := c.Sides[0]
	out := contrast{Name: c.Name, Title: c.Title, Separates: minus(first.Separates), Sides: []contrastSide{}, Next: []string{},
		Cannot: all(first.Cannot, minus), Source: first.Source + " (" + first.Provenance + ")"}
	notes := append([]string{}, c.Notes...)
	for _, one := range c.Sides {
		side := contrastSide{Title: desk.DateWords(one.Day), Says: minus(one.Sentence)}
		if one.Side != "" {
			side.Title += ", " + one.Side
		}
		var err error
		if side.Chart, err = record.DrawContrast(one, who, wide); err != nil {
			side.Says += "; it cannot be drawn: " + factOf(err)
		}
		for _, l := range one.LooksAt {
			out.Next = append(out.Next, l.Means+": "+strings.Join(l.At, ", "))
		}
		out.Sides = append(out.Sides, side)
		notes = append(notes, one.Notes...)
	}
	out.Next, out.Notes = once(out.Next), once(append(notes, first.Cautions...))
	return out
}

// contrastSheet writes the page of a contrast of an athlete.
func (s *Server) contrastSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	of := r.URL.Query().Get("contrast")
	who, err := s.athleteOf(r)
	if err != nil {
		return "", err
	}
	if _, ok := movement.FindContrast(of); !ok {
		return "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no contrast %q", folder.Shown(of)), "choose from the list")
	}
	c, err := s.record.MonthsContrast(r.Context(), who, of)
	if err != nil {
		return "", err
	}
	return desk.SheetName("contrast-"+of, who, c.Day, string(ask.options.For)), sheets.WriteContrast(b, record.ContrastPage(c), ask.options)
}

// askedOf reads what movements are compared with, as asked=MOVEMENT:DEGREES.
func askedOf(r *http.Request) (map[string]float64, error) {
	out := map[string]float64{}
	for _, said := range r.URL.Query()["asked"] {
		name, text, _ := strings.Cut(said, ":")
		deg, err := strconv.ParseFloat(text, 64)
		if _, ok := movement.Find(name); !ok || err != nil || !(deg >= 0 && deg <= 360) {
			return nil, refuse(http.StatusBadRequest, fmt.Sprintf("%q is no angle that a movement asks", folder.Shown(said)), "write 0 to 360 degrees")
		}
		out[name] = deg
	}
	return out, nil
}
