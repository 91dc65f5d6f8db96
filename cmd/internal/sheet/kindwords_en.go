package sheet

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
		Order: "One condition of all athletes, both sides, then the next: its place, camera and helper stay as they are. 'ecart protocol' has the card of each condition.",
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
