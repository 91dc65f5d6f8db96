package geometry

import "strings"

// Measure is a defined angle between two body lines, counted through a stated side
// of the body.
type Measure struct {
	Name     string   // as typed: "hip-split"
	Title    string   // as printed: "hip split"
	Plane    string   // the plane of motion it belongs to; "" for any
	About    string   // one sentence: which lines, through which side
	Needs    []string // the landmarks, with alternatives written as "elbow or wrist"
	Optional []string // landmarks that decide a side or add a figure
	Range    Range    // where Angle lies

	// Magnitude means that the sign carries no information: Bind chooses it so that the
	// angle at the marks is not negative, and a rule's band is compared with the
	// absolute value.
	Magnitude bool
	// OneWay means that a negative angle is a different thing, not a smaller amount of
	// the same (knee-bend: hyper-extension): an upper limit does not apply to it.
	OneWay bool
	// Facing means that the measure needs Options.Facing.
	Facing bool
	// Level means that one of the two lines is the vertical or the horizontal.
	Level bool

	leg      bool      // Options.Leg exchanges ankle and knee
	lineSets []lineSet // the sets of lines, in order of preference
	side     rule      // decides the sense of the angle
}

// EitherWay returns the measure of the unsigned angle (0 to 180 degrees), for use where
// nothing decides to which side the angle opens.
func (m Measure) EitherWay() Measure {
	m.Magnitude, m.OneWay, m.Facing, m.side = true, false, false, smallerAngle
	return m
}

// Knees returns the names of the knee marks on the measure's hip-to-ankle lines, with
// which a bent knee can be detected; none if the measure uses no whole leg.
func (m Measure) Knees() []string {
	var out []string
	for _, s := range m.lineSets[0].lines {
		if m.leg && strings.HasSuffix(s.from, "hip") && strings.HasSuffix(s.to, "ankle") {
			out = append(out, strings.Replace(s.to, "ankle", "knee", 1))
		}
	}
	return out
}

// lineSet is one choice of the two lines. A landmark without a side prefix can be read from
// a left-, right-, front- or back- mark, unless plain is set.
type lineSet struct {
	lines [2]bodyLine
	plain bool
	note  string // the assumption that comes with these lines
}

// bodyLine is a line from one landmark to another, or from one along up or level.
// mirrored stands for the line's mirror image in the vertical.
type bodyLine struct {
	from, to string
	mirrored bool
}

const (
	up    = "up"    // straight up
	level = "level" // the horizontal on the side that the rule chooses
)

