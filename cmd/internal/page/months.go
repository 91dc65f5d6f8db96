package page

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
	sheets "ecart/cmd/internal/sheet"
)

// months is an athlete as the page shows one.
type months struct {
	Number    int64       `json:"number"`
	Name      string      `json:"name"`
	Counts    string      `json:"counts"`
	Measures  []monthsOf  `json:"measures"`
	Contrasts []contrast  `json:"contrasts"`
	Statures  []string    `json:"statures"` // how tall she was, over time
	Damaged   []unreadRow `json:"damaged"`
}

// monthsOf is one measure.
type monthsOf struct {
	Measure  string    `json:"measure"`
	Variant  string    `json:"variant"` // the position, "" the usual one
	Title    string    `json:"title"`
	Trends   []trend   `json:"trends"`
	Charts   []string  `json:"charts"` // SVG
	Sides    string    `json:"sides"`  // left against right, or why not
	Steps    []string  `json:"steps"`  // within a session, and between unlike states
	Missing  string    `json:"missing"`
	Movement string    `json:"movement"` // of the gaps, "" none
	Gaps     []gaps    `json:"gaps"`
	NoGaps   string    `json:"no_gaps"`
	Notes    []string  `json:"notes"`
	Cautions []string  `json:"cautions"`
	Readings []keptRow `json:"readings"` // the last day first
}

// trend has the words on one side, or on all.
type trend struct {
	Kind string `json:"kind"`
	Says string `json:"says"` // as 'ecart change' does
}

// gaps are the gaps of one side on one day.
type gaps struct {
	Title string `json:"title"`
	Says  string `json:"says"` // as 'ecart screen' does
	Chart string `json:"chart"`
}

// keptRow is one reading of the journal.
type keptRow struct {
	Number int64  `json:"number"`
	Day    string `json:"day"`
	Angle  string `json:"angle"` // "164° ± 6"
	Band   string `json:"band"`
	How    string `json:"how"`  // side, condition, state
	Take   string `json:"take"` // its id, "" if it is not on the page any more
	Frame  int    `json:"frame"`
	Width  int    `json:"width"` // of the take, px
	Height int    `json:"height"`
}

// unreadRow is a reading that is damaged.
type unreadRow struct {
	Number int64  `json:"number"`
	Says   string `json:"says"`
}

// Widths of a drawing in millimetres that the page may ask for: text keeps its size in it.
const (
	leastWide = 110 // package chart draws none smaller
	mostWide  = 300
)

// athlete sends one athlete of the journal; wide is how wide drawings are to be, mm.
func (s *Server) athlete(w http.ResponseWriter, r *http.Request) {
	n, err := numberIn(r)
	wide := 0
	if err == nil {
		wide, err = number(r, "wide", leastWide, mostWide)
	}
	var m *record.Months
	if err == nil {
		var asked map[string]float64
		if asked, err = askedOf(r); err == nil {
			m, err = s.record.Months(r.Context(), n, asked)
		}
	}
	if err != nil {
		s.fail(w, r, inJournal(err))
		return
	}
	out := months{Number: m.ID, Name: m.Name, Measures: []monthsOf{}, Contrasts: []contrast{}, Damaged: []unreadRow{}, Statures: all(record.StatureWords(m.Statures), minus),
		Counts: fmt.Sprintf("%s on %s, %s", desk.Count(m.Readings, "reading"), desk.Count(m.Days, "day"), between(m.First, m.Last))}
	for i := range m.Measures {
		out.Measures = append(out.Measures, s.monthsOf(&m.Measures[i], m.Name, float64(wide)))
	}
	for _, c := range m.Contrasts {
		out.Contrasts = append(out.Contrasts, contrastOf(c, m.Name, float64(wide)))
	}
	for _, d := range m.Damaged {
		if d.ID != 0 {
			out.Damaged = append(out.Damaged, unreadRow{d.ID, factOf(d)})
		}
	}
	answer(w, http.StatusOK, out)
}

func between(first, last string) string {
	if first == last {
		return dayWords(first)
	}
	return dayWords(first) + " to " + dayWords(last)
}

func (s *Server) monthsOf(m *record.MonthsOf, who string, wide float64) monthsOf {
	title := titleOf(m.Measure)
	if words := movement.VariantWords(m.Measure, m.Variant); words != "" {
		title += ", " + words
	}
	out := monthsOf{Measure: m.Measure, Variant: m.Variant, Title: title, Movement: m.Movement, Missing: factOf(m.NoChange),
		Trends: []trend{}, Steps: []string{}, Gaps: []gaps{}, Readings: []keptRow{}}
	if c := m.Change; c != nil {
		out.change(c, wide)
	}
	if m.Screen != nil {
		for i := range m.Screen.Screens {
			one := &m.Screen.Screens[i]
			g := gaps{Title: desk.DateWords(one.Day), Says: minus(one.Sentence)}
			if one.Side != "" {
				g.Title += ", " + one.Side
			}
			var err error
			if g.Chart, err = one.Draw(who, wide); err != nil {
				g.Says += "; it cannot be drawn: " + factOf(err)
			}
			out.Gaps = append(out.Gaps, g)
			out.Notes = append(out.Notes, one.Notes...)
			out.Cautions = append(out.Cautions, one.Cautions...)
		}
		out.Notes = append(out.Notes, m.Screen.Notes...)
	}
	if m.Movement != "" {
		out.NoGaps = factOf(m.NoScreen)
	}
	out.Notes, out.Cautions = once(out.Notes), once(out.Cautions)
	for i := range m.Readings {
		k := &m.Readings[i]
		row := keptRow{Number: k.ID, Day: dayWords(k.Day), Angle: shortly(k.AngleDeg, k.ExpandedUncertaintyDeg), Band: dashed(k.Reading.Brief()),
			How: ifSaid(k.Side, k.Condition, k.State), Frame: k.Take.Frame, Width: k.Take.WidthPx, Height: k.Take.HeightPx}
		row.Take = s.store.Holding(k.Take.SHA256, k.Take.Frame)
		out.Readings = append(out.Readings, row)
	}
	return out
}

