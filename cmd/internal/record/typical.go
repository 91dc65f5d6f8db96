package record

import (
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// typical are bodies in a typical position of each measure, for a plan before there is a
// picture: places of landmarks from the hip, or from the wrist for off-vertical, x to the
// right and y up, in parts of stature. Lengths are those of the priors' segments. Whoever
// is seen from the side faces right.
var typical = map[string]map[string][2]float64{
	"hip-split":          {"hip": {}, "shoulder": {0, 0.288}, "front-ankle": polar(0.491, -10), "back-ankle": polar(0.491, 190)},
	"shoulder-flexion":   {"hip": {}, "shoulder": {0, 0.288}, "elbow": {0.186 * sin(15), 0.288 + 0.186*cos(15)}},
	"leg-separation":     {"right-hip": {-0.05, 0}, "left-hip": {0.05, 0}, "right-ankle": {-0.05 - 0.491*sin(60), -0.491 * cos(60)}, "left-ankle": {0.05 + 0.491*sin(60), -0.491 * cos(60)}},
	"shoulder-extension": {"hip": {}, "shoulder": {0, 0.288}, "elbow": {-0.186 * sin(60), 0.288 - 0.186*cos(60)}},
	"pike":               {"hip": {}, "shoulder": {0, 0.288}, "ankle": polar(0.491, 30)},
	"knee-bend":          {"hip": {}, "knee": {0, -0.245}, "ankle": {-0.246 * sin(20), -0.245 - 0.246*cos(20)}},
	"elbow-bend":         {"shoulder": {}, "elbow": {0.186, 0}, "wrist": {0.186 + 0.146*cos(20), 0.146 * sin(20)}},
	"foot-point":         {"ankle": {}, "knee": {0, 0.246}, "toe": {0.119 * sin(160), 0.119 * cos(160)}},
	"off-vertical":       {"wrist": {}, "ankle": {1.111 * sin(10), 1.111 * cos(10)}},
	"leg-rise":           {"hip": {}, "ankle": polar(0.491, 80)},
}

func sin(deg float64) float64 { return math.Sin(deg * math.Pi / 180) }
func cos(deg float64) float64 { return math.Cos(deg * math.Pi / 180) }

func polar(r, deg float64) [2]float64 { return [2]float64{r * cos(deg), r * sin(deg)} }

// typicalRequest asks for a reading of a typical picture: 1920 by 1080 pixels, in which
// the athlete is 480 pixels tall, as a clip across a hall shows one.
func typicalRequest(m geometry.Measure) (reading.Request, error) {
	pose, ok := typical[m.Name]
	if !ok {
		return reading.Request{}, fault.New(fmt.Sprintf("there is no typical picture of the measure %q to plan with", m.Name), "name an athlete who has a reading of it: "+fault.Option("athlete")+" NAME")
	}
	const tall, x, y = 480.0, 960.0, 700.0 // px
	marks := &reading.Marks{Schema: reading.MarksSchema, NoFrame: true}
	for _, name := range geometry.Landmarks() {
		if at, ok := pose[name]; ok {
			marks.Marks = append(marks.Marks, reading.Placement{Landmark: name, X: x + tall*at[0], Y: y - tall*at[1]})
		}
	}
	q := reading.Request{Take: reading.Take{Name: "a typical picture", WidthPx: 1920, HeightPx: 1080}, Still: true, Marks: marks, Measure: m, Beyond: true, Seed: usualSeed, MaxDraws: 20_000}
	if m.Facing {
		q.Options.Facing = geometry.FacingRight
	}
	return q, nil
}
