package text

import "unicode/utf8"

// Nearest returns the name out of names that name was probably meant to be: the
// one with the fewest letters to change, add or drop, the first of equals. It
// returns "" if more than a third of the letters, and more than two, are wrong.
func Nearest(name string, names []string) string {
	best, least := "", max(2, utf8.RuneCountInString(name)/3)+1
	for _, n := range names {
		if d := EditDistance(name, n); d < least {
			best, least = n, d
		}
	}
	return best
}

// EditDistance returns how many letters are to be changed, added or dropped to get from
// a to b: the Levenshtein distance in runes, by the usual table of which one row is
// kept.
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
