package rulebook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"ecart/cmd/internal/strict"
	"ecart/cmd/internal/text"
)

// table returns whether n is a table, and records a problem for each unknown key.
func (d *decoder) table(n *node, what string, keys ...string) bool {
	if n.Kind != strict.Table {
		d.bad(n.At, fmt.Sprintf("write keys and values, such as \"%s: ...\"", keys[0]), "%s is %s, and has to be %s", what, kindOf(n), strict.Table)
		return false
	}
	for _, f := range n.Fields {
		if !slices.Contains(keys, f.Key) {
			d.bad(f.At, fmt.Sprintf("did you mean %s", nearest(f.Key, keys, 1)[0]), "unknown key %q in %s", clip(f.Key), what)
		}
	}
	return true
}

// list returns the items of a required list.
func (d *decoder) list(n *node, key string) []*node {
	v := n.Get(key)
	switch {
	case v == nil:
		d.bad(n.At, fmt.Sprintf("add %s, a list", key), "%s is missing", key)
	case v.Kind != strict.List:
		d.bad(v.At, "write it as a list, each entry with a dash", "%s holds %s", key, kindOf(v))
	case len(v.Items) == 0:
		d.bad(v.At, "add at least one entry", "%s is empty", key)
	default:
		return v.Items
	}
	return nil
}

// text reads a text; "" if it is missing or invalid.
func (d *decoder) text(n *node, key string, needed bool) string {
	v := n.Get(key)
	switch {
	case v == nil && needed:
		d.bad(n.At, fmt.Sprintf("add \"%s: ...\"", key), "%s is missing", key)
	case v == nil || v.Kind == strict.Null && !needed:
	default:
		return d.words(v, key)
	}
	return ""
}

// words reads a scalar as one line of text.
func (d *decoder) words(v *node, what string) string {
	s := strings.Join(strings.Fields(v.Text), " ")
	switch {
	case v.Kind > strict.Text:
		d.bad(v.At, "write one value, in quotes if it has a colon in it", "%s holds %s", what, kindOf(v))
	case s == "":
		d.bad(v.At, "say it, or remove the key", "%s is empty", what)
	case len([]rune(v.Text)) > maxText:
		d.bad(v.At, fmt.Sprintf("say it in %d characters", maxText), "%s is too long", what)
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }):
		d.bad(v.At, "remove it", "%s holds a character that cannot be printed", what)
	default:
		return s
	}
	return ""
}

// word reads a text without surrounding space, such as a name or a number.
func (d *decoder) word(n *node, key string, needed bool) string {
	s := d.text(n, key, needed)
	if s != "" && s != n.Get(key).Text {
		d.bad(n.Get(key).At, "write it without space around it", "%s %q has space around it", key, clip(n.Get(key).Text))
		return ""
	}
	return s
}

// name reads a required name.
func (d *decoder) name(n *node, key string) string { return d.nameOf(n, key, true) }

// nameOf reads a name: small letters, digits and hyphens.
func (d *decoder) nameOf(n *node, key string, needed bool) string {
	s := d.word(n, key, needed)
	if s != "" && (!namePattern.MatchString(s) || len(s) > maxName) {
		d.bad(n.Get(key).At, fmt.Sprintf("use small letters, digits and hyphens, at most %d, such as split-leap", maxName), "%s %q cannot be asked for", key, clip(s))
		return ""
	}
	return s
}

// yes reads true or false; false if it is missing or invalid.
func (d *decoder) yes(n *node, key string) bool {
	s := d.word(n, key, false)
	switch s {
	case "true", "True", "TRUE":
		return true
	case "", "false", "False", "FALSE":
	default:
		d.bad(n.Get(key).At, "write true or false", "%s is %q", key, clip(s))
	}
	return false
}

// degrees reads a number of degrees from 0 to 360; 0 if it is missing or invalid.
func (d *decoder) degrees(n *node, key string, needed bool) float64 {
	return d.number(n, key, needed, 360, "degrees", "180 or 22.5")
}

// mostRatio is the largest ratio of lengths that a band may begin or end with: far more than legs can be apart.
const mostRatio = 20

// ratio reads a ratio of lengths from 0 to mostRatio; 0 if it is missing or invalid.
func (d *decoder) ratio(n *node, key string) float64 {
	return d.number(n, key, true, mostRatio, "shoulder widths", "1 or 1.5")
}

// number reads a plain number from 0 to most; 0 if it is missing or invalid.
func (d *decoder) number(n *node, key string, needed bool, most float64, unit, such string) float64 {
	s := d.word(n, key, needed)
	if s == "" {
		return 0
	}
	at := n.Get(key).At
	if !numberPattern.MatchString(s) {
		d.bad(at, "write a plain number of "+unit+", such as "+such, "%s %q is not a number of %s", key, clip(s), unit)
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err != nil || v > most:
		d.bad(at, fmt.Sprintf("write %s, from 0 to %g", unit, most), "%s %q is too large", key, clip(s))
	case v < 0:
		d.bad(at, "write "+unit+" as a number from 0 up", "%s %q is negative", key, clip(s))
	default:
		return v + 0 // "-0" is 0
	}
	return 0
}

type (
	node  = strict.Node
	place = strict.Place
)

// parseTree parses the text of one file; the caller sets File in the problems.
func parseTree(text []byte) (*node, []Problem) {
	root, faults := strict.ParseYAML(text)
	var problems []Problem
	for _, f := range faults {
		problems = append(problems, Problem{Line: f.Line, Column: f.Column, Text: f.What, Do: f.Do})
	}
	return root, problems
}

// isScalar reports whether a value is a single one: not null, a list or a table.
func isScalar(n *node) bool { return n.Kind > strict.Null && n.Kind <= strict.Text }

// kindOf names a value's kind for messages; rule books do not distinguish numbers from
// texts.
func kindOf(n *node) string {
	switch {
	case n.Kind == strict.Null:
		return "nothing"
	case isScalar(n):
		return "a single value"
	}
	return n.Kind.String()
}

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
