package text

import (
	"strings"
	"unicode/utf8"
)

// Nearest returns the entry of names with the smallest [EditDistance] from name, the
// first of equals: a suggestion for a misspelt name. It returns "" if the distance is
// more than two and more than a third of the letters of name.
func Nearest(name string, names []string) string {
	best, least := "", max(2, utf8.RuneCountInString(name)/3)+1
	for _, n := range names {
		if d := EditDistance(name, n); d < least {
			best, least = n, d
		}
	}
	return best
}

// EditDistance returns the Levenshtein distance in runes: the number of letters to
// change, add or delete to get from a to b. It keeps one row of the usual table.
func EditDistance(a, b string) int {
	s, t := []rune(a), []rune(b)
	row := make([]int, len(t)+1)
	for j := range row {
		row[j] = j
	}
	for i := range s {
		diagonal := row[0]
		row[0] = i + 1
		for j := range t {
			change := diagonal
			if s[i] != t[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(t)]
}

// Alike returns the first of names that is one slip of typing away from name: one letter
// changed, added or left out, or two neighbours exchanged. It returns "" if there is none, or
// if one of names differs from name in case and spaces only. Damerau, Comm. ACM 7 (1964) 171,
// found more than 80 % of misspelt words to be one such slip (from memory). In names of two
// letters one slip changes half of the name, so that they are never alike.
func Alike(name string, names []string) string {
	near := ""
	a := folded(name)
	for _, n := range names {
		b := folded(n)
		if string(a) == string(b) {
			return ""
		}
		if near == "" && min(len(a), len(b)) > 2 && oneSlip(a, b) {
			near = n
		}
	}
	return near
}

func folded(s string) []rune { return []rune(strings.ToLower(strings.Join(strings.Fields(s), " "))) }

// oneSlip reports whether a and b, which differ, are one slip apart.
func oneSlip(a, b []rune) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return string(a[i:]) == string(b[i+1:])
	}
	if string(a[i+1:]) == string(b[i+1:]) {
		return true
	}
	return i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && string(a[i+2:]) == string(b[i+2:])
}