// change fills in the words on the months.
func (out *monthsOf) change(c *record.Change, wide float64) {
	for _, t := range c.Trends {
		says := minus(t.Sentence)
		if len(c.Trends) > 1 {
			says = t.Side + ": " + says
		}
		out.Trends = append(out.Trends, trend{record.KindWords(t, desk.DateWords), says})
	}
	var err error
	if out.Charts, err = c.DrawMonths(wide); err != nil {
		out.Missing = "it cannot be drawn: " + factOf(err)
	}
	switch {
	case c.Sides != nil:
		out.Sides = minus(c.Sides.Sentence)
	case c.NoSides != "":
		out.Sides = "not compared: " + minus(c.NoSides)
	}
	for i := range c.Beside {
		out.Steps = append(out.Steps, minus(c.Beside[i].Words()))
	}
	if c.WarmUp != nil {
		out.Steps = append(out.Steps, minus(c.WarmUp.Sentence))
	}
	for i := range c.Sessions {
		one := &c.Sessions[i]
		out.Steps = append(out.Steps, minus(record.StepWords(one.From+" to "+one.To, one)))
	}
	if c.Unlike != nil {
		out.Steps = append(out.Steps, record.WordsUnlike+", "+minus(c.Unlike.Words()))
	}
	out.Notes = append(out.Notes, c.AllNotes()...)
	out.Cautions = append(out.Cautions, c.Cautions...)
}

// once returns sentences worded for the page, without repeats.
func once(list []string) []string {
	out := []string{}
	for _, s := range all(list, minus) {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// ifSaid joins the words of a reading's filing that are known.
func ifSaid(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" || s == "unknown" }), ", ")
}

// monthsSheet writes the page of an athlete's months.
func (s *Server) monthsSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	measure := r.URL.Query().Get("measure")
	who, err := s.athleteOf(r)
	if err != nil {
		return "", err
	}
	if !desk.IsMeasure(measure) {
		return "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no measure %q", folder.Shown(measure)), "choose from the list")
	}
	variant := r.URL.Query().Get("variant")
	if _, ok := movement.FindVariant(measure, variant); variant != "" && !ok {
		return "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no position %q of this measure", folder.Shown(variant)), "choose from the list")
	}
	c, err := s.record.MonthsChange(r.Context(), who, measure, variant)
	if err != nil {
		return "", err
	}
	if variant != "" {
		measure += "-" + variant
	}
	return desk.SheetName("months-"+measure, who, c.LastDay(), string(ask.options.For)), sheets.WriteMonths(b, record.MonthsPage(c), ask.options)
}

// gapsSheet writes the page of an athlete's screen.
func (s *Server) gapsSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	defer func() { err = inJournal(err) }()
	of := r.URL.Query().Get("movement")
	who, err := s.athleteOf(r)
	if err != nil {
		return "", err
	}
	if _, ok := movement.Find(of); !ok {
		return "", refuse(http.StatusBadRequest, fmt.Sprintf("there is no movement %q", folder.Shown(of)), "choose from the list")
	}
	asked, err := askedOf(r)
	if err != nil {
		return "", err
	}
	var deg *float64
	if v, ok := asked[of]; ok {
		deg = &v
	}
	g, err := s.record.MonthsScreen(r.Context(), who, of, deg)
	if err != nil {
		return "", err
	}
	return desk.SheetName("gaps-"+of, who, g.Day, string(ask.options.For)), sheets.WriteScreen(b, record.ScreenPage(g), ask.options)
}

// athleteOf returns the name of the athlete whose number is in the address.
func (s *Server) athleteOf(r *http.Request) (string, error) {
	n, err := numberIn(r)
	if err != nil {
		return "", err
	}
	return s.record.AthleteName(r.Context(), n)
}

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

// contrastSide has the words on one side.
type contrastSide struct {
	Title string `json:"title"`
	Says  string `json:"says"` // as 'ecart screen --contrast' does
	Chart string `json:"chart"`
}

// contrastOf returns a contrast as the page shows it.
func contrastOf(c *record.Contrast, who string, wide float64) contrast {
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

// askedOf reads the angles that movements ask, degrees, from asked=MOVEMENT:DEGREES in the query.
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
