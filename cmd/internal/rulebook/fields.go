package rulebook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// table reports whether n is a table, and every key that has no place in it.
func (d *decoder) table(n *node, what string, keys ...string) bool {
	if n.kind != table {
		d.bad(n.at, fmt.Sprintf("write keys and values, such as \"%s: ...\"", keys[0]), "%s is %s, and has to be %s", what, n.kind, table)
		return false
	}
	for _, f := range n.fields {
		if !slices.Contains(keys, f.key) {
			d.bad(f.at, fmt.Sprintf("did you mean %s", nearest(f.key, keys, 1)[0]), "unknown key %q in %s", clip(f.key), what)
		}
	}
	return true
}

// list gives the items of a list that has to be there.
func (d *decoder) list(n *node, key string) []*node {
	v := n.get(key)
	switch {
	case v == nil:
		d.bad(n.at, fmt.Sprintf("add %s, a list", key), "%s is missing", key)
	case v.kind != list:
		d.bad(v.at, "write it as a list, each entry with a dash", "%s holds %s", key, v.kind)
	case len(v.items) == 0:
		d.bad(v.at, "add at least one entry", "%s is empty", key)
	default:
		return v.items
	}
	return nil
}

// text reads a text; "" where it is missing or wrong.
func (d *decoder) text(n *node, key string, needed bool) string {
	v := n.get(key)
	switch {
	case v == nil && needed:
		d.bad(n.at, fmt.Sprintf("add \"%s: ...\"", key), "%s is missing", key)
	case v == nil || v.kind == empty && !needed:
	default:
		return d.words(v, key)
	}
	return ""
}

// words reads a scalar as one line of text.
func (d *decoder) words(v *node, what string) string {
	s := strings.Join(strings.Fields(v.text), " ")
	switch {
	case v.kind > scalar:
		d.bad(v.at, "write one value, in quotes if it has a colon in it", "%s holds %s", what, v.kind)
	case s == "":
		d.bad(v.at, "say it, or remove the key", "%s is empty", what)
	case len([]rune(v.text)) > maxText:
		d.bad(v.at, fmt.Sprintf("say it in %d characters", maxText), "%s is too long", what)
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }):
		d.bad(v.at, "remove it", "%s holds a character that cannot be printed", what)
	default:
		return s
	}
	return ""
}

// word reads a text that is taken as it stands, such as a name or a number.
func (d *decoder) word(n *node, key string, needed bool) string {
	s := d.text(n, key, needed)
	if s != "" && s != n.get(key).text {
		d.bad(n.get(key).at, "write it without space around it", "%s %q has space around it", key, clip(n.get(key).text))
		return ""
	}
	return s
}

func (d *decoder) name(n *node, key string) string {
	s := d.word(n, key, true)
	if s != "" && (!namePattern.MatchString(s) || len(s) > maxName) {
		d.bad(n.get(key).at, fmt.Sprintf("use small letters, digits and hyphens, at most %d, such as split-leap", maxName), "%s %q cannot be asked for", key, clip(s))
		return ""
	}
	return s
}

func (d *decoder) yes(n *node, key string) bool {
	s := d.word(n, key, false)
	switch s {
	case "true", "True", "TRUE":
		return true
	case "", "false", "False", "FALSE":
	default:
		d.bad(n.get(key).at, "write true or false", "%s is %q", key, clip(s))
	}
	return false
}

// degrees reads a number of degrees that is not negative; 0 where it is wrong.
func (d *decoder) degrees(n *node, key string, needed bool) float64 {
	s := d.word(n, key, needed)
	if s == "" {
		return 0
	}
	at := n.get(key).at
	if !numberPattern.MatchString(s) {
		d.bad(at, "write a plain number of degrees, such as 180 or 22.5", "%s %q is not a number of degrees", key, clip(s))
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err != nil || v > 360:
		d.bad(at, "write degrees, from 0 to 360", "%s %q is too large", key, clip(s))
	case v < 0:
		d.bad(at, "write degrees as a number from 0 up", "%s %q is negative", key, clip(s))
	default:
		return v + 0 // "-0" is 0
	}
	return 0
}
