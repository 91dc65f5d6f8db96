package figure

import (
	_ "embed"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

//go:embed head.yaml
var headFile []byte

// headPriors limits the position of a head relative to the marks; see head.yaml.
type headPriors struct {
	Schema  string  `yaml:"schema"`
	Centre  float64 `yaml:"centre"`
	Radius  float64 `yaml:"radius"`
	Posture struct {
		HalfRangeDeg   float64 `yaml:"half_range_deg"`
		reading.Reason `yaml:",inline"`
	} `yaml:"posture"`
	Aside struct {
		Sagittal       float64 `yaml:"sagittal"`
		Frontal        float64 `yaml:"frontal"`
		reading.Reason `yaml:",inline"`
	} `yaml:"aside"`
	Foreshortened struct {
		Below          float64 `yaml:"below"`
		reading.Reason `yaml:",inline"`
	} `yaml:"foreshortened"`
	Speed struct {
		StaturesPerS   float64 `yaml:"statures_per_s"`
		reading.Reason `yaml:",inline"`
	} `yaml:"speed"`
	reading.Reason `yaml:",inline"`
}

var head = sync.OnceValue(func() headPriors {
	var p headPriors
	if err := yaml.UnmarshalWithOptions(headFile, &p, yaml.Strict()); err != nil {
		panic("figure: head.yaml: " + err.Error())
	}
	return p
})

var bodyPriors = sync.OnceValue(reading.DefaultPriors)

// seenBody is the body as estimated from the marks of one frame.
type seenBody struct {
	neck    point   // mean of the marked shoulders
	has     bool    // a shoulder is marked
	up      float64 // direction from hip to shoulder, rad
	upright bool    // up is known
	trunk   float64 // apparent length of the trunk, px
	paired  bool    // both shoulders are marked
	stature float64 // px, the largest estimate from any segment; 0 unknown
}

// bodyOf estimates the body from the marks. A landmark placed several times counts with its
// mean.
func bodyOf(marks []reading.Placement) seenBody {
	at := map[string]point{}
	n := map[string]float64{}
	for _, m := range marks {
		n[m.Landmark]++
		w := 1 / n[m.Landmark]
		old := at[m.Landmark]
		at[m.Landmark] = point{old.X + w*(m.X-old.X), old.Y + w*(m.Y-old.Y)}
	}
	middle := func(kind string) (mid point, count float64) {
		for _, name := range slices.Sorted(maps.Keys(at)) { // sorted, so that rounding is reproducible
			if draw.Part(name) == kind {
				mid, count = draw.Add(mid, at[name]), count+1
			}
		}
		return point{mid.X / max(1, count), mid.Y / max(1, count)}, count
	}
	var b seenBody
	hip, hips := middle("hip")
	neck, shoulders := middle("shoulder")
	b.neck, b.has, b.paired = neck, shoulders > 0, shoulders > 1
	fraction := bodyPriors().Segments.Fraction
	if d := draw.Sub(neck, hip); b.has && hips > 0 && draw.Norm(d) > 0 {
		b.up, b.upright, b.trunk = math.Atan2(d.Y, d.X), true, draw.Norm(d)
		b.stature = b.trunk / fraction["hip-shoulder"]
	}
	// Foreshortening makes segments appear shorter and never longer, so that the largest
	// estimate is the best.
	for a, p := range at {
		for c, q := range at {
			f, ok := fraction[draw.Part(a)+"-"+draw.Part(c)]
			if !ok || !oneSide(a, c) || draw.Part(a) == "hip" && draw.Part(c) == "shoulder" {
				continue
			}
			b.stature = math.Max(b.stature, draw.Norm(draw.Sub(p, q))/f)
		}
	}
	return b
}

// oneSide reports whether two landmarks may belong to one limb.
func oneSide(a, b string) bool {
	side := func(s string) string { return strings.TrimSuffix(strings.TrimSuffix(s, draw.Part(s)), "-") }
	return side(a) == side(b) || side(a) == "" || side(b) == ""
}

// HeadCover returns a cover that contains the whole head for any posture of the neck,
// computed from the marks of one frame: the neck's position from the shoulders, its
// direction from the line from hip to shoulder, and the size from the longest segment. The
// measure tells from which side the body is seen. If no shoulder is marked, or the size is
// unknown, it returns an error with a hint.
func HeadCover(marks []reading.Placement, measure string) (Cover, error) {
	return headCover(bodyOf(marks), measure)
}

// coverYourself is the hint if the marks do not locate the head.
var coverYourself = fault.Operation("draw the cover by hand")

func headCover(b seenBody, measure string) (Cover, error) {
	do := "mark the shoulder and the hip, or " + coverYourself
	switch {
	case !b.has:
		return Cover{}, draw.Problem(do, "no shoulder is marked, so where the head is cannot be told")
	case !(b.stature > 0) || math.IsInf(b.stature, 0):
		return Cover{}, draw.Problem(do, "a shoulder alone does not tell how large the head is")
	}
	p := head()
	aside := p.Aside.Sagittal
	if m, ok := geometry.Lookup(measure); !b.paired && (!ok || m.Plane != "sagittal") {
		aside = p.Aside.Frontal
	}
	half := p.Posture.HalfRangeDeg * math.Pi / 180
	whole := bodyPriors().Segments.Fraction["hip-shoulder"] * b.stature
	if !b.upright || b.trunk < p.Foreshortened.Below*whole {
		half = math.Pi
	}
	c := Cover{stature: b.stature}
	r := (p.Radius + aside) * b.stature
	steps := int(math.Ceil(2 * half * 180 / math.Pi / 5))
	for i := range steps + 1 {
		a := b.up - half + 2*half*float64(i)/float64(steps)
		c.discs = append(c.discs, disc{draw.Polar(b.neck, p.Centre*b.stature, a), r})
	}
	return c, nil
}

// MarksOf returns the marks of a reading as placements, for HeadCover.
func MarksOf(r *reading.Reading) []reading.Placement {
	var out []reading.Placement
	for _, m := range r.Marks {
		out = append(out, reading.Placement{Landmark: m.Landmark, X: m.X, Y: m.Y})
	}
	return out
}

// HeadTrack returns a cover of the head for every frame of a tracked clip. If the marks of
// a frame do not locate the head, it is the cover of the nearest frame that does, enlarged
// by the distance that a head can move in between. A frame that was not tracked is covered
// as a whole. If no frame locates the head, it returns an error.
func HeadTrack(t *reading.Track, measure string) (at func(frame int) Cover, err error) {
	if t == nil || len(t.Frames) == 0 {
		return nil, draw.Problem("follow the clip first", "there is no frame whose head could be covered")
	}
	type known struct {
		timeS float64
		cover Cover
	}
	var have []known
	var why error
	own := map[int]Cover{}
	for i := range t.Frames {
		f := &t.Frames[i]
		var seen []reading.Placement
		for k, name := range t.Landmarks {
			if m := f.Marks[k]; m.Seen == reading.Found {
				seen = append(seen, reading.Placement{Landmark: name, X: m.X, Y: m.Y})
			}
		}
		c, err := HeadCover(seen, measure)
		if err != nil {
			why = err
			continue
		}
		own[f.Frame] = c
		have = append(have, known{f.TimeS, c})
	}
	if len(have) == 0 {
		return nil, draw.Problem("put a sticker on the shoulder and one on the hip, or "+coverYourself,
			"no frame of the clip tells where the head is: %v", why)
	}
	return func(frame int) Cover {
		if c, ok := own[frame]; ok {
			return c
		}
		i, ok := t.At(frame)
		if !ok {
			return everything
		}
		now := t.Frames[i].TimeS
		best := have[0]
		for _, k := range have {
			if math.Abs(k.timeS-now) < math.Abs(best.timeS-now) {
				best = k
			}
		}
		return best.cover.grown(head().Speed.StaturesPerS * math.Abs(best.timeS-now) * best.cover.stature)
	}, nil
}

// String describes the cover, for messages.
func (c Cover) String() string {
	if len(c.discs) == 1 {
		d := c.discs[0]
		return fmt.Sprintf("a circle of %.0f pixels about (%.0f, %.0f)", d.R, d.At.X, d.At.Y)
	}
	return "a cover worked out from the marks"
}
