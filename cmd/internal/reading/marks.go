package reading

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
	"ecart/cmd/internal/text"
	"ecart/geometry"
)

// MarksSchema names the version of the marks file.
const MarksSchema = "ecart/marks/1"

// Marks is a marks file: the points placed on one frame.
type Marks struct {
	Schema string      `json:"schema"`
	Frame  int         `json:"frame" strict:"optional"` // 0 if the file does not say
	Facing string      `json:"facing,omitempty"`
	Found  HowFound    `json:"found,omitempty"` // how the landmarks were found, for marks that do not say it
	Marks  []Placement `json:"marks"`
	Level  *[2]Pixel   `json:"level,omitempty"` // two points on something level or plumb
	Plane  *Rectangle  `json:"plane,omitempty"`
	Widest *Widest     `json:"widest,omitempty"` // proposed moment of the clip

	// NoFrame means that the file names no frame, which is accepted for a still only.
	NoFrame bool `json:"-"`
}

// Pixel is x, y in pixels, the centre of the top-left pixel being (0, 0).
type Pixel [2]float64

// Placement is one point placed for a landmark. Several for the same landmark are repeated
// placements.
type Placement struct {
	Landmark string   `json:"landmark"`
	X        float64  `json:"x"`
	Y        float64  `json:"y"`
	SDPx     *float64 `json:"sd_px,omitempty"` // standard deviation of one placement, each axis
	// Covariance of the placement, px^2, if a sticker was found; it replaces SDPx.
	Covariance *[2][2]float64 `json:"covariance_px2,omitempty"`
	Found      HowFound       `json:"found,omitempty"` // how the landmark was found

	// Proposed marks come from the picture alone: no person has confirmed them.
	Proposed bool `json:"proposed,omitempty"`
	// Confirmed says how a person confirmed a proposal.
	Confirmed HowConfirmed `json:"confirmed,omitempty"`
}

// Rectangle is a rectangle of known size in the plane of motion.
type Rectangle struct {
	Corners [4]Pixel `json:"corners"`
	WidthM  float64  `json:"width_m"`
	HeightM float64  `json:"height_m"`
}

// Limits of a marks file: each landmark placed about thirty times, and more pixels, metres and
// frames than any picture or clip has.
const (
	mostMarks = 1000
	mostPx    = 1e6
	mostM     = 1000
	mostFrame = 1 << 30
)

// ParseMarks reads a marks file; name is used in errors, which are faults.
func ParseMarks(name string, data []byte) (*Marks, error) {
	return parseMarks(name, data, strict.Options{})
}

// ParseKeptMarks reads marks from the journal. It ignores unknown keys, since earlier versions
// accepted and kept them.
func ParseKeptMarks(name string, data []byte) (*Marks, error) {
	return parseMarks(name, data, strict.Options{Unknown: true})
}

func parseMarks(name string, data []byte, o strict.Options) (*Marks, error) {
	root, err := strict.ParseJSON(data)
	if err != nil {
		return nil, inMarks(name, err)
	}
	if root.Kind != strict.Table {
		return nil, fault.New(fmt.Sprintf("the marks file %q is not a JSON object", name),
			fmt.Sprintf("it has to begin with {\"schema\": %q, \"marks\": [", MarksSchema))
	}
	if s := root.Get("schema"); s == nil || s.Text != MarksSchema {
		schema := ""
		if s != nil {
			schema = strict.Clip(s.Text)
		}
		return nil, fault.New(fmt.Sprintf("the marks file %q has the schema %q, and %q is read here", name, schema, MarksSchema),
			fmt.Sprintf("set \"schema\": %q if it is a marks file", MarksSchema))
	}
	var m Marks
	if err := root.Into(&m, o); err != nil {
		return nil, inMarks(name, err)
	}
	m.NoFrame = root.Get("frame") == nil
	if err := m.complete(name); err != nil {
		return nil, err
	}
	return &m, nil
}

