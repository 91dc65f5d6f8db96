package movement

// conditionCard is the part of a card that depends on the condition alone.
type conditionCard struct{ condition, what, who, load, spoils string }

var conditionCards = []conditionCard{
	{Passive, "how far a helper or gravity takes the limb, its own muscles at rest",
		"a helper, or gravity; the athlete lets go. Always the same helper, if there is one",
		"slowly to the first firm end, where the pelvis or the trunk would begin to move, and held there 2 seconds. The same push every time: the same helper, or the same weight hung at the same place",
		"the athlete helps, or pulls against it; the helper pushes once further, or once less"},
	{Active, "how far own strength takes the limb and holds it",
		"the athlete alone, slowly and without a swing",
		"held still for 2 seconds: the frame is one of these. Nothing carries the limb, neither a hand nor the floor",
		"a swing brings it there, and the frame is of the swing; another part of the body leans to make up for it"},
	{InSkill, "how far the limb goes in the element itself",
		"the athlete, in the element, as it is done in training",
		"the same element, run-up and surface. The frame is the widest moment, which need not be the top of the flight",
		"too few frames a second, so that the widest moment falls between two; the athlete passes the camera at an angle"},
	{Swung, "how far the limb goes when it is thrown: its own speed takes part, and the widest moment is not held",
		"the athlete, with a swing from the same starting position",
		"the same swing: the same start, and as fast as it can be controlled. The frame is the widest moment",
		"a swing that starts from further back; a body that sways with it"},
}

// measureCard is the part of a card that depends on the measure.
type measureCard struct {
	measure, title             string
	what                       map[string]string // by condition, where the measure defines it more closely
	position, source           string            // in the usual position
	camera                     string
	landmarks, landmarksSource string
	spoils                     string
}

const (
	fromTheSide  = "Square to the plane in which the limb moves, the lens at the height of the joint."
	fromTheFront = "Square to the plane in which the legs open, the lens at the height of the hips."
	bony         = "Feel it with the fingers, put a sticker on it, and look once more after the limb has moved: skin slides over bone"
)