// catalogue lists every measure. Adding a measure takes one entry here and no other
// change.
var catalogue = []Measure{
	{
		Name: "hip-split", Title: "hip split", Plane: "sagittal",
		About: "hip to front ankle and hip to back ankle (knees for the thigh), through the side away from the trunk: 180 is a full split, more an over-split",
		Needs: []string{"hip", "front-ankle", "back-ankle"}, Optional: []string{"shoulder", "front-hip", "back-hip"},
		Range: fromZero, leg: true, side: awayFromTrunk,
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"hip", "front-ankle", false}, {"hip", "back-ankle", false}}},
			{lines: [2]bodyLine{{"hip", "right-ankle", false}, {"hip", "left-ankle", false}}},
		},
	},
	{
		Name: "shoulder-flexion", Title: "shoulder flexion", Plane: "sagittal",
		About: "shoulder to hip and shoulder to elbow (or wrist), through the front of the body: 0 hanging, 180 overhead, more is past the ear",
		Needs: []string{"shoulder", "hip", "elbow or wrist"}, Optional: []string{"ribs"},
		Range: fromZero, Facing: true, side: throughFront,
		lineSets: arm,
	},
	{
		Name: "leg-separation", Title: "leg separation", Plane: "frontal, or the plane the legs open in",
		About: "right hip to right ankle and left hip to left ankle (or both from one hip mark), through the side away from the trunk: crossed legs are negative",
		Needs: []string{"right-hip and left-hip, or hip", "right-ankle", "left-ankle"}, Optional: []string{"right-shoulder", "left-shoulder"},
		Range: openLegs, OneWay: true, leg: true, side: rightToLeft,
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"right-hip", "right-ankle", false}, {"left-hip", "left-ankle", false}}},
			{lines: [2]bodyLine{{"hip", "right-ankle", false}, {"hip", "left-ankle", false}}, plain: true, note: "one hip mark: both legs are read from it"},
		},
	},
	{
		Name: "shoulder-extension", Title: "shoulder extension", Plane: "sagittal",
		About: "shoulder to hip and shoulder to elbow (or wrist), through the back of the body: 0 hanging, 90 straight behind",
		Needs: []string{"shoulder", "hip", "elbow or wrist"},
		Range: fromZero, Facing: true, side: throughBack,
		lineSets: arm,
	},
	{
		Name: "pike", Title: "pike", Plane: "sagittal",
		About: "hip to shoulder and hip to ankle (knee for the thigh), through the front of the body: 180 is straight, less is folded, more is arched",
		Needs: []string{"hip", "shoulder", "ankle or knee"},
		Range: fromZero, Facing: true, leg: true, side: throughBack, // from the shoulder down, the front is the other way round
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"hip", "shoulder", false}, {"hip", "ankle", false}}},
			{lines: [2]bodyLine{{"hip", "shoulder", false}, {"hip", "knee", false}}, note: "no ankle mark: the leg is read from hip to knee"},
		},
	},
	{
		Name: "hip-flexion", Title: "hip flexion", Plane: "sagittal",
		About: "the line of the trunk, shoulder to hip, and hip to ankle (knee for the thigh), through the front of the body: 0 is straight, a leg in front is positive, one behind negative",
		Needs: []string{"shoulder", "hip", "ankle or knee"},
		Range: openLegs, OneWay: true, Facing: true, leg: true, side: throughFront,
		lineSets: legOnTrunk,
	},
	{
		Name: "hip-extension", Title: "hip extension", Plane: "sagittal",
		About: "the line of the trunk, shoulder to hip, and hip to ankle (knee for the thigh), through the back of the body: 0 is straight, a leg behind is positive, one in front negative; what the back arches counts in it",
		Needs: []string{"shoulder", "hip", "ankle or knee"}, Optional: []string{"front-hip"},
		Range: openLegs, OneWay: true, Facing: true, leg: true, side: throughBack,
		lineSets: legOnTrunk,
	},
	{
		Name: "knee-bend", Title: "knee bend", Plane: "sagittal",
		About: "hip to knee and knee to ankle: 0 is straight, a bend is positive, hyper-extension negative",
		Needs: []string{"hip", "knee", "ankle"}, Optional: []string{"shoulder"},
		Range: aboutZero, OneWay: true, Facing: true, side: throughBack,
		lineSets: []lineSet{{lines: [2]bodyLine{{"hip", "knee", false}, {"knee", "ankle", false}}}},
	},
	{
		Name: "elbow-bend", Title: "elbow bend",
		About: "shoulder to elbow and elbow to wrist: 0 is straight, either way of bending counts alike",
		Needs: []string{"shoulder", "elbow", "wrist"},
		Range: aboutZero, Magnitude: true, side: smallerAngle,
		lineSets: []lineSet{{lines: [2]bodyLine{{"shoulder", "elbow", false}, {"elbow", "wrist", false}}}},
	},
	{
		Name: "foot-point", Title: "foot point", Plane: "sagittal",
		About: "ankle to knee and ankle to toe, through the front of the shin: 90 is a flat foot, 180 the toe in line with the shin, more is past it",
		Needs: []string{"knee", "ankle", "toe"}, Optional: []string{"hip", "shoulder"},
		Range: fromZero, side: throughShin,
		lineSets: []lineSet{{lines: [2]bodyLine{{"ankle", "knee", false}, {"ankle", "toe", false}}}},
	},
	{
		Name: "off-vertical", Title: "off vertical",
		About: "wrist to ankle (or hip to ankle) against straight up: 0 is a handstand, 180 a hang, either side counts alike",
		Needs: []string{"wrist or hip", "ankle"},
		Range: aboutZero, Magnitude: true, Level: true, side: smallerAngle,
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"wrist", up, false}, {"wrist", "ankle", false}}},
			{lines: [2]bodyLine{{"hip", up, false}, {"hip", "ankle", false}}, note: "no wrist mark: the body is read from hip to ankle"},
		},
	},
	{
		Name: "leg-rise", Title: "leg rise",
		About: "hip to ankle (knee for the thigh) against the horizontal on the leg's own side: 0 is level, above is positive, below negative",
		Needs: []string{"hip", "ankle"},
		Range: aboutZero, Level: true, leg: true, side: aboveLevel,
		lineSets: []lineSet{{lines: [2]bodyLine{{"hip", level, false}, {"hip", "ankle", false}}}},
	},
	{
		Name: "uneven-legs", Title: "uneven legs",
		About: "hip to front ankle, mirrored in the vertical, and hip to back ankle (knees for the thigh; right for front where legs are marked right and left): 0 is both as high, positive the front leg higher",
		Needs: []string{"hip", "front-ankle", "back-ankle"},
		Range: aboutZero, Level: true, leg: true, side: firstHigher,
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"hip", "front-ankle", true}, {"hip", "back-ankle", false}}},
			{lines: [2]bodyLine{{"right-hip", "right-ankle", true}, {"left-hip", "left-ankle", false}}},
			{lines: [2]bodyLine{{"hip", "right-ankle", true}, {"hip", "left-ankle", false}}},
		},
	},
	{
		Name: "trunk-arch", Title: "trunk arch", Plane: "sagittal",
		About: "hip to lowest ribs and lowest ribs to shoulder: 0 is straight, arched back is positive, rounded forwards negative",
		Needs: []string{"hip", "ribs", "shoulder"},
		Range: aboutZero, OneWay: true, Facing: true, side: throughFront,
		lineSets: []lineSet{{lines: [2]bodyLine{{"hip", "ribs", false}, {"ribs", "shoulder", false}}}},
	},
	{
		Name: "shoulder-flexion-from-ribs", Title: "shoulder flexion from ribs", Plane: "sagittal",
		About: "shoulder to lowest ribs and shoulder to elbow (or wrist), through the front of the body: shoulder flexion that an arched back adds less to, 180 overhead",
		Needs: []string{"shoulder", "ribs", "elbow or wrist"}, Optional: []string{"hip"},
		Range: fromZero, Facing: true, side: throughFront,
		lineSets: []lineSet{
			{lines: [2]bodyLine{{"shoulder", "ribs", false}, {"shoulder", "elbow", false}}},
			{lines: [2]bodyLine{{"shoulder", "ribs", false}, {"shoulder", "wrist", false}}, note: "no elbow mark: the arm is read from shoulder to wrist, so a bent elbow counts in it"},
		},
	},
	{
		Name: "foot-sickle", Title: "foot sickle", Plane: "frontal",
		About: "knee to ankle and ankle to toe, seen from the front or from behind: 0 is straight, a foot turned inwards (sickled) is positive, outwards negative",
		Needs: []string{"knee", "ankle", "toe"},
		Range: aboutZero, OneWay: true, Facing: true, side: inwards,
		lineSets: []lineSet{{lines: [2]bodyLine{{"knee", "ankle", false}, {"ankle", "toe", false}}}},
	},
}

