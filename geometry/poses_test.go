package geometry_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

type marks map[string]geometry.Point

// poseTolerance is in degrees: coordinates here are small whole numbers or within
// one rounding of tangents, so only the arc tangent's last bits are at stake.
const poseTolerance = 1e-10

func tan(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }

type pose struct {
	name    string
	measure string
	at      marks
	opt     geometry.Options
	want    float64 // degrees
}

// arched is a trunk of two halves of length 1, the upper leaning back by 20 degrees,
// with the arm 160 degrees from the upper half, chest right.
var arched = func() marks {
	up := func(deg, length float64) geometry.Point {
		return geometry.Point{X: length * math.Cos((90+deg)*math.Pi/180), Y: length * math.Sin((90+deg)*math.Pi/180)}
	}
	shoulder := up(20, 1)
	shoulder.Y++
	elbow := up(0, 1) // 20 forward of the line of the upper trunk
	return marks{"hip": {}, "ribs": {X: 0, Y: 1}, "shoulder": shoulder, "elbow": {X: shoulder.X + elbow.X, Y: shoulder.Y + elbow.Y}}
}()

// Bodies drawn on squared paper: the expected angles are read off the coordinates
// with the right angle, the diagonal, or the tangent written beside them.
var poses = []pose{
	{"leap, legs level", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}, geometry.Options{}, 180},
	{"leap, legs 45 below", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, -8}, "back-ankle": {-8, -8}}, geometry.Options{}, 90},
	{"leap to the left", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {-8, -8}, "back-ankle": {8, -8}}, geometry.Options{}, 90},
	{"over-split, each leg 5 above level", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, 8 * tan(5)}, "back-ankle": {-8, 8 * tan(5)}}, geometry.Options{}, 190},
	{"over-split to the left", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {-8, 8 * tan(5)}, "back-ankle": {8, 8 * tan(5)}}, geometry.Options{}, 190},
	{"over-split in a handstand", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, -5}, "front-ankle": {8, -8 * tan(5)}, "back-ankle": {-8, -8 * tan(5)}}, geometry.Options{}, 190},
	{"over-split lying on the side", "hip-split", marks{"hip": {0, 0}, "shoulder": {5, 0}, "front-ankle": {8 * tan(5), 8}, "back-ankle": {8 * tan(5), -8}}, geometry.Options{}, 190},
	{"over-split with no shoulder, upright", "hip-split", marks{"hip": {0, 0}, "front-ankle": {8, 8 * tan(5)}, "back-ankle": {-8, 8 * tan(5)}}, geometry.Options{}, 190},
	{"thighs only, bent knees", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-knee": {4, -4}, "back-knee": {-4, 0}, "front-ankle": {4, -8}, "back-ankle": {-4, -4}}, geometry.Options{Leg: geometry.Thigh}, 135},
	{"legs marked by side", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "left-ankle": {8, 8 * tan(5)}, "right-ankle": {-8, 8 * tan(5)}}, geometry.Options{}, 190},
	{"needle: front leg 10 past the trunk's line, chest right", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {-8 * tan(10), 8}, "back-ankle": {0, -8}}, geometry.Options{Facing: geometry.FacingRight}, 190},
	{"the same, chest left", "hip-split", marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8 * tan(10), 8}, "back-ankle": {0, -8}}, geometry.Options{Facing: geometry.FacingLeft}, 190},
	{"standing scale: trunk level, standing leg in front", "hip-split", marks{"hip": {0, 0}, "shoulder": {5, 0}, "front-ankle": {0, -8}, "back-ankle": {-8 * tan(5), 8}}, geometry.Options{}, 175},

	{"arm hanging, chest right", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {0, 2}}, geometry.Options{Facing: geometry.FacingRight}, 0},
	{"arm level in front, chest right", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {3, 5}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"arm level in front, chest left", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {-3, 5}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"overhead, 10 short, chest right", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {3 * tan(10), 8}}, geometry.Options{Facing: geometry.FacingRight}, 170},
	{"overhead, 10 past, chest right", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {-3 * tan(10), 8}}, geometry.Options{Facing: geometry.FacingRight}, 190},
	{"overhead, 10 past, chest left", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {3 * tan(10), 8}}, geometry.Options{Facing: geometry.FacingLeft}, 190},
	// In a handstand with the chest to the right the shoulders are below the hips and
	// an arm short of overhead leans to the chest's side.
	{"handstand, chest right, 10 short", "shoulder-flexion", marks{"hip": {0, 5}, "shoulder": {0, 0}, "elbow": {3 * tan(10), -3}}, geometry.Options{Facing: geometry.FacingRight}, 170},
	{"handstand, chest right, 10 past", "shoulder-flexion", marks{"hip": {0, 5}, "shoulder": {0, 0}, "elbow": {-3 * tan(10), -3}}, geometry.Options{Facing: geometry.FacingRight}, 190},
	{"handstand, chest left, 10 past", "shoulder-flexion", marks{"hip": {0, 5}, "shoulder": {0, 0}, "elbow": {3 * tan(10), -3}}, geometry.Options{Facing: geometry.FacingLeft}, 190},
	{"on the back, head right, arm on the floor past the ear by 10 below", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {5, 0}, "elbow": {8, -3 * tan(10)}}, geometry.Options{Facing: geometry.FacingUp}, 190},
	{"face down, head right, arm lifted 10", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {5, 0}, "elbow": {8, 3 * tan(10)}}, geometry.Options{Facing: geometry.FacingDown}, 190},
	{"bridge: trunk level, chest up, arm straight down beyond the head", "shoulder-flexion", marks{"hip": {0, 5}, "shoulder": {5, 5}, "elbow": {5, 2}}, geometry.Options{Facing: geometry.FacingUp}, 270},
	{"wrist for want of an elbow", "shoulder-flexion", marks{"hip": {0, 0}, "shoulder": {0, 5}, "wrist": {6, 5}}, geometry.Options{Facing: geometry.FacingRight}, 90},

	{"arm straight behind, chest right", "shoulder-extension", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {-3, 5}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"arm straight behind, chest left", "shoulder-extension", marks{"hip": {0, 0}, "shoulder": {0, 5}, "elbow": {3, 5}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"front swing: body level, chest up, arm straight down", "shoulder-extension", marks{"hip": {5, 0}, "shoulder": {0, 0}, "elbow": {0, -3}}, geometry.Options{Facing: geometry.FacingUp}, 90},

	{"standing straight", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "ankle": {0, -8}}, geometry.Options{Facing: geometry.FacingRight}, 180},
	{"sitting, legs forward, chest right", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "ankle": {8, 0}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"sitting, legs forward, chest left", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "ankle": {-8, 0}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"arched by 45, chest right", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "ankle": {-8, -8}}, geometry.Options{Facing: geometry.FacingRight}, 225},
	{"inverted pike, chest right: legs level to the right", "pike", marks{"hip": {0, 5}, "shoulder": {0, 0}, "ankle": {8, 5}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"thigh of the pike", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "knee": {4, -4}, "ankle": {4, -8}}, geometry.Options{Facing: geometry.FacingRight, Leg: geometry.Thigh}, 135},
	{"knee for want of an ankle", "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "knee": {4, 0}}, geometry.Options{Facing: geometry.FacingRight}, 90},

	{"straight knee", "knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {0, 0}}, geometry.Options{Facing: geometry.FacingRight}, 0},
	{"shank level behind, facing right", "knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {-4, 4}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"shank level behind, facing left", "knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {4, 4}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"hyper-extended by 8, facing right", "knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {4 * tan(8), 0}}, geometry.Options{Facing: geometry.FacingRight}, -8},
	{"handstand, shank folded behind a chest to the right", "knee-bend", marks{"shoulder": {0, 0}, "hip": {0, 5}, "knee": {0, 9}, "ankle": {-4, 9}}, geometry.Options{Facing: geometry.FacingRight}, 90},

	{"front leg level, chest right", "hip-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {8, 0}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"front leg level, chest left", "hip-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {-8, 0}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"leg behind by 45", "hip-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {-8, -8}}, geometry.Options{Facing: geometry.FacingRight}, -45},
	{"needle: leg 10 past the trunk's line", "hip-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {-8 * tan(10), 8}}, geometry.Options{Facing: geometry.FacingRight}, 190},
	{"knee for want of an ankle", "hip-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "knee": {4, 4}}, geometry.Options{Facing: geometry.FacingRight}, 135},
	{"back leg level, chest right", "hip-extension", marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {-8, 0}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"on the bench's edge, face up, head right, thigh 10 below the trunk's line", "hip-extension", marks{"shoulder": {5, 0}, "hip": {0, 0}, "knee": {-4, -4 * tan(10)}}, geometry.Options{Facing: geometry.FacingUp}, 10},

	{"legs as high as each other", "uneven-legs", marks{"hip": {0, 0}, "front-ankle": {8, 2}, "back-ankle": {-8, 2}}, geometry.Options{}, 0},
	{"front leg level, back leg 45 below, to the right", "uneven-legs", marks{"hip": {0, 0}, "front-ankle": {8, 0}, "back-ankle": {-8, -8}}, geometry.Options{}, 45},
	{"the same to the left", "uneven-legs", marks{"hip": {0, 0}, "front-ankle": {-8, 0}, "back-ankle": {8, -8}}, geometry.Options{}, 45},
	{"back leg 10 above, front leg 45 below", "uneven-legs", marks{"hip": {0, 0}, "front-ankle": {8, -8}, "back-ankle": {-8, 8 * tan(10)}}, geometry.Options{}, -55},
	{"straddle, right leg 45 higher, two hips", "uneven-legs", marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, 0}, "left-ankle": {9, -8}}, geometry.Options{}, 45},

	{"straight trunk", "trunk-arch", marks{"hip": {0, 0}, "ribs": {0, 3}, "shoulder": {0, 6}}, geometry.Options{Facing: geometry.FacingRight}, 0},
	{"arched by 20, chest right", "trunk-arch", marks{"hip": {0, 0}, "ribs": {0, 3}, "shoulder": {-3 * tan(20), 6}}, geometry.Options{Facing: geometry.FacingRight}, 20},
	{"arched by 20, chest left", "trunk-arch", marks{"hip": {0, 0}, "ribs": {0, 3}, "shoulder": {3 * tan(20), 6}}, geometry.Options{Facing: geometry.FacingLeft}, 20},
	{"rounded by 20 in a handstand, chest right", "trunk-arch", marks{"hip": {0, 6}, "ribs": {0, 3}, "shoulder": {3 * tan(20), 0}}, geometry.Options{Facing: geometry.FacingRight}, -20},

	// Two equal halves of the trunk, the upper one leaning back by 20: the line from
	// shoulder to hip leans by 10, half of it (an isosceles triangle). An arm 20 short
	// of overhead against the ribs is 10 short against the whole trunk.
	{"arched trunk, against the ribs", "shoulder-flexion-from-ribs", arched, geometry.Options{Facing: geometry.FacingRight}, 160},
	{"arched trunk, against the whole", "shoulder-flexion", arched, geometry.Options{Facing: geometry.FacingRight}, 170},

	{"left foot sickled by 45, from the front", "foot-sickle", marks{"left-knee": {0, 4}, "left-ankle": {0, 0}, "left-toe": {-2, -2}}, geometry.Options{Facing: geometry.FacingCamera}, 45},
	{"right foot sickled by 45, from the front", "foot-sickle", marks{"right-knee": {0, 4}, "right-ankle": {0, 0}, "right-toe": {2, -2}}, geometry.Options{Facing: geometry.FacingCamera}, 45},
	{"left foot sickled by 45, from behind", "foot-sickle", marks{"left-knee": {0, 4}, "left-ankle": {0, 0}, "left-toe": {2, -2}}, geometry.Options{Facing: geometry.FacingAway}, 45},
	{"left foot turned out by 45, from the front", "foot-sickle", marks{"left-knee": {0, 4}, "left-ankle": {0, 0}, "left-toe": {2, -2}}, geometry.Options{Facing: geometry.FacingCamera}, -45},
	{"left foot, said by the option, in a handstand from the front", "foot-sickle", marks{"knee": {0, -4}, "ankle": {0, 0}, "toe": {2, 2}}, geometry.Options{Facing: geometry.FacingCamera, Side: geometry.Left}, 45},

	{"straight arm", "elbow-bend", marks{"shoulder": {0, 0}, "elbow": {3, 0}, "wrist": {6, 0}}, geometry.Options{}, 0},
	{"bent up", "elbow-bend", marks{"shoulder": {0, 0}, "elbow": {3, 0}, "wrist": {6, 3}}, geometry.Options{}, 45},
	{"bent down", "elbow-bend", marks{"shoulder": {0, 0}, "elbow": {3, 0}, "wrist": {6, -3}}, geometry.Options{}, 45},
	{"folded", "elbow-bend", marks{"shoulder": {0, 0}, "elbow": {3, 0}, "wrist": {1, 0}}, geometry.Options{}, 180},

	{"flat foot, facing right", "foot-point", marks{"knee": {0, 4}, "ankle": {0, 0}, "toe": {2, 0}}, geometry.Options{Facing: geometry.FacingRight}, 90},
	{"flat foot, facing left", "foot-point", marks{"knee": {0, 4}, "ankle": {0, 0}, "toe": {-2, 0}}, geometry.Options{Facing: geometry.FacingLeft}, 90},
	{"pointed past the shin by 10, facing right", "foot-point", marks{"knee": {0, 4}, "ankle": {0, 0}, "toe": {-2 * tan(10), -2}}, geometry.Options{Facing: geometry.FacingRight}, 190},
	{"flat foot with no facing: the smaller angle", "foot-point", marks{"knee": {0, 4}, "ankle": {0, 0}, "toe": {-2, 0}}, geometry.Options{}, 90},
	{"handstand, toe pointed past by 10, chest right", "foot-point", marks{"shoulder": {0, -9}, "hip": {0, -4}, "knee": {0, 0}, "ankle": {0, 4}, "toe": {-2 * tan(10), 6}}, geometry.Options{Facing: geometry.FacingRight}, 190},

	{"handstand", "off-vertical", marks{"wrist": {0, 0}, "ankle": {0, 20}}, geometry.Options{}, 0},
	{"handstand leaning 30 right", "off-vertical", marks{"wrist": {0, 0}, "ankle": {20 * tan(30), 20}}, geometry.Options{}, 30},
	{"handstand leaning 30 left", "off-vertical", marks{"wrist": {0, 0}, "ankle": {-20 * tan(30), 20}}, geometry.Options{}, 30},
	{"hang", "off-vertical", marks{"wrist": {0, 20}, "ankle": {0, 0}}, geometry.Options{}, 180},
	{"hip for want of a wrist", "off-vertical", marks{"hip": {0, 0}, "ankle": {8, 8}}, geometry.Options{}, 45},

	{"leg level, right", "leg-rise", marks{"hip": {0, 0}, "ankle": {8, 0}}, geometry.Options{}, 0},
	{"leg level, left", "leg-rise", marks{"hip": {0, 0}, "ankle": {-8, 0}}, geometry.Options{}, 0},
	{"raised 45, right", "leg-rise", marks{"hip": {0, 0}, "ankle": {8, 8}}, geometry.Options{}, 45},
	{"raised 45, left", "leg-rise", marks{"hip": {0, 0}, "ankle": {-8, 8}}, geometry.Options{}, 45},
	{"lowered 45, left", "leg-rise", marks{"hip": {0, 0}, "ankle": {-8, -8}}, geometry.Options{}, -45},
	{"straight down", "leg-rise", marks{"hip": {0, 0}, "ankle": {0, -8}}, geometry.Options{}, -90},
	{"thigh raised 45, shank hanging", "leg-rise", marks{"hip": {0, 0}, "knee": {4, 4}, "ankle": {4, 0}}, geometry.Options{Leg: geometry.Thigh}, 45},

	// Seen from the front the athlete's right is on the picture's left.
	{"straddle from the front", "leg-separation", marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, -8}, "left-ankle": {9, -8}}, geometry.Options{}, 90},
	{"straddle from behind", "leg-separation", marks{"right-hip": {1, 0}, "left-hip": {-1, 0}, "right-ankle": {9, -8}, "left-ankle": {-9, -8}}, geometry.Options{}, 90},
	{"legs crossed by 2 x 10, from the front", "leg-separation", marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-1 + 8*tan(10), -8}, "left-ankle": {1 - 8*tan(10), -8}}, geometry.Options{}, -20},
	{"handstand straddle from the front", "leg-separation", marks{"right-hip": {1, 0}, "left-hip": {-1, 0}, "right-ankle": {9, 8}, "left-ankle": {-9, 8}}, geometry.Options{}, 90},
	{"handstand straddle from behind", "leg-separation", marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, 8}, "left-ankle": {9, 8}}, geometry.Options{}, 90},
	{"full straddle in a handstand, one shoulder marked", "leg-separation", marks{"shoulder": {0, -5}, "right-hip": {1, 0}, "left-hip": {-1, 0}, "right-ankle": {9, 8 * tan(2)}, "left-ankle": {-9, 8 * tan(2)}}, geometry.Options{}, 176},
	{"over-split straddle, each leg 5 above level", "leg-separation", marks{"shoulder": {0, 5}, "right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, 8 * tan(5)}, "left-ankle": {9, 8 * tan(5)}}, geometry.Options{}, 190},
	{"the same with nothing but the hips: upright is assumed", "leg-separation", marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, 8 * tan(5)}, "left-ankle": {9, 8 * tan(5)}}, geometry.Options{}, 190},
	{"one hip, facing the camera", "leg-separation", marks{"hip": {0, 0}, "right-ankle": {-8, -8}, "left-ankle": {8, -8}}, geometry.Options{Facing: geometry.FacingCamera}, 90},
	{"one hip, facing away", "leg-separation", marks{"hip": {0, 0}, "right-ankle": {8, -8}, "left-ankle": {-8, -8}}, geometry.Options{Facing: geometry.FacingAway}, 90},
	{"one hip, crossed, facing away", "leg-separation", marks{"hip": {0, 0}, "right-ankle": {-8 * tan(10), -8}, "left-ankle": {8 * tan(10), -8}}, geometry.Options{Facing: geometry.FacingAway}, -20},
	{"knees apart", "leg-separation", marks{"hip": {0, 0}, "right-knee": {-4, -4}, "left-knee": {4, -4}}, geometry.Options{Facing: geometry.FacingCamera, Leg: geometry.Thigh}, 90},
}

