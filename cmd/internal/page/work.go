package page

import (
	"fmt"
	"maps"
	"math"
	"net/http"
	"slices"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// Work is what was done on a take: the setup, and the marks of each frame. It is
// stored at once. Version grows by one with every change stored.
type Work struct {
	Version int `json:"version"`

	Skill   string `json:"skill"`   // BOOK/NAME, or "" if only a measure was chosen
	Measure string `json:"measure"` // "" until one is chosen
	Leg     string `json:"leg"`
	Side    string `json:"side"`
	Facing  string `json:"facing"`
	Camera  string `json:"camera"`
	Rater   string `json:"rater"` // who places the marks; "" is not known
	Lens    string `json:"lens"`  // id of the camera's lens on the page; "" for none

	Confidence float64 `json:"confidence"` // required for a decision; 0 is 0.95

	Found reading.HowFound `json:"found"` // how the landmarks marked by hand were found

	ObliqueDeg float64 `json:"oblique_deg"` // above 0: how far the camera may be from square, instead of Camera

	StatureCm float64 `json:"stature_cm"` // 0 is not known, here and below
	DistanceM float64 `json:"distance_m"`
	FocalMm   float64 `json:"focal_mm"`

	// Widest is the proposed widest moment of the clip; nil for none. Readings of frames near it take from it what they missed.
	Widest *reading.Widest `json:"widest,omitempty"`

	Frame  int             `json:"frame"` // the moment
	Frames map[int]*Placed `json:"frames"`
}

// Placed is what was placed on one frame, in pixels of the upright picture.
type Placed struct {
	// Rounds of placing, each landmark at most once in a round.
	Rounds  []map[string]reading.Pixel `json:"rounds"`
	Seeds   bool                       `json:"seeds"`   // the marks are seeds of stickers; the track that was followed from them is read instead
	Level   []reading.Pixel            `json:"level"`   // 0 to 2
	Corners []reading.Pixel            `json:"corners"` // 0 to 4: top left, top right, bottom right, bottom left
	WidthM  float64                    `json:"width_m"`
	HeightM float64                    `json:"height_m"`

	// Proposed has the marks of the first round that are proposals, by landmark. A mark that somebody moves is taken out.
	Proposed map[string]Proposed `json:"proposed,omitempty"`
	// Facing is the way the chest faces as proposed with the marks, "" for none.
	Facing string `json:"proposed_facing,omitempty"`

	// BeyondDeg is an angle beyond the reach of bodies that somebody confirmed, degrees; 0 for none.
	BeyondDeg float64 `json:"beyond_deg"`
}

// Proposed is what is known of a proposed mark.
type Proposed struct {
	Covariance [2][2]float64        `json:"covariance_px2"`
	Confirmed  reading.HowConfirmed `json:"confirmed,omitempty"` // by a person; before that no verdict rests on it
}

// person reports whether any of the marks is a person's: placed, moved or confirmed.
func (p *Placed) person() bool {
	for i, r := range p.Rounds {
		for name := range r {
			if q, ok := p.Proposed[name]; i > 0 || !ok || q.Confirmed != reading.NotConfirmed {
				return true
			}
		}
	}
	return false
}

// sameAngle is how far an angle may be from the confirmed one, degrees, for the confirmation to
// hold: after a nudge of a mark it does, in another pose it does not.
const sameAngle = 5

// Bounds of a Work, far beyond what a person places.
const (
	mostName    = 80 // letters
	mostFrames  = 2000
	mostRounds  = 200
	mostWork    = 4 << 20 // bytes
	largestSide = 1 << 15 // px
)

// check refuses a Work that no page of ours sends.
func (k *Work) check() error {
	odd := func(what string, a ...any) error {
		return refuse(http.StatusBadRequest, "the marks are not understood: "+fmt.Sprintf(what, a...), "load the page again")
	}
	for _, f := range []struct {
		key string
		v   float64
	}{{"stature_cm", k.StatureCm}, {"distance_m", k.DistanceM}, {"focal_mm", k.FocalMm}} {
		if !(f.v >= 0 && f.v < 1e6) {
			return odd("%s is %g", f.key, f.v)
		}
	}
	if !(k.ObliqueDeg >= 0 && k.ObliqueDeg <= 45) {
		return refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the camera cannot be %g degrees from square", k.ObliqueDeg), "write up to 45 degrees, or take the picture from the side")
	}
	if k.Lens != "" && !isLens(k.Lens) {
		return odd("a lens %q", k.Lens)
	}
	if c := k.Confidence; c != 0 && !(c > 0.5 && c < 1) {
		return odd("a confidence of %g", c)
	}
	if k.Found != reading.NotSaid && !slices.Contains(reading.HowsFound(), string(k.Found)) {
		return odd("landmarks found %q", k.Found)
	}
	if len([]rune(k.Rater)) > mostName {
		return odd("a rater's name of %d letters", len([]rune(k.Rater)))
	}
	if k.Frame < 0 || k.Version < 0 || len(k.Frames) > mostFrames {
		return odd("frame %d, version %d, %d frames", k.Frame, k.Version, len(k.Frames))
	}
	if k.Widest != nil {
		if err := k.Widest.Check("what the page sent"); err != nil {
			return odd("%v", err)
		}
	}
	known := geometry.Landmarks()
	for n, p := range k.Frames {
		switch {
		case n < 0 || p == nil:
			return odd("frame %d", n)
		case len(p.Rounds) > mostRounds:
			return odd("%d rounds of placing on frame %d", len(p.Rounds), n)
		case !(math.Abs(p.BeyondDeg) <= 720):
			return odd("an angle of %g", p.BeyondDeg)
		case len(p.Level) > 2 || len(p.Corners) > 4:
			return odd("%d points for level and %d corners on frame %d", len(p.Level), len(p.Corners), n)
		case !(p.WidthM >= 0 && p.WidthM < 1e6 && p.HeightM >= 0 && p.HeightM < 1e6):
			return odd("a rectangle of %g by %g m", p.WidthM, p.HeightM)
		}
		for name, q := range p.Proposed {
			if err := q.check(name); err != nil {
				return odd("%v", err)
			}
		}
		pts := slices.Concat(p.Level, p.Corners)
		for _, r := range p.Rounds {
			for name, at := range r {
				if !slices.Contains(known, name) {
					return odd("the landmark %q is not known", name)
				}
				pts = append(pts, at)
			}
		}
		for _, at := range pts {
			if !(math.Abs(at[0]) <= largestSide && math.Abs(at[1]) <= largestSide) {
				return odd("a point at (%g, %g)", at[0], at[1])
			}
		}
	}
	return nil
}

// check refuses a proposal that no page of ours sends.
func (q *Proposed) check(landmark string) error {
	c := q.Covariance
	if !(c[0][0] >= 0 && c[1][1] >= 0 && c[0][0] < 1e9 && c[1][1] < 1e9 && c[0][1] == c[1][0] && c[0][1]*c[1][0] <= c[0][0]*c[1][1]) {
		return fmt.Errorf("the proposed %s has a covariance %v", landmark, c)
	}
	if !slices.Contains([]reading.HowConfirmed{reading.NotConfirmed, reading.ConfirmedEach, reading.ConfirmedAll}, q.Confirmed) {
		return fmt.Errorf("the proposed %s is confirmed %q", landmark, q.Confirmed)
	}
	return nil
}

// marked returns the number of frames on which a person has placed or confirmed a mark.
func (k *Work) marked() int {
	n := 0
	for _, p := range k.Frames {
		if p.person() {
			n++
		}
	}
	return n
}

// byHand reports whether a frame has marks to be read; seeds of stickers are not.
func (k *Work) byHand(frame int) bool {
	p := k.Frames[frame]
	return p != nil && !p.Seeds && len(k.marks(frame).Marks) > 0
}

// marks returns the marks file of a frame.
func (k *Work) marks(frame int) *reading.Marks {
	m := &reading.Marks{Schema: reading.MarksSchema, Frame: frame, Facing: k.Facing, Found: k.Found, Marks: []reading.Placement{}, Widest: k.Widest}
	p := k.Frames[frame]
	if p == nil {
		return m
	}
	for _, name := range geometry.Landmarks() { // placements of a landmark together, in the order of placing
		for i, r := range p.Rounds {
			at, ok := r[name]
			if !ok {
				continue
			}
			one := reading.Placement{Landmark: name, X: at[0], Y: at[1]}
			if q, ok := p.Proposed[name]; ok && i == 0 {
				one.Covariance, one.Proposed, one.Confirmed, one.Found = &q.Covariance, q.Confirmed == reading.NotConfirmed, q.Confirmed, reading.OnlySeen
			}
			m.Marks = append(m.Marks, one)
		}
	}
	if len(p.Level) == 2 {
		m.Level = &[2]reading.Pixel{p.Level[0], p.Level[1]}
	}
	if len(p.Corners) == 4 && p.WidthM > 0 && p.HeightM > 0 {
		m.Plane = &reading.Rectangle{Corners: [4]reading.Pixel(p.Corners), WidthM: p.WidthM, HeightM: p.HeightM}
	}
	return m
}

// keyOf returns what the proposed landmarks depend on; "" if none are to be proposed: nothing is chosen to be read, or a
// person has placed marks.
func keyOf(k *Work) string {
	if k.Skill == "" && k.Measure == "" || k.marked() > 0 {
		return ""
	}
	return k.Skill + " " + k.Measure + " " + k.Leg + " " + k.Side
}

// propose replaces the proposals in the work by m, which may be nil, and reports whether anything changed.
func (k *Work) propose(m *reading.Marks) bool {
	changed := m != nil
	frames := map[int]*Placed{}
	for n, p := range k.Frames {
		if len(p.Proposed) == 0 {
			frames[n] = p
			continue
		}
		changed = true
		if k.Facing == p.Facing {
			k.Facing = ""
		}
		if len(p.Level) > 0 || len(p.Corners) > 0 {
			q := *p
			q.Rounds, q.Proposed, q.Facing = []map[string]reading.Pixel{}, nil, ""
			frames[n] = &q
		}
	}
	k.Frames, k.Widest = frames, nil
	if m == nil {
		return changed
	}
	p := &Placed{Level: []reading.Pixel{}, Corners: []reading.Pixel{}}
	if old := frames[m.Frame]; old != nil { // level and corners stay
		*p = *old
	}
	round := map[string]reading.Pixel{}
	p.Proposed = map[string]Proposed{}
	for _, one := range m.Marks {
		round[one.Landmark] = reading.Pixel{one.X, one.Y}
		p.Proposed[one.Landmark] = Proposed{Covariance: *one.Covariance}
	}
	p.Rounds = []map[string]reading.Pixel{round}
	if k.Facing == "" {
		k.Facing, p.Facing = m.Facing, m.Facing
	}
	frames[m.Frame], k.Frame, k.Widest = p, m.Frame, m.Widest
	return true
}

// proposedFacing returns the way the chest faces as it was proposed, "" if it was not.
func proposedFacing(k *Work) string {
	for _, n := range slices.Sorted(maps.Keys(k.Frames)) {
		if f := k.Frames[n].Facing; f != "" {
			return f
		}
	}
	return ""
}
