package reading

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
)

// HowFound says how a landmark was located when it was marked, which decides how far the mark may be
// from the bone: see landmark in priors.yaml.
type HowFound string

const (
	NotSaid   HowFound = ""        // counts as OnlySeen
	OnlySeen  HowFound = "seen"    // in the picture; nobody felt for the bone
	Felt      HowFound = "felt"    // with the fingers, before the take; then marked in the picture
	Stickered HowFound = "sticker" // felt with the fingers, and a sticker put on the place
)

// HowsFound lists the three values that can be given, the least certain first.
func HowsFound() []string { return []string{string(OnlySeen), string(Felt), string(Stickered)} }

// FoundNotSaid is the note on a reading that does not say how its landmarks were found.
const FoundNotSaid = "how the landmarks were found is not said: they count as seen in the picture, not felt for"

// Words completes the sentence "the landmarks were ...".
func (h HowFound) Words() string {
	switch h {
	case Stickered:
		return "felt, with a sticker"
	case Felt:
		return "felt"
	}
	return "seen"
}

// rank is the position in HowsFound, 0 for the least certain.
func (h HowFound) rank() int { return max(0, slices.Index(HowsFound(), string(h))) }

// checkFound refuses an unknown value; of names, for the message, what it was given for.
func checkFound(h HowFound, of string) error {
	if h == NotSaid || slices.Contains(HowsFound(), string(h)) {
		return nil
	}
	return fault.New(fmt.Sprintf("%s has \"found\": %q", of, strict.Clip(string(h))), "it is one of "+strings.Join(HowsFound(), ", ")+": seen in the picture, felt with the fingers, or felt and with a sticker on it")
}

// found is how a mark's landmark was found: by the mark, else the request, else the marks file;
// else it is Stickered for a mark with a covariance, which a found sticker has, and OnlySeen
// otherwise. A proposal is always OnlySeen. known reports whether it was given.
func (q *Request) found(p *Placement) (h HowFound, known bool) {
	if p.Proposed {
		return OnlySeen, true
	}
	for _, h := range []HowFound{p.Found, q.Found, q.Marks.Found} {
		if h != NotSaid {
			return h, true
		}
	}
	if p.Covariance != nil && p.Confirmed == "" {
		return Stickered, true
	}
	return OnlySeen, p.Confirmed != ""
}

// foundOf returns the least certain way in which the marks of a landmark were found.
func (q *Request) foundOf(landmark string) (h HowFound, known bool) {
	h, known = Stickered, true
	for i := range q.Marks.Marks {
		if p := &q.Marks.Marks[i]; p.Landmark == landmark {
			one, ok := q.found(p)
			known = known && ok
			if one.rank() < h.rank() {
				h = one
			}
		}
	}
	return h, known
}

// landmarkSD returns the standard deviation of a mark from the true landmark, each axis, mm.
func (p *Priors) landmarkSD(landmark string, h HowFound) float64 {
	k := kindOf(landmark)
	l := &p.Landmark
	switch h {
	case Stickered:
		return l.SDMm[k]
	case Felt:
		return math.Hypot(l.SDMm[k], l.WithoutStickerMm[k])
	}
	return math.Hypot(math.Hypot(l.SDMm[k], l.WithoutStickerMm[k]), l.NotFeltMm[k])
}

// foundWords says how the model's landmarks were found, with their standard deviations: "felt, with
// a sticker: hip 15 mm, ankle 6 mm".
func (m *model) foundWords(q *Request) string {
	var parts []string
	for _, h := range []HowFound{OnlySeen, Felt, Stickered} {
		var of []string
		for _, n := range m.names {
			if got, _ := q.foundOf(n); got != h {
				continue
			}
			if s := fmt.Sprintf("%s %.0f mm", kindOf(n), q.Priors.landmarkSD(n, h)); !slices.Contains(of, s) {
				of = append(of, s)
			}
		}
		if of != nil {
			parts = append(parts, h.Words()+": "+strings.Join(of, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// saysFound reports whether it is known of every landmark of the model how it was found.
func (m *model) saysFound(q *Request) bool {
	return !slices.ContainsFunc(m.names, func(n string) bool { _, said := q.foundOf(n); return !said })
}

// leastFound is the least certain way in which a landmark of the model was found.
func (m *model) leastFound(q *Request) HowFound {
	least := Stickered
	for _, n := range m.names {
		if h, _ := q.foundOf(n); h.rank() < least.rank() {
			least = h
		}
	}
	return least
}

// allFound sets all marks of the request to be found in one way.
func (q *Request) allFound(h HowFound) {
	marks := *q.Marks
	marks.Marks = slices.Clone(marks.Marks)
	for i := range marks.Marks {
		marks.Marks[i].Found = h
	}
	q.Marks = &marks
}
