package sheet

import (
	"golang.org/x/text/language"

	"ecart/cmd/internal/reading"
)

var english = speak(language.English, &words{
	lang: "en",

	measure: map[string]string{
		"hip-split": "hip split", "shoulder-flexion": "shoulder flexion", "shoulder-extension": "shoulder extension",
		"leg-separation": "leg separation", "pike": "pike", "knee-bend": "knee bend", "elbow-bend": "elbow bend",
		"foot-point": "foot point", "off-vertical": "off vertical", "leg-rise": "leg rise",
		"hip-flexion": "hip flexion", "hip-extension": "hip extension", "uneven-legs": "uneven legs", "trunk-arch": "trunk arch",
		"shoulder-flexion-from-ribs": "shoulder flexion from the ribs", "foot-sickle": "foot sickle",
	},
	source: map[string]string{
		reading.SourcePlacement:   "where the mark was put",
		reading.SourceLandmark:    "where the landmark is",
		reading.SourceLens:        "what the lens bends",
		reading.SourceLevel:       "camera not level",
		reading.SourceOblique:     "camera not square",
		reading.SourceDepth:       "the body is not flat",
		reading.SourcePerspective: "near things are bigger",
		reading.SourceTiming:      "which moment was caught",
	},
	known: map[string]string{
		"published":       "read in the source; check it against the edition in force",
		"second-hand":     "second-hand; not checked against the document in force",
		"common-practice": "common practice; no document says so",
		"from-memory":     "from memory; not checked against the document in force",
	},
	state: map[string]string{"cold": "cold", "warm": "warm", "after": "after the session"},

	frame: "frame %d", second: "%s s", take: "take %s",
	and:     "and",
	made:    "Made with écart on one machine. Nothing was sent anywhere.",
	covered: "The face is covered.",
	alt:     "The picture, with the two lines of the %[1]s drawn on it: %[2]s degrees.",

	judge: judgeWords{
		title:   "a judge's sheet",
		Reading: "the reading", Against: "against what is asked", Angle: "the angle, in degrees", Rule: "the rule, in our own words",
		Uncertain: "what makes it uncertain", Better: "what would have decided",

		straight: "straight off the picture %s°",
		asked:    "asked: %s",
		needed:   "To say that it is %[1]s, the angle would have to be known to ± %[2]s°; it is known to ± %[3]s°.",
		moment:   "One frame was read. The widest moment may lie on another frame, or between two: the clip, followed, tells.",

		Legend: [3]string{"measured: two lines; the wedge at each is its interval", "asked", "a mark, with the ellipse that holds its place in 95 of 100"},

		noSkill:   "No skill was named, so nothing is asked of this angle and no band can apply.",
		noSkillDo: "To have them here, read the frame with a skill (--skill NAME); “ecart rules” lists those there are.",
		noRule:    "The rule book %q is not at hand: section, notes and the day it was looked at are missing here.",
		over:      "over %s°", to: "up to %s°", from: "over %s° to %s°", meet: "not short", meetOff: "not off",
		Band: "short by", BandOff: "off by", Deduction: "deduction", Chance: "here",
		document: "document", edition: "edition", section: "section", seen: "looked at", source: "figures from", bandOrigin: "%[1]s: %[2]s",
		missed: "%s (the widest moment shows %s° to %s° more)", notIncluded: "Not counted: %s.", fewer: "%s more, each under 1 %% of it.",
		rests: "All this rests on figures that are taken for granted: how well landmarks are found, how bodies are built, how a camera stands. They were not tested on athletes.",
	},

	plain: addressed(plainWords{
		title: "what your picture shows",
		angle: map[string]string{
			"hip-split":                  "In this picture, your legs open to %s degrees.",
			"shoulder-flexion":           "In this picture, your arm is raised to %s degrees.",
			"shoulder-extension":         "In this picture, your arm reaches back to %s degrees.",
			"leg-separation":             "In this picture, your legs are %s degrees apart.",
			"pike":                       "In this picture, the angle at your hip is %s degrees.",
			"knee-bend":                  "In this picture, your knee bends by %s degrees.",
			"elbow-bend":                 "In this picture, your elbow bends by %s degrees.",
			"foot-point":                 "In this picture, the angle at your ankle is %s degrees.",
			"off-vertical":               "In this picture, your line is %s degrees away from straight up.",
			"leg-rise":                   "In this picture, your leg is %s degrees above level.",
			"hip-flexion":                "In this picture, your leg is %s degrees in front of the line of your body.",
			"hip-extension":              "In this picture, your leg is %s degrees behind the line of your body.",
			"uneven-legs":                "In this picture, your front leg is %s degrees higher than your back leg.",
			"trunk-arch":                 "In this picture, your back arches by %s degrees.",
			"shoulder-flexion-from-ribs": "In this picture, your arm is raised to %s degrees from the ribs.",
			"foot-sickle":                "In this picture, your foot turns in by %s degrees.",
		},
		below: map[string]string{
			"leg-rise":       "In this picture, your leg is %s degrees below level.",
			"leg-separation": "In this picture, your legs cross by %s degrees.",
			"knee-bend":      "In this picture, your knee goes %s degrees past straight.",
			"hip-flexion":    "In this picture, your leg is %s degrees behind the line of your body.",
			"hip-extension":  "In this picture, your leg is %s degrees in front of the line of your body.",
			"uneven-legs":    "In this picture, your back leg is %s degrees higher than your front leg.",
			"trunk-arch":     "In this picture, your back is rounded by %s degrees.",
			"foot-sickle":    "In this picture, your foot turns out by %s degrees.",
		},
		anyAngle:  "In this picture, the angle is %s degrees.",
		short:     "The skill asks for %[1]s degrees%[3]s; this picture shows about %[2]s less, give or take %[4]s.",
		meets:     "The skill asks for %[1]s degrees%[3]s, and you are there.",
		undecided: "The skill asks for %[1]s degrees%[3]s, and this picture cannot tell if you are there.",
		enough:    " (%s will do)",
		none:      "The skill asks for %[1]s degrees, and this picture cannot tell it from that.",
		away:      "The skill asks for %[1]s degrees; this picture shows about %[2]s away from that, give or take %[4]s.",
		more:      "The skill allows up to %[1]s degrees; this picture shows about %[2]s more, give or take %[4]s.",
		kept:      "The skill allows up to %[1]s degrees, and you are inside that.",
		notMore:   "The skill allows up to %[1]s degrees, and this picture cannot tell if you are inside that.",
		noSkill:   "No goal was set for this picture, so there is nothing to hold it against.",
		bent:      "A knee is bent in this picture. A judge counts that by itself.",
		sure:      "No picture is perfect: the true angle is within %[1]s degrees of that, 95 times out of 100, if the points were found as well as people usually find them.",
		off:       "give or take %s",
		key:       [3]string{"Red is what we measured. The red wedges show how far it may be off.", "The dashed line is what the skill asks for.", "Each small ring is a point that was marked."},

		CannotTitle: "what this page cannot say", CareTitle: "take care",
		cannot: []string{
			"One picture shows one moment. Your next try may look different.",
			"It does not say why the angle is what it is.",
			"It does not say how good you are.",
			"A judge may see it in another way.",
		},
		care: []string{
			"If it hurts, clicks or gives way: stop. Tell your coach, and see a doctor.",
			"This page measures. It does not tell you how to train. Ask your coach first.",
		},
		overSplit: "To go past a flat split is only for lessons with a trained coach.",
	}, func(w *plainWords) {
		w.title = "what this picture shows"
		w.angle = map[string]string{
			"hip-split":                  "In this picture, the legs open to %s degrees.",
			"shoulder-flexion":           "In this picture, the arm is raised to %s degrees.",
			"shoulder-extension":         "In this picture, the arm reaches back to %s degrees.",
			"leg-separation":             "In this picture, the legs are %s degrees apart.",
			"pike":                       "In this picture, the angle at the hip is %s degrees.",
			"knee-bend":                  "In this picture, the knee bends by %s degrees.",
			"elbow-bend":                 "In this picture, the elbow bends by %s degrees.",
			"foot-point":                 "In this picture, the angle at the ankle is %s degrees.",
			"off-vertical":               "In this picture, the line is %s degrees away from straight up.",
			"leg-rise":                   "In this picture, the leg is %s degrees above level.",
			"hip-flexion":                "In this picture, the leg is %s degrees in front of the line of the body.",
			"hip-extension":              "In this picture, the leg is %s degrees behind the line of the body.",
			"uneven-legs":                "In this picture, the front leg is %s degrees higher than the back leg.",
			"trunk-arch":                 "In this picture, the back arches by %s degrees.",
			"shoulder-flexion-from-ribs": "In this picture, the arm is raised to %s degrees from the ribs.",
			"foot-sickle":                "In this picture, the foot turns in by %s degrees.",
		}
		w.below = map[string]string{
			"leg-rise":       "In this picture, the leg is %s degrees below level.",
			"leg-separation": "In this picture, the legs cross by %s degrees.",
			"knee-bend":      "In this picture, the knee goes %s degrees past straight.",
			"hip-flexion":    "In this picture, the leg is %s degrees behind the line of the body.",
			"hip-extension":  "In this picture, the leg is %s degrees in front of the line of the body.",
			"uneven-legs":    "In this picture, the back leg is %s degrees higher than the front leg.",
			"trunk-arch":     "In this picture, the back is rounded by %s degrees.",
			"foot-sickle":    "In this picture, the foot turns out by %s degrees.",
		}
		w.meets = "The skill asks for %[1]s degrees%[3]s, and that is reached."
		w.undecided = "The skill asks for %[1]s degrees%[3]s, and this picture cannot tell if that is reached."
		w.kept = "The skill allows up to %[1]s degrees, and this is inside that."
		w.notMore = "The skill allows up to %[1]s degrees, and this picture cannot tell if this is inside that."
		w.cannot = []string{
			"One picture shows one moment. The next try may look different.",
			"It does not say why the angle is what it is.",
			"It does not say how good a child is, or how good a child will be.",
			"A judge may see it in another way.",
		}
		w.care = []string{
			"If it hurts, clicks or gives way: stop. Tell the coach, and see a doctor.",
			"This page measures. It does not say how to train. Please do not stretch a child at home to change the number.",
		}
	}),

	beside: pairWords{
		title: "side by side", first: "A", second: "B",
		Differ:        "do they differ",
		real:          "yes: by more than their uncertainty",
		realNot:       "not by more than their uncertainty",
		wider:         "B is larger than A by %[1]s°, ± %[2]s°.",
		narrower:      "B is smaller than A by %[1]s°, ± %[2]s°.",
		shared:        "Both have in common, so that it cancels in part: %s. Nothing shared, it would have to be ± %s°.",
		sharedNothing: "Nothing is known that both have in common, so nothing cancels.",
		scale:         "Both athletes are shown equally large, by the lengths that the marks tell.",
		noScale:       "The marks do not tell how large the athletes are: both are shown as they are in their frames.",
		level:         "Both pictures are turned level by what was marked as level.",
		asHeld:        "No level was marked in %s: it is shown as the camera was held.",
		cautions:      "It holds for the angles that were shown, not for how much an athlete differs from day to day.",
	},
})
