package movement

import (
	"fmt"
	"slices"
	"strings"
)

// Card says how a take is made, so that the next one can be compared with it.
type Card struct {
	Name      string // of the measure, movement or contrast, as typed
	Title     string // as printed
	Condition string // "" for a contrast, whose two takes are of one condition
	Lines     []CardLine
	Cautions  []string
}

// CardLine is one thing that a card says, with where it comes from.
type CardLine struct{ Head, Text, Source string }

// Where the lines of cards come from.
const (
	ownDefinition = "a definition of this program"
	norkin        = "Norkin and White, Measurement of Joint Motion, 5th edition, " + fromMemory
	byGeometry    = "geometry: what a turned or near camera does to an angle"
)

// CardNames returns the names of all cards: of measures, then of movements in a position of their own, then
// of contrasts.
func CardNames() (out []string) {
	for _, m := range measureCards {
		out = append(out, m.measure)
	}
	for _, m := range movements {
		if m.Variant != "" {
			out = append(out, m.Name)
		}
	}
	for _, c := range contrasts {
		if !slices.Contains(out, c.Name) {
			out = append(out, c.Name)
		}
	}
	return out
}

// CardOf returns the card of a measure in a position, made in a condition; false if there is
// none. "" is the measure's usual position.
func CardOf(measure, variant, condition string) (Card, bool) {
	m := cardOfMeasure(measure)
	how := slices.IndexFunc(conditionCards, func(c conditionCard) bool { return c.condition == condition })
	if m == nil || how < 0 {
		return Card{}, false
	}
	c := Card{Name: measure, Title: m.title, Condition: condition}
	position, positionSource := m.position, m.source
	if variant != "" {
		v, ok := FindVariant(measure, variant)
		if !ok {
			return Card{}, false
		}
		c.Title += ", " + v.Words
		position, positionSource = positions[measure+" "+variant], Practice
	}
	h := conditionCards[how]
	if own := m.what[condition]; own != "" && variant == "" {
		c.Lines = append(c.Lines, CardLine{"what it is", own, ownDefinition})
	} else {
		c.Lines = append(c.Lines, CardLine{"what it is", h.what, ownDefinition})
	}
	c.Lines = append(c.Lines, CardLine{"position", position, positionSource}, CardLine{"who moves the limb", h.who, Practice}, CardLine{"the load, kept alike", h.load, Practice})
	c.Lines = append(c.Lines, m.commonLines(h.spoils)...)
	c.Cautions = cardCautions(measure)
	return c, true
}

// CardOfContrast returns the card of the two takes of a contrast.
func CardOfContrast(c Contrast) Card {
	m := cardOfMeasure(c.Measure)
	card := Card{Name: c.Name, Title: c.Title}
	card.Lines = append(card.Lines,
		CardLine{"what it is", "two takes that differ in one thing; the pair separates " + c.Separates, c.Source + ", " + c.Provenance},
		CardLine{"first position", positions[c.Measure+" "+c.Taut], Practice},
		CardLine{"second position", positions[c.Measure+" "+c.Slack], Practice},
		CardLine{"kept alike", "all else: the same day and state, the same helper and push, camera, marks and rater, and the same condition. Keep the first with the position " + c.Taut + " and the second with the position " + c.Slack, Practice})
	card.Lines = append(card.Lines, m.commonLines("")...)
	card.Lines = append(card.Lines, CardLine{"what it cannot say", strings.Join(c.Cannot, "; "), Practice})
	card.Cautions = cardCautions(c.Measure)
	return card
}

// commonLines are the lines that are alike in all conditions but for what spoils the take.
func (m *measureCard) commonLines(spoils string) []CardLine {
	if spoils != "" {
		spoils = "; " + spoils
	}
	return []CardLine{
		{"warm-up", "the same before every session, and said with the take: cold, warm, or after the session. Range differs by it, and what a warm-up adds fades within the hour", Practice},
		{"order", "active before passive, so that the push does not help; the skill when it is warm and before it tires. The same order every time", Practice},
		{"takes", "three of each, with the athlete out of the position between them. More takes do not lessen what they share, such as a camera that stands askew: the athlete's screen says which take would tell", Practice},
		{"camera", m.camera + " As far away as the hall lets, 4 to 6 m, on a stand, the main lens without zoom. Tape its place, and give the set-up a name", byGeometry},
		{"landmarks", m.landmarks, m.landmarksSource},
		{"what spoils it", m.spoils + spoils, Practice},
	}
}

func cardOfMeasure(measure string) *measureCard {
	i := slices.IndexFunc(measureCards, func(m measureCard) bool { return m.measure == measure })
	if i < 0 {
		return nil
	}
	return &measureCards[i]
}

// cardCautions stand on every card of a measure.
func cardCautions(measure string) []string {
	out := []string{
		"pain ends the test: pain, clicking or giving way means stop and see a clinician",
		"an athlete who still grows has growth plates at hip and shoulder: no push at the end of the range; pain there is for a clinician",
		"joints that go very far in many directions (hypermobility) are not pushed: refer to whoever may examine them",
		"this measures; it prescribes nothing, and whether a position is tried is decided by whoever is responsible for the athlete",
	}
	if measure == "hip-split" {
		out = append([]string{"an over-split only on top of a full passive split, and with a qualified person"}, out...)
	}
	return out
}

// FindCard returns the card of a measure, a movement or a contrast by its name. The condition
// and the variant are "" for a contrast. The error says what is missing or does not fit.
func FindCard(name, variant, condition string) (Card, error) {
	if m, ok := Find(name); ok && cardOfMeasure(name) == nil {
		if variant != "" && variant != m.Variant {
			return Card{}, fmt.Errorf("%s has its position already", name)
		}
		c, ok := CardOf(m.Measure, m.Variant, condition)
		if !ok {
			return Card{}, fmt.Errorf("%s has no card for the condition %q", name, condition)
		}
		c.Name = name
		return c, nil
	}
	if cardOfMeasure(name) == nil {
		c, ok := FindContrast(name)
		if !ok {
			return Card{}, fmt.Errorf("there is no card of %q", name)
		}
		if variant != "" || condition != "" {
			return Card{}, fmt.Errorf("%s is a pair of takes, and has neither a condition nor a position", name)
		}
		return CardOfContrast(c), nil
	}
	c, ok := CardOf(name, variant, condition)
	if !ok {
		return Card{}, fmt.Errorf("%s has no card for the condition %q in the position %q", name, condition, variant)
	}
	return c, nil
}