// inMarks puts the file's name before what is wrong in it.
func inMarks(name string, err error) error {
	var e *strict.Error
	if !errors.As(err, &e) {
		return err
	}
	do := e.Do
	if strings.HasPrefix(e.Where, "marks ") {
		do += `; a mark is {"landmark": "hip", "x": 901.5, "y": 512.0}`
	}
	return fault.New(fmt.Sprintf("the marks file %q cannot be read: %v", name, e), do)
}

// complete checks everything that does not need the picture.
func (m *Marks) complete(name string) error {
	switch {
	case len(m.Marks) == 0:
		return fault.New(fmt.Sprintf("the marks file %q has no marks", name), `place some: {"landmark": "hip", "x": 901.5, "y": 512.0}`)
	case len(m.Marks) > mostMarks:
		return fault.New(fmt.Sprintf("the marks file %q has %d marks, and %d are read at most", name, len(m.Marks), mostMarks), "place each landmark some thirty times at most")
	case m.Frame < 0 || m.Frame > mostFrame:
		return fault.New(fmt.Sprintf("the marks file %q is for frame %d", name, m.Frame), "frames are counted from 0")
	case m.Facing != "" && !slices.Contains(facings, m.Facing):
		return fault.New(fmt.Sprintf("the marks file %q has the facing %q", name, strict.Clip(m.Facing)), "it is one of "+strings.Join(facings, ", "))
	}
	if err := checkFound(m.Found, fmt.Sprintf("the marks file %q", name)); err != nil {
		return err
	}
	for i, p := range m.Marks {
		if err := p.complete(name, i); err != nil {
			return err
		}
	}
	if m.Widest != nil {
		if err := m.Widest.Check(name); err != nil {
			return err
		}
	}
	if r := m.Plane; r != nil {
		for _, v := range []float64{r.WidthM, r.HeightM} {
			if !(v > 0 && v <= mostM) {
				return fault.New(fmt.Sprintf("the plane in %q is %v by %v m", name, r.WidthM, r.HeightM), fmt.Sprintf("give the rectangle's width_m and height_m in metres, above 0 and at most %d", mostM))
			}
		}
	}
	return nil
}

var facings = []string{"left", "right", "up", "down", "camera", "away"}

// complete checks mark i of the file.
func (p *Placement) complete(name string, i int) error {
	if known := geometry.Landmarks(); !slices.Contains(known, p.Landmark) {
		hint := "known are hip, shoulder, elbow, wrist, knee, ankle and toe, each with left-, right-, front- or back- in front if need be"
		if near := text.Nearest(strict.Clip(p.Landmark), known); near != "" {
			hint = fmt.Sprintf("did you mean %q? %s", near, hint)
		}
		return fault.New(fmt.Sprintf("mark %d in %q is for the unknown landmark %q", i+1, name, strict.Clip(p.Landmark)), hint)
	}
	if c := p.Covariance; c != nil && !(c[0][0] > 0 && c[1][1] > 0 && c[0][0] <= mostPx && c[1][1] <= mostPx && c[0][1] == c[1][0] && c[0][0]*c[1][1] > c[0][1]*c[0][1]) {
		return fault.New(fmt.Sprintf("mark %d in %q, for %q, has a covariance that is none: %v", i+1, name, p.Landmark, *c),
			"give covariance_px2 as [[xx, xy], [xy, yy]], above 0 in every direction, or leave it out")
	}
	if p.SDPx != nil && !(*p.SDPx > 0 && *p.SDPx <= mostSDPx) {
		return fault.New(fmt.Sprintf("mark %d in %q, for %q, has the standard deviation %v px", i+1, name, p.Landmark, *p.SDPx),
			fmt.Sprintf("give sd_px above 0 and at most %d, or leave it out to have the usual figure", mostSDPx))
	}
	of := fmt.Sprintf("mark %d in %q, for %q,", i+1, name, p.Landmark)
	if err := p.checkProposed(of); err != nil {
		return err
	}
	return checkFound(p.Found, of)
}