var measureCards = []measureCard{
	{measure: "hip-split", title: "hip split",
		what: map[string]string{
			Passive: "passive split: how far the legs open with the muscles at rest, sunk into the split by own weight or brought there by a helper. A split on a level floor cannot pass flat, so it caps the passive range at 180: the reading then says “at least”. With the front foot raised, on a block, it can show more",
			Active:  "active split: how far own strength opens the legs and holds them, with nothing under them and no hand on them",
		},
		position: "trunk upright and square to the front, knees straight, the back hip not turned out more than the take before. The leg in front is the side: it is said with the take",
		camera:   fromTheSide, source: ownDefinition,
		landmarks: "hip: greater trochanter; front and back leg: lateral malleolus, or the lateral epicondyle of the knee where the thigh is read; shoulder: to say where the trunk is; the other hip as well, as front-hip or back-hip, where it can be seen: it shows whether the hips are open. " + bony, landmarksSource: "no standard definition of a split was found: a definition of this program",
		spoils: "the pelvis opens to the camera; a knee bends; the trunk leans over the front leg; the foot of one leg is on something and that of the next take is not"},
	{measure: "shoulder-flexion", title: "shoulder flexion",
		position: "lying on the back, knees bent, lower back on the floor; or standing with the back at a wall. Arm straight up past the ear, thumb as in the take before", source: Practice,
		camera:    fromTheSide,
		landmarks: "shoulder: greater tubercle (the lateral end of the acromion is used in teaching); trunk: along its side to the greater trochanter; arm: lateral epicondyle of the elbow. " + bony, landmarksSource: norkin,
		spoils: "the ribs lift and the lower back arches, which reads as shoulder; the elbow bends; the trunk turns to the camera"},
	{measure: "leg-separation", title: "leg separation",
		position: "seated upright, or standing in a straddle, knees straight and to the ceiling; the same in every take", source: Practice,
		camera:    fromTheFront,
		landmarks: "both hips: the front of the hip bone (anterior superior iliac spine) or one mark between; both ankles: middle of the joint. " + bony, landmarksSource: ownDefinition,
		spoils: "one leg nearer to the camera than the other; the pelvis tips back; the knees roll in"},
	{measure: "shoulder-extension", title: "shoulder extension",
		position: "standing with the back at nothing, or lying on the front, forehead on the floor. Arm straight behind, palms as in the take before", source: Practice,
		camera:    fromTheSide,
		landmarks: "shoulder: greater tubercle; trunk: along its side to the greater trochanter; arm: lateral epicondyle. " + bony, landmarksSource: norkin,
		spoils: "the trunk leans forward or the shoulders roll to the front; the elbow bends"},
	{measure: "pike", title: "pike",
		position: "seated with straight knees, feet as in the take before, the trunk folded over the legs from the hips", source: Practice,
		camera:    fromTheSide,
		landmarks: "hip: greater trochanter; trunk: the shoulder (greater tubercle); leg: lateral malleolus. " + bony, landmarksSource: ownDefinition,
		spoils: "a round back, which brings the shoulder to the legs without the hips; a knee that bends; hands that pull in one take and not in the next"},
	{measure: "hip-flexion", title: "hip flexion",
		position: "lying on the back, the other leg flat on the floor, the leg brought to the chest; or standing, the trunk upright. The same in every take", source: Practice,
		camera:    fromTheSide,
		landmarks: "trunk: the shoulder (greater tubercle); hip: greater trochanter; thigh: lateral epicondyle of the knee. " + bony, landmarksSource: ownDefinition,
		spoils: "the pelvis tips or the back rounds, which reads as hip; the other leg leaves the floor"},
	{measure: "hip-extension", title: "hip extension",
		position: "lying on the back at the edge of a table, the other thigh held to the chest so that the lower back stays flat, the leg hanging; or lying on the front. The same in every take", source: Practice,
		camera:    fromTheSide,
		landmarks: "trunk: the shoulder (greater tubercle); hip: greater trochanter; thigh: lateral epicondyle of the knee. " + bony, landmarksSource: ownDefinition,
		spoils: "the lower back arches, which reads as hip; the leg opens to the side"},
	{measure: "uneven-legs", title: "uneven legs",
		position: "as in the element: a split leap or a split held in the air", source: Practice,
		camera:    fromTheSide,
		landmarks: "hip: greater trochanter; front and back leg: lateral malleolus. A level line in the picture is marked. " + bony, landmarksSource: ownDefinition,
		spoils: "a camera that is not level: its tilt is in the angle; a knee that bends"},
	{measure: "trunk-arch", title: "trunk arch",
		position: "as in the take of which the arch is asked: the arm overhead, or a bridge", source: Practice,
		camera:    "Square to the side of the trunk, the lens at the height of the ribs.",
		landmarks: "shoulder: greater tubercle; the lowest ribs at the side; hip: greater trochanter. " + bony, landmarksSource: ownDefinition,
		spoils: "an arm that hides the ribs; loose clothing over them"},
	{measure: "shoulder-flexion-from-ribs", title: "shoulder flexion from the ribs",
		position: "as for shoulder flexion, with the lowest ribs marked as well", source: Practice,
		camera:    fromTheSide,
		landmarks: "shoulder: greater tubercle; the lowest ribs at the side; arm: lateral epicondyle of the elbow. " + bony, landmarksSource: ownDefinition,
		spoils: "an arm that hides the ribs; the elbow bends; the trunk turns to the camera"},
	{measure: "foot-sickle", title: "foot sickle",
		position: "seated or standing, the foot pointed, the shin straight to the camera", source: Practice,
		camera:    "From the front of the shin, the lens at the height of the ankle, the foot filling a third of the picture.",
		landmarks: "knee: middle of the kneecap; ankle: middle between the malleoli; toe: the tip of the same toe. " + bony, landmarksSource: ownDefinition,
		spoils: "the leg turns, which reads as a sickled foot; the toes curl"},
	{measure: "leg-rise", title: "leg rise",
		position: "standing on a straight leg, trunk upright, the raised knee straight. Keep it with its direction as the position: front, side or back", source: Practice,
		camera:    "Square to the plane in which the leg is raised: from the side for front and back, from the front for the side. A level line in the picture, such as the floor's edge, is marked.",
		landmarks: "hip: greater trochanter (from the front: the front of the hip bone); leg: lateral malleolus. " + bony, landmarksSource: ownDefinition,
		spoils: "the pelvis lifts or the trunk leans; the camera is not level; past straight up the angle grows smaller again"},
	{measure: "foot-point", title: "foot point",
		position: "seated or lying, the knee as in the take before, the foot free over an edge; the toes as in the take before", source: Practice,
		camera:    "Square to the shin, the lens at the height of the ankle, the foot filling a third of the picture.",
		landmarks: "knee: head of the fibula; ankle: lateral malleolus; toe: the tip of the same toe. " + bony, landmarksSource: ownDefinition,
		spoils: "the foot rolls in or out (sickled); the toes curl; the knee moves"},
	{measure: "knee-bend", title: "knee bend",
		position: "as in the element, or lying; the thigh supported alike", source: Practice,
		camera:    fromTheSide,
		landmarks: "hip: greater trochanter; knee: lateral epicondyle; ankle: lateral malleolus. " + bony, landmarksSource: ownDefinition,
		spoils: "the leg turns, so that the knee looks to the camera; loose clothing over the knee"},
	{measure: "elbow-bend", title: "elbow bend",
		position: "as in the element; the upper arm supported alike", source: Practice,
		camera:    "Square to the plane of the arm, the lens at the height of the elbow.",
		landmarks: "shoulder: greater tubercle; elbow: lateral epicondyle; wrist: middle of the joint. " + bony, landmarksSource: ownDefinition,
		spoils: "the arm turns out of the plane of the picture"},
	{measure: "off-vertical", title: "off vertical",
		position: "as in the element: a handstand, a hang, or a cast", source: Practice,
		camera:    "Square to the plane of the movement, the lens at the height of the hips, level: a plumb line in the picture, such as an upright of the bars, is marked.",
		landmarks: "wrist: middle of the joint; ankle: lateral malleolus. " + bony, landmarksSource: ownDefinition,
		spoils: "a camera that is not level: its tilt is in the angle degree for degree; a body that bends between wrist and ankle"},
}

