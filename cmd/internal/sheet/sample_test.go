package sheet_test

import (
	"fmt"
	"image"
	"math"
	"reflect"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/language"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
)

const degree = math.Pi / 180

// The samples are real readings of rendered takes: an athlete of Halle Nord holds one
// pose in which every measure can be read.

// landmarksOf has the landmarks of each measure.
var landmarksOf = map[string][]string{
	"hip-split":          {"hip", "front-ankle", "back-ankle", "shoulder"},
	"shoulder-flexion":   {"hip", "shoulder", "wrist"},
	"shoulder-extension": {"hip", "shoulder", "elbow"},
	"leg-separation":     {"left-hip", "left-ankle", "right-hip", "right-ankle", "left-shoulder", "right-shoulder"},
	"pike":               {"shoulder", "hip", "front-ankle"},
	"knee-bend":          {"front-hip", "front-knee", "front-ankle", "shoulder"},
	"elbow-bend":         {"shoulder", "elbow", "wrist"},
	"foot-point":         {"front-knee", "front-ankle", "front-toe"},
	"off-vertical":       {"wrist", "front-ankle"},
	"leg-rise":           {"hip", "front-ankle"},
	"uneven-legs":        {"hip", "front-ankle", "back-ankle"},
}

type renderedStill struct {
	img   image.Image
	truth scene.Truth
}

// poseStills are the pose in a landscape and in a portrait picture.
var poseStills = sync.OnceValue(func() [2]renderedStill {
	var out [2]renderedStill
	for i, size := range [2]image.Point{{1280, 720}, {720, 960}} {
		arm := scene.Arm{Flexion: 150 * degree, Opening: 6 * degree, Elbow: 12 * degree}
		p := scene.Pose{Hips: scene.Vec{Y: 1.1}, Lean: 6 * degree, Arms: [2]scene.Arm{arm, {Flexion: 120 * degree}}}.Split(158*degree, 8*degree, scene.Right)
		p.Legs[scene.Right].Knee = 7 * degree
		c := scene.LookAt(size.X, size.Y, 1050, scene.Vec{Y: 1.25}, 4.2)
		c.Yaw = 6 * degree
		out[i].img, out[i].truth = scene.Still(scene.NewBody(1.5), p, c, nil, "hip-split")
	}
	return out
})

var rules = sync.OnceValue(func() *rulebook.Library {
	lib, err := rulebook.Load("", nil)
	if err != nil {
		panic(err)
	}
	return lib
})

// measuredSkills are the skills that a reading can be compared with.
func measuredSkills() (out []rulebook.Skill) {
	for _, b := range rules().Books() {
		for _, k := range b.Skills {
			if k.NotMeasured == "" {
				out = append(out, k)
			}
		}
	}
	return out
}

// readPose reads the pose with a measure and, unless it is nil, against a skill.
func readPose(t testing.TB, measure string, k *rulebook.Skill, upright bool) sheet.Input {
	t.Helper()
	s := poseStills()[0]
	if upright {
		s = poseStills()[1]
	}
	m, ok := geometry.Lookup(measure)
	require.True(t, ok, measure)
	marks := &reading.Marks{Schema: reading.MarksSchema, Facing: s.truth.Facing}
	for _, n := range landmarksOf[measure] {
		p, ok := s.truth.Mark(n)
		require.True(t, ok, n)
		marks.Marks = append(marks.Marks, reading.Placement{Landmark: n, X: p.SkinPixel[0], Y: p.SkinPixel[1]})
	}
	b := s.img.Bounds()
	q := reading.Request{Marks: marks, Measure: m, Camera: "by-eye", Seed: 1, MaxDraws: 20_000,
		Options: geometry.Options{Facing: geometry.Facing(s.truth.Facing)},
		Take:    reading.Take{Name: "lena_petersen.mp4", SHA256: fmt.Sprintf("%064x", 0xc0ffee), Frame: 12, TimeS: 0.2, WidthPx: b.Dx(), HeightPx: b.Dy()}}
	if k != nil {
		ask, err := k.Reading()
		require.NoError(t, err)
		q.Skill = &ask
	}
	return sheet.Input{Picture: s.img, Who: "Wren", Day: "2026-03-21", State: "warm", Rule: k, Reading: readOnce(t, asked{measure, upright, q.Skill}, q)}
}

// asked is what the readings of the pose differ by.
type asked struct {
	measure string
	upright bool
	skill   *reading.Skill
}

// alreadyRead are the readings that were made for the tests of the package.
var alreadyRead []struct {
	of asked
	r  *reading.Reading
}

// readOnce returns the reading of a request, which is made once for all tests. It is a copy, of which a test may change
// the fields, but not what they point to.
func readOnce(t testing.TB, of asked, q reading.Request) *reading.Reading {
	t.Helper()
	for _, a := range alreadyRead {
		if reflect.DeepEqual(a.of, of) {
			r := *a.r
			return &r
		}
	}
	r, err := reading.Read(q)
	require.NoError(t, err, "%s", of.measure)
	alreadyRead = append(alreadyRead, struct {
		of asked
		r  *reading.Reading
	}{of, r})
	own := *r
	return &own
}

func skill(t testing.TB, name string) *rulebook.Skill {
	t.Helper()
	k, err := rules().Skill(name)
	require.NoError(t, err)
	return &k
}

// covered is the input with its head covered.
func covered(t testing.TB, in sheet.Input) sheet.Input {
	t.Helper()
	c, err := figure.HeadCover(figure.MarksOf(in.Reading), in.Reading.Measure)
	if err != nil {
		c, err = figure.CoverAt(float64(in.Reading.Take.WidthPx)/2, 150, 90)
	}
	require.NoError(t, err)
	in.Covers = []figure.Cover{c}
	return in
}

var (
	german  = language.German
	english = language.English
)
