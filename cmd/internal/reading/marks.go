package reading

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"ecart/geometry"
)

// MarksSchema names the version of the marks file.
const MarksSchema = "ecart/marks/1"

// Marks is a marks file: the points somebody placed on one frame.
type Marks struct {
	Schema string      `json:"schema"`
	Frame  int         `json:"frame"`
	Facing string      `json:"facing,omitempty"`
	Marks  []Placement `json:"marks"`
	Level  *[2]Pixel   `json:"level,omitempty"` // two points on something level or plumb
	Plane  *Rectangle  `json:"plane,omitempty"`

	unknown []string // keys this version does not know
}

// Pixel is x, y in pixels, the centre of the top-left pixel being (0, 0).
type Pixel [2]float64

// Placement is one point placed for a landmark. A landmark given several times
// was placed repeatedly.
type Placement struct {
	Landmark string   `json:"landmark"`
	X        float64  `json:"x"`
	Y        float64  `json:"y"`
	SDPx     *float64 `json:"sd_px,omitempty"` // standard deviation of one placement, each axis
	// Covariance of the placement, px^2, where a sticker was found: in place of SDPx.
	Covariance *[2][2]float64 `json:"covariance_px2,omitempty"`
}

// Rectangle is a rectangle of known size in the plane of motion.
type Rectangle struct {
	Corners [4]Pixel `json:"corners"`
	WidthM  float64  `json:"width_m"`
	HeightM float64  `json:"height_m"`
}

// ParseMarks reads a marks file; name is used in errors, which are faults.
func ParseMarks(name string, data []byte) (*Marks, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(data, &keys); err != nil {
		return nil, fault(fmt.Sprintf("the marks file %q is not a JSON object: %s", name, where(data, err)),
			fmt.Sprintf("it has to begin with {\"schema\": %q, \"marks\": [", MarksSchema))
	}
	var schema string
	if err := json.Unmarshal(keys["schema"], &schema); err != nil || schema != MarksSchema {
		return nil, fault(fmt.Sprintf("the marks file %q has the schema %q, and %q is read here", name, schema, MarksSchema),
			fmt.Sprintf("set \"schema\": %q if it is a marks file", MarksSchema))
	}
	var m Marks
	if err := json.Unmarshal(data, &m); err != nil {
		return nil, fault(fmt.Sprintf("the marks file %q cannot be read: %s", name, where(data, err)),
			`a mark is {"landmark": "hip", "x": 901.5, "y": 512.0}`)
	}
	if err := m.complete(name, keys["marks"]); err != nil {
		return nil, err
	}
	known := []string{"schema", "frame", "facing", "marks", "level", "plane"}
	for k := range keys {
		if !slices.Contains(known, k) {
			m.unknown = append(m.unknown, k)
		}
	}
	slices.Sort(m.unknown)
	return &m, nil
}

// complete checks what can be checked without the picture.
func (m *Marks) complete(name string, raw json.RawMessage) error {
	if len(m.Marks) == 0 {
		return fault(fmt.Sprintf("the marks file %q has no marks", name), `place some: {"landmark": "hip", "x": 901.5, "y": 512.0}`)
	}
	var has []struct{ X, Y *float64 }
	if err := json.Unmarshal(raw, &has); err != nil {
		return fault(fmt.Sprintf("the marks in %q cannot be read: %v", name, err), "each needs a landmark, x and y")
	}
	for i, p := range m.Marks {
		if known := geometry.Landmarks(); !slices.Contains(known, p.Landmark) {
			hint := "known are hip, shoulder, elbow, wrist, knee, ankle and toe, each with left-, right-, front- or back- in front if need be"
			if near := geometry.Nearest(p.Landmark, known); near != "" {
				hint = fmt.Sprintf("did you mean %q? %s", near, hint)
			}
			return fault(fmt.Sprintf("mark %d in %q is for the unknown landmark %q", i+1, name, p.Landmark), hint)
		}
		if has[i].X == nil || has[i].Y == nil {
			return fault(fmt.Sprintf("the mark for %q in %q has no place", p.Landmark, name), "give x and y in pixels")
		}
		if c := p.Covariance; c != nil && !(c[0][0] > 0 && c[1][1] > 0 && c[0][1] == c[1][0] && c[0][0]*c[1][1] >= c[0][1]*c[0][1]) {
			return fault(fmt.Sprintf("the mark for %q in %q has a covariance that is none: %v", p.Landmark, name, *c),
				"give covariance_px2 as [[xx, xy], [xy, yy]], or leave it out")
		}
		if p.SDPx != nil && !(*p.SDPx > 0) {
			return fault(fmt.Sprintf("the mark for %q in %q has the standard deviation %v px", p.Landmark, name, *p.SDPx),
				"give sd_px above 0, or leave it out to have the usual figure")
		}
	}
	return nil
}

// where puts the line in front of a JSON error.
func where(data []byte, err error) string {
	offset := int64(-1)
	var syntax *json.SyntaxError
	var typed *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &typed):
		offset = typed.Offset
	}
	if offset < 0 || offset > int64(len(data)) {
		return err.Error()
	}
	return fmt.Sprintf("line %d: %v", 1+bytes.Count(data[:offset], []byte("\n")), err)
}

// Fit checks the marks against the picture they were placed on.
func (m *Marks) Fit(widthPx, heightPx int) error {
	inside := func(what string, x, y float64) error {
		if x >= -0.5 && y >= -0.5 && x <= float64(widthPx)-0.5 && y <= float64(heightPx)-0.5 {
			return nil
		}
		return fault(fmt.Sprintf("%s at (%g, %g) lies outside the picture of %d x %d", what, x, y, widthPx, heightPx),
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
	const oneSpot = 0.5 // px: nobody means two landmarks by this
	for i, p := range m.Marks {
		for _, q := range m.Marks[:i] {
			if p.Landmark != q.Landmark && math.Hypot(p.X-q.X, p.Y-q.Y) < oneSpot {
				return fault(fmt.Sprintf("the marks for %q and %q are on one spot, (%g, %g)", q.Landmark, p.Landmark, p.X, p.Y), "place one of them again")
			}
		}
	}
	return nil
}