// mostSDPx is the largest standard deviation accepted, px: such a mark carries no information in
// any picture.
const mostSDPx = 1000

// Fit checks the marks against the picture they were placed on.
func (m *Marks) Fit(widthPx, heightPx int) error {
	inside := func(what string, x, y float64) error {
		if x >= -0.5 && y >= -0.5 && x <= float64(widthPx)-0.5 && y <= float64(heightPx)-0.5 {
			return nil
		}
		return fault.New(fmt.Sprintf("%s at (%g, %g) lies outside the picture of %d x %d", what, x, y, widthPx, heightPx),
			"marks are in pixels of the upright picture, (0, 0) top left; was it placed on another take?")
	}
	for _, p := range m.Marks {
		if err := inside(fmt.Sprintf("the mark for %q", p.Landmark), p.X, p.Y); err != nil {
			return err
		}
	}
	if m.Level != nil {
		for _, p := range m.Level {
			if err := inside("a mark for level", p[0], p[1]); err != nil {
				return err
			}
		}
	}
	if m.Plane != nil {
		for _, p := range m.Plane.Corners {
			if err := inside("a corner of the plane", p[0], p[1]); err != nil {
				return err
			}
		}
	}
	const oneSpot = 0.5 // px: two different landmarks are never that close
	for i, p := range m.Marks {
		for _, q := range m.Marks[:i] {
			if p.Landmark != q.Landmark && math.Hypot(p.X-q.X, p.Y-q.Y) < oneSpot {
				return fault.New(fmt.Sprintf("the marks for %q and %q are on one spot, (%g, %g)", q.Landmark, p.Landmark, p.X, p.Y), "place one of them again")
			}
		}
	}
	return nil
}

// HowConfirmed says how a person confirmed a proposal.
type HowConfirmed string

const (
	NotConfirmed  HowConfirmed = ""
	ConfirmedEach HowConfirmed = "each" // by itself
	ConfirmedAll  HowConfirmed = "all"  // with all others at once
)

// The words, the note and the advice for a reading from proposals.
const (
	ProposedWords  = "proposed, not confirmed"
	ProposedNote   = "the marks are proposed from the picture and nobody has confirmed them: this is no measurement, so no verdict is given and nothing is kept"
	ProposedAdvice = "look at each proposed mark in the picture, correct it where it is off, and confirm it"
)

// checkProposed refuses contradictions; of names the mark in the message.
func (p *Placement) checkProposed(of string) error {
	if !slices.Contains([]HowConfirmed{NotConfirmed, ConfirmedEach, ConfirmedAll}, p.Confirmed) {
		return fault.New(fmt.Sprintf("%s has \"confirmed\": %q", of, strict.Clip(string(p.Confirmed))), "it is each (this mark by itself) or all (with the others at once)")
	}
	if p.Proposed && p.Confirmed != NotConfirmed {
		return fault.New(of+" is proposed and confirmed at once", "leave \"proposed\" out of a mark that a person has confirmed")
	}
	return nil
}

// Proposed reports whether any of the marks is a proposal.
func (m *Marks) Proposed() bool {
	return slices.ContainsFunc(m.Marks, func(p Placement) bool { return p.Proposed })
}

// Confirm returns the marks with all proposals confirmed that way. They keep their
// covariance: a person who finds a proposal right has not placed it any better.
func (m *Marks) Confirm(how HowConfirmed) *Marks {
	out := *m
	out.Marks = slices.Clone(m.Marks)
	for i := range out.Marks {
		if p := &out.Marks[i]; p.Proposed {
			p.Proposed, p.Confirmed = false, how
		}
	}
	return &out
}

// proposed reports whether a mark that the reading uses, or that decided its side, is a
// proposal.
func (q *Request) proposed(m *model) bool {
	used := append(slices.Clone(m.names), m.bound.Deciders()...)
	return slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return p.Proposed && slices.Contains(used, p.Landmark) })
}
