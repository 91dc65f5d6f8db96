package rulebook

import (
	"slices"
	"strings"

	"ecart/cmd/internal/strict"
	"ecart/cmd/internal/text"
)

// clip shortens input that a message repeats.
func clip(s string) string { return strict.Clip(s) }

// nearest returns the n names most similar to s, the most similar first, by edit distance. A
// name that contains s comes before all others, and one that contains a word of s counts as
// nearer.
func nearest(s string, names []string, n int) []string {
	const containsAll = 1 << 20 // more than any distance
	s = clip(strings.ToLower(s))
	distance := func(name string) int {
		d := 2 * text.EditDistance(s, name)
		if s != "" && strings.Contains(name, s) {
			return d - containsAll
		}
		for _, word := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("-_/ ", r) }) {
			if len(word) > 2 && strings.Contains(name, word) {
				d -= 2 * len(word)
			}
		}
		return d
	}
	out := slices.Clone(names)
	slices.SortStableFunc(out, func(a, b string) int { return distance(a) - distance(b) })
	return out[:min(n, len(out))]
}
