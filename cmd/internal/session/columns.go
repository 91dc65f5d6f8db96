package session

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/text"
)

// Columns are the known column heads. Case, spaces, hyphens and underscores in a head do
// not matter.
var Columns = []string{"athlete", "pseudonym", "take", "marks", "seeds", "colours", "at", "skill", "measure",
	"condition", "variant", "side", "state", "day", "session", "rater", "setup", "note",
	"camera", "oblique", "distance", "focal", "lens", "stature", "facing", "leg"}

// headSynonyms are other spellings of heads.
var headSynonyms = map[string]string{"colors": "colours", "frame": "at", "date": "day", "set-up": "setup", "notes": "note"}

// sources are the columns for where marks come from. Each row needs exactly one.
var sources = []string{"marks", "seeds", "colours"}

// normalHead normalises a cell to the spelling of Columns: lower case, words joined by hyphens.
func normalHead(cell string) string {
	h := strings.Join(strings.FieldsFunc(strings.ToLower(cell), func(r rune) bool { return r == ' ' || r == '_' || r == '-' || r == '\u00a0' }), "-")
	if also, ok := headSynonyms[h]; ok {
		return also
	}
	return h
}

// delimiters are tried in this order.
var delimiters = []rune{',', ';', '\t'}

// delimiter finds the delimiter that splits the first line into the most known heads. A
// line such as "sep=;", which spreadsheets put before the heads, decides it and is taken
// out of the text.
func delimiter(text string, heads []string) (rune, string) {
	first, rest, _ := strings.Cut(text, "\n")
	if stated, ok := strings.CutPrefix(strings.ToLower(strings.TrimRight(first, "\r")), "sep="); ok && len(stated) == 1 && slices.Contains(delimiters, rune(stated[0])) {
		return rune(stated[0]), "\n" + rest
	}
	for first = strings.TrimSpace(first); first == "" && rest != ""; first = strings.TrimSpace(first) {
		first, rest, _ = strings.Cut(rest, "\n")
	}
	best, most := delimiters[0], -1
	for _, d := range delimiters {
		n := 0
		for _, cell := range strings.Split(first, string(d)) {
			if slices.Contains(heads, normalHead(strings.Trim(cell, "\" \r"))) {
				n++
			}
		}
		if n > most {
			best, most = d, n
		}
	}
	return best, text
}

// readHeads returns the column of each cell, "" if it is unknown.
func readHeads(name string, cells []string) (columns []string, notes []string, err error) {
	for _, c := range cells {
		h := normalHead(c)
		switch {
		case h == "":
			columns = append(columns, "")
			continue
		case slices.Contains(columns, h):
			return nil, nil, newError("take one of them out, or give it another head", "the list %q has the column %q twice", name, h)
		case !slices.Contains(Columns, h):
			note := fmt.Sprintf("the column %q is not known and is not read", strings.TrimSpace(c))
			if near := text.Nearest(h, Columns); near != "" && !slices.ContainsFunc(cells, func(o string) bool { return normalHead(o) == near }) {
				note += fmt.Sprintf("; did you mean %q?", near)
			}
			notes = append(notes, note)
			columns = append(columns, "")
			continue
		}
		columns = append(columns, h)
	}
	return columns, notes, nil
}

// checkTakeColumns returns an error if a column that a list of takes needs is missing.
func checkTakeColumns(name string, cells, columns []string) error {
	return requireColumns(name, cells, columns, true)
}

// checkNameColumns returns an error if a list has no column for names.
func checkNameColumns(name string, cells, columns []string) error {
	return requireColumns(name, cells, columns, false)
}

func requireColumns(name string, cells, columns []string, takes bool) error {
	has := func(names ...string) bool {
		return slices.ContainsFunc(names, func(c string) bool { return slices.Contains(columns, c) })
	}
	what, form := "", ""
	switch {
	case !has("athlete", "pseudonym"):
		what, form = `"athlete"`, "who it is, by a name or a pseudonym"
	case !takes:
		return nil
	case !has("take"):
		what, form = `"take"`, "the file of the still or the clip, from the list's own folder"
	case !has(sources...):
		what, form = `"marks", "seeds" or "colours"`, "where the marks come from: a marks file, one point on each sticker, or the stickers' colours"
	default:
		return nil
	}
	if len(cells) == 1 {
		return newError("part the columns by commas, semicolons or tabs", "the list %q has one column only, %q", name, strings.TrimSpace(cells[0]))
	}
	var quoted []string
	for _, c := range cells {
		if c = strings.TrimSpace(c); c != "" {
			quoted = append(quoted, fmt.Sprintf("%q", c))
		}
	}
	return newError("add it: "+form, "the list %q has no column %s; its columns are %s", name, what, strings.Join(quoted, ", "))
}