func TestPoses(t *testing.T) {
	for _, c := range poses {
		t.Run(c.measure+"/"+c.name, func(t *testing.T) {
			got, _ := read(t, c.measure, c.at, c.opt)
			assert.InDelta(t, c.want, got.Degrees(), poseTolerance)
		})
	}
}

// Mirroring changes the facing and no angle.
func TestPosesMirrored(t *testing.T) {
	mirror := map[geometry.Facing]geometry.Facing{
		geometry.FacingLeft: geometry.FacingRight, geometry.FacingRight: geometry.FacingLeft,
		geometry.FacingCamera: geometry.FacingAway, geometry.FacingAway: geometry.FacingCamera,
	}
	for _, c := range poses {
		t.Run(c.measure+"/"+c.name, func(t *testing.T) {
			at := marks{}
			for name, p := range c.at {
				at[name] = geometry.Point{X: -p.X, Y: p.Y}
			}
			opt := c.opt
			if f, ok := mirror[opt.Facing]; ok {
				opt.Facing = f
			}
			got, _ := read(t, c.measure, at, opt)
			assert.InDelta(t, c.want, got.Degrees(), poseTolerance)
		})
	}
}

// Turning a picture by quarters turns the facing and changes no angle, except for measures
// against the vertical or horizontal and readings that assume an upright trunk.
func TestPosesTurnedByQuarters(t *testing.T) {
	quarter := map[geometry.Facing]geometry.Facing{
		geometry.FacingRight: geometry.FacingUp, geometry.FacingUp: geometry.FacingLeft,
		geometry.FacingLeft: geometry.FacingDown, geometry.FacingDown: geometry.FacingRight,
	}
	turned := 0
	for _, c := range poses {
		m, _ := geometry.Lookup(c.measure)
		_, b := read(t, c.measure, c.at, c.opt)
		if m.Level || slices.ContainsFunc(b.Assumptions(), assumesUpright) {
			continue
		}
		turned++
		at, opt := c.at, c.opt
		for range 3 {
			next := marks{}
			for name, p := range at {
				next[name] = geometry.Point{X: -p.Y, Y: p.X}
			}
			at = next
			if f, ok := quarter[opt.Facing]; ok {
				opt.Facing = f
			}
			got, _ := read(t, c.measure, at, opt)
			assert.InDelta(t, c.want, got.Degrees(), poseTolerance, "%s, %s", c.measure, c.name)
		}
	}
	require.Greater(t, turned, len(poses)/2)
}

func assumesUpright(assumption string) bool { return strings.Contains(assumption, "upright") }

// Each assumption made is reported.
func TestPosesAssumptions(t *testing.T) {
	for _, c := range []struct{ measure, pose, word string }{
		{"hip-split", "over-split with no shoulder, upright", "upright"},
		{"shoulder-flexion", "wrist for want of an elbow", "wrist"},
		{"pike", "knee for want of an ankle", "knee"},
		{"knee-bend", "straight knee", "upright"},
		{"foot-point", "flat foot with no facing: the smaller angle", "smaller"},
		{"off-vertical", "hip for want of a wrist", "hip"},
		{"leg-separation", "the same with nothing but the hips: upright is assumed", "upright"},
		{"leg-separation", "one hip, facing away", "one hip"},
	} {
		i := slices.IndexFunc(poses, func(p pose) bool {
			return p.measure == c.measure && p.name == c.pose
		})
		require.GreaterOrEqual(t, i, 0, c.pose)
		_, b := read(t, c.measure, poses[i].at, poses[i].opt)
		require.Len(t, b.Assumptions(), 1, c.pose)
		assert.Contains(t, b.Assumptions()[0], c.word)
	}
}