// legOnTrunk lists the two lines of the hip: along the trunk and along the leg.
var legOnTrunk = []lineSet{
	{lines: [2]bodyLine{{"shoulder", "hip", false}, {"hip", "ankle", false}}},
	{lines: [2]bodyLine{{"shoulder", "hip", false}, {"hip", "knee", false}}, note: "no ankle mark: the leg is read from hip to knee"},
}

// arm lists the two lines from the shoulder: down the trunk and along the arm.
var arm = []lineSet{
	{lines: [2]bodyLine{{"shoulder", "hip", false}, {"shoulder", "elbow", false}}},
	{lines: [2]bodyLine{{"shoulder", "hip", false}, {"shoulder", "wrist", false}}, note: "no elbow mark: the arm is read from shoulder to wrist, so a bent elbow counts in it"},
}

// Measures returns a copy of the catalogue, the most used measures first.
func Measures() []Measure { return append([]Measure(nil), catalogue...) }

// Lookup returns the measure of that name. If there is none, [Nearest] gives a
// suggestion.
func Lookup(name string) (Measure, bool) {
	for _, m := range catalogue {
		if m.Name == name {
			return m, true
		}
	}
	return Measure{}, false
}

// Landmarks returns every name that a mark can have: hip, shoulder, elbow, wrist,
// knee, ankle, toe and ribs, plain and with left-, right-, front- or back- in front.
func Landmarks() []string {
	var names []string
	for _, side := range append([]Side{""}, sides...) {
		for _, base := range []string{"hip", "shoulder", "elbow", "wrist", "knee", "ankle", "toe", "ribs"} {
			names = append(names, side.prefix()+base)
		}
	}
	return names
}
