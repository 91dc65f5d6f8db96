package sheet

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