// positions are the positions of variants, by measure and name.
var positions = map[string]string{
	"leg-rise front":                      "standing on a straight leg, trunk upright; the other leg to the front, knee straight, pelvis level",
	"leg-rise side":                       "standing on a straight leg, trunk upright; the other leg to the side, knee straight, turned out as in the take before, pelvis level",
	"leg-rise back":                       "standing on a straight leg; the other leg to the back, knee straight, hip not opened; the trunk as upright as in the take before",
	"shoulder-flexion bridge":             "a bridge with the hands and the feet on the floor, arms straight, hands and feet as far apart as in the take before; which way the chest faces is up",
	"shoulder-flexion bridge-feet-raised": "a bridge with the feet on a box, as high as in the take before (knee height is usual), the hands on the floor, arms straight; which way the chest faces is up",
	"shoulder-flexion arm-turned-out":     "lying on the back, knees bent, lower back on the floor; the arm overhead, turned out: the thumb to the floor",
	"shoulder-flexion arm-turned-in":      "lying on the back, knees bent, lower back on the floor; the arm overhead, turned in: the thumb to the ceiling",
	"shoulder-flexion back-flat":          "back at a wall or on the floor, knees bent, the lower back kept against it the whole time; a hand behind it feels that it stays",
	"shoulder-flexion back-free":          "back at a wall or on the floor, knees bent; the lower back may leave it",
	"shoulder-flexion elbow-straight":     "lying on the back, lower back on the floor; the arm overhead, elbow straight",
	"shoulder-flexion elbow-bent":         "lying on the back, lower back on the floor; the upper arm overhead, the elbow bent until it stops, hand to the shoulder",
	"hip-flexion knee-straight":           "lying on the back, the other leg flat on the floor; the thigh is brought to the chest with the knee straight. Marks: shoulder, hip, knee; read from the thigh",
	"hip-flexion knee-bent":               "lying on the back, the other leg flat on the floor; the thigh is brought to the chest with the knee bent. Marks: shoulder, hip, knee; read from the thigh",
	"hip-extension knee-straight":         "lying on the back at the edge of a table, the other thigh held to the chest so that the lower back stays flat; the leg hangs, the knee held straight. Marks: shoulder, hip, knee; read from the thigh",
	"hip-extension knee-bent":             "lying on the back at the edge of a table, the other thigh held to the chest so that the lower back stays flat; the leg hangs, the knee bent to 90 degrees or until it stops. Marks: shoulder, hip, knee; read from the thigh",
	"foot-point knee-straight":            "lying, knee straight, the foot free over the edge, the toes drawn up towards the shin",
	"foot-point knee-bent":                "lying, the knee bent to 90 degrees over a roll, the foot free over the edge, the toes drawn up towards the shin",
	"leg-separation seated":               "seated upright, legs apart, knees straight and to the ceiling, both seat bones on the floor",
	"leg-separation lying":                "lying on the back, seat at a wall, legs up along it and apart, knees straight; their own weight opens them",
}
