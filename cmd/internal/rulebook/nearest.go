package rulebook

import (
	"slices"
	"strings"

	"ecart/cmd/internal/strict"
	"ecart/cmd/internal/text"
)

// clip shortens what a message repeats of somebody's input.
func clip(s string) string { return strict.Clip(s) }

// nearest gives the n names most like s, the most alike first. A name that
// holds s comes before all others, and one that holds a word of it counts as nearer.
func nearest(s string, names []string, n int) []string {
	const holds = 1 << 20 // more than any distance
	s = clip(strings.ToLower(s))
	away := func(name string) int {
		d := 2 * text.EditDistance(s, name)
		if s != "" && strings.Contains(name, s) {
			return d - holds
		}
		for _, word := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("-_/ ", r) }) {
			if len(word) > 2 && strings.Contains(name, word) {
				d -= 2 * len(word)
			}
		}
		return d
	}
	out := slices.Clone(names)
	slices.SortStableFunc(out, func(a, b string) int { return away(a) - away(b) })
	return out[:min(n, len(out))]
}
