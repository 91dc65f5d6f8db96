package text

import "unicode/utf8"

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
