package sheet

import (
	"golang.org/x/text/language"

	"ecart/cmd/internal/reading"
)

var english = register(language.English, &words{
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
	and:      "and",
	colophon: "Made with écart on one machine. Nothing was sent anywhere.",
	covered:  "The face is covered.",
	alt:      "The picture, with the two lines of the %[1]s drawn on it: %[2]s degrees.",

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
		noSkillDo: "To have them here, read the frame with a skill of a rule book.",
		noRule:    "The rule book %q is not at hand: section, notes and the day it was looked at are missing here.",
		over:      "over %s°", to: "up to %s°", from: "over %s° to %s°", meet: "not short", meetOff: "not off",
		Band: "short by", BandOff: "off by", Deduction: "deduction", Chance: "here", Widths: "shoulder widths",
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
		widths:    "The rule looks at how far your legs are apart: here about %s shoulder widths.",
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

var kindEnglish = &kindWords{
	monthOf: [12]string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"},
	date:    "%[1]d %[2]s %[3]d",
	shows: map[Audience]map[string]string{
		Athlete: {
			"hip-split": "how far your legs open", "shoulder-flexion": "how high your arm goes", "shoulder-extension": "how far your arm goes back",
			"leg-separation": "how far your legs are apart", "pike": "the angle at your hip", "knee-bend": "how much your knee bends",
			"elbow-bend": "how much your elbow bends", "foot-point": "the angle at your ankle", "off-vertical": "how far your line is from straight up",
			"leg-rise": "how high your leg is", "hip-flexion": "how far your leg goes forward", "hip-extension": "how far your leg goes back",
			"uneven-legs": "how much higher one leg is", "trunk-arch": "how much your back arches", "shoulder-flexion-from-ribs": "how high your arm goes from the ribs",
			"foot-sickle": "how far your foot turns in",
		},
		Parent: {
			"hip-split": "how far the legs open", "shoulder-flexion": "how high the arm goes", "shoulder-extension": "how far the arm goes back",
			"leg-separation": "how far the legs are apart", "pike": "the angle at the hip", "knee-bend": "how much the knee bends",
			"elbow-bend": "how much the elbow bends", "foot-point": "the angle at the ankle", "off-vertical": "how far the line is from straight up",
			"leg-rise": "how high the leg is", "hip-flexion": "how far the leg goes forward", "hip-extension": "how far the leg goes back",
			"uneven-legs": "how much higher one leg is", "trunk-arch": "how much the back arches", "shoulder-flexion-from-ribs": "how high the arm goes from the ribs",
			"foot-sickle": "how far the foot turns in",
		},
	},

	months: monthsWords{
		title: "over the months", span: "%[1]s to %[2]s",
		Change: "the change", Days: "day by day", Sides: "left against right", Sessions: "before and after of one session",
		Kind: "readings", First: "first day", Last: "last day", Changed: "change", Smallest: "real from", Rate: "by the line",
		Day: "day", Angle: "angle", Takes: "readings",
		aMonth: "%s° a month", leftOut: "%[1]d left out: %[2]s.", moreDays: "%d days between are in the drawing.",
		step: "%[1]s, %[2]s to %[3]s: %[4]s°, %[5]s", moreSteps: "%d sessions before these are left out here.", real: "real", notReal: "not real under %s°",
		noSides: "left and right are not compared: %s", notKnown: "–",
	},
	screen: screenWords{
		title: "where the missing degrees are", Gaps: "the gaps", Looks: "what a screen looks at next",
		Gap: "gap", Means: "between", Lost: "degrees", There: "probability",
		LooksNote: "Common practice in halls, with no source: places to look, and no finding.",
		fromTo:    "%[1]s to %[2]s", side: "%s side", takes: "%d takes", take: "1 take",
	},
	contrast: contrastWords{
		title: "two takes that differ in one thing", Separates: "what the pair separates", Next: "what is looked at next", Cannot: "what it cannot say",
	},
	protocol: protocolWords{
		title: "how a take is made", Cares: "before anything else", Own: "set here, by hand",
		Blanks:    []string{"the camera's place and its set-up name", "how far away, and how high", "who helps", "the load, or where the push is", "warm-up", "which day of the week"},
		condition: map[string]string{"passive": "passive", "active": "active, held", "in-skill": "in the skill", "swung": "swung, not held"},
	},
	squad: squadWords{
		title: "the session", Where: "who is where",
		short: "Short of it: %s.", meets: "Meet it: %s.", undecided: "The pictures do not decide: %s.",
		gap: map[string]string{
			"range":   "Range, not reached even with help: %s.",
			"control": "Control, reached with help and not alone: %s.",
			"use":     "Use, reached alone and not in the skill: %s.",
		},
		rule: "Asked %[1]s by %[2]s: %[3]s.",
		page: "page %[1]d of %[2]d",
	},

	screens: screensWords{
		title: "where the missing degrees are", asked: "asked: %s°", largest: "largest: %s",
		Who: "athlete, side", Tell: "what is known, or would tell", Without: "without a screen",
		Key: "All figures are degrees, with the interval that holds 95 of 100. Below a gap: how probably there is one; in bold where it is shown. " +
			"Range: asked minus passive. Control: passive minus active. Use: active minus in-skill. Swing: swung minus active. ≥: a floor may have stopped the limb there.",
	},
	takes: takesWords{
		title: "takes to make", count: "%d takes", one: "1 take",
		Order: "One condition of all athletes, both sides, then the next: its place, camera and helper stay as they are. Each condition has a card, which says how its take is made.",
		Not:   "Whoever does not stand here has all conditions, and no further take would tell more.",
	},
	plan: planWords{
		title: "takes that find a change", asked: "a change of %[1]s° by %[2]s", key: "Each figure is the smallest change that is found in %s of 10 cases, in degrees; a dot is a way that finds the one asked for.",
		Takes: "takes a day", Not: "One rater, one set-up, both named with every take.",
	},
	group: groupWords{
		title: "how the group changed", Ways: "who went which way",
		Key: "Each bar is where an athlete's change lies in 95 of 100 cases. A full dot is a change that is sure among all who are looked at, an open one is not. " +
			"The diamond is the mean with its interval, full where it is a change. The grey band is what counts as standing still.",
	},

	plain: addressed(plainKindWords{
		monthsTitle: "how it went over the months", screenTitle: "where the degrees go", squadTitle: "what you showed in this session",
		days:    "This page shows %[1]s, on %[2]s days from %[3]s to %[4]s.",
		oneDay:  "This page shows %[1]s, on %[2]s. It takes a second day to see a change.",
		up:      "It went up by %[1]s degrees, give or take %[2]s. That is more than the pictures can be off by.",
		down:    "It went down by %[1]s degrees, give or take %[2]s. That is more than the pictures can be off by.",
		unseen:  "The pictures cannot tell if it changed. To be seen, a change has to be %s degrees or more.",
		unknown: "The pictures cannot tell if it changed.",
		reached: "The skill asks for %s degrees, and you are there.", asks: "The skill asks for %s degrees.", allows: "The skill allows up to %s degrees.",
		last:       "It was %[1]s on %[3]s, give or take %[2]s.",
		off:        "on %[2]s, give or take %[1]s",
		screen:     "On %[2]s, you were filmed in %[3]s ways. We looked at %[1]s.",
		screenAsks: "The skill asks for %s degrees.",
		missing:    "; these pictures show about %[1]s less, give or take %[2]s.", unsure: "The pictures cannot tell if that is there yet.", inside: "This is inside that.",
		sided: "%[1]s, %[2]s", askedMost: "up to %s°", nothing: "The skill asks for %[1]s degrees, and you are there.",
		lost: map[string]string{
			"range":   "The largest part of that shows with help as well.",
			"control": "The largest part is between “with help” and “without help”.",
			"use":     "The largest part is between “without help” and “in the skill”.",
		},
		lostUnknown: "The pictures cannot tell where the largest part is.",
		condition:   map[string]string{"passive": "with help", "active": "without help", "in-skill": "in the skill", "swung": "with a swing"},
		picture:     "picture %d", askedLine: "asked: %s°", side: "%s side: ",
		key: map[string]string{
			"months": "Each dot is one day. The line through it shows how far it may be off.",
			"levels": "Each dot is what we measured. The bar shows how far it may be off.",
			"asked":  "The dashed line is what the skill asks for.",
		},
		cannotMonths: []string{
			"It does not say why it changed, or why it did not.",
			"It does not say what comes next.",
			"It does not say how good you are.",
			"No two days are the same. Being tired or cold can change it.",
		},
		cannotScreen: []string{
			"It shows one day. The next day may look different.",
			"It does not say why the degrees go.",
			"It does not say how good you are.",
		},
		cannotSquad: []string{
			"It shows one day. The next day may look different.",
			"It does not say why the angle is what it is.",
			"It does not say how good you are.",
			"It does not put you above or below anyone.",
		},
	}, func(w *plainKindWords) {
		w.squadTitle = "what this session showed"
		w.reached = "The skill asks for %s degrees, and that is reached."
		w.screen = "On %[2]s, this was filmed in %[3]s ways. We looked at %[1]s."
		w.nothing = "The skill asks for %[1]s degrees, and that is reached."
		w.cannotMonths = []string{
			"It does not say why it changed, or why it did not.",
			"It does not say what comes next.",
			"It does not say how good a child is, or how good a child will be.",
			"No two days are the same. Being tired or cold can change it.",
		}
		w.cannotScreen = []string{
			"It shows one day. The next day may look different.",
			"It does not say why the degrees go.",
			"It does not say how good a child is, or how good a child will be.",
		}
		w.cannotSquad = []string{
			"It shows one day. The next day may look different.",
			"It does not say why the angle is what it is.",
			"It does not say how good a child is, or how good a child will be.",
			"Other children are not on this page, and it compares with nobody.",
		}
	}),
}

var quizEnglish = &quizWords{
	title: "practice: which band?", sub: "quiz %s", many: "%s frames",
	name: "name", date: "date",
	how: []string{
		"Say for each frame which band you would take. Tick its letter here, and write it beside the question's number in the answer list.",
		"Where you waver, say how sure you are of each, in percent that make 100: b 70 c 30. A frame often cannot decide, and the answer that says so scores better than a guess.",
		"A question left empty is not counted against you; it is named.",
	},
	alt:    "The frame of question %d.",
	Letter: "band", Tick: "yours", Sure: "or, how sure of each:", page: "page %[1]d of %[2]d",
	covered: "Faces are covered.",

	scoreTitle: "practice: the score",
	best:       "0 is best, 1 is worst",
	hits:       "%[1]s of %[2]s answers name the likeliest band.",
	least:      "The pictures themselves leave %[1]s, since they do not always decide. The answers' own part is %[2]s.",
	stricter:   "The answers are stricter than the readings: by %[1]s bands on average, with a standard error of %[2]s.",
	milder:     "The answers are milder than the readings: by %[1]s bands on average, with a standard error of %[2]s.",
	neither:    "The answers lean to neither side by more than chance: %[1]s bands on average, with a standard error of %[2]s.",
	tooFew:     "There are too few answers to say whether they lean to one side.",
	unanswered: "Not answered: %s.",
	byQuestion: "question by question", byBand: "stricter or milder, by band", Rule: "how it is scored",
	Number: "no.", Answer: "answer", Likeliest: "likeliest here", Score: "score", Own: "own part",
	Band: "band", Count: "answers", Bias: "bands off", whole: "all",
	signs: "Plus is stricter than the readings, minus is milder, in bands, with the standard error either way. A side is named where five answers or more leave less than 5 in 100 to chance (Student's t).",
	lean:  map[string]string{"stricter": "stricter", "milder": "milder", "neither": "no side", "too few": "too few to say"},
	rule: []string{
		"Ranked probability score (E. S. Epstein, J. Appl. Meteorol. 8 (1969) 985; A. H. Murphy, ibid. 10 (1971) 155), expected under the probabilities of the readings.",
		"It counts how far off a band is, and not only whether it is the one. It is strictly proper: nobody scores better, on average, than by saying what they believe.",
	},
	cares: []string{
		"The readings are measured off one frame, with what is uncertain about them counted in. They are no jury's verdict, and no measure of a judge beyond these frames.",
		"What is likeliest is what the picture says; where it says little, the score hardly tells answers apart.",
	},
}
