package draw

import (
	"sort"
	"strings"
)

// Fit returns the size, at most size and at least least, at which s is no wider
// than room.
func (l *Letters) Fit(f Face, size, least float64, s string, room float64) float64 {
	if w := l.Width(f, size, s); w > room && w > 0 {
		size = max(least, size*room/w)
	}
	return size
}

// Cut shortens s in its middle until it is no wider than room.
func (l *Letters) Cut(f Face, size float64, s string, room float64) string {
	if l.Width(f, size, s) <= room {
		return s
	}
	rs := []rune(s)
	return l.most(f, size, room, len(rs), func(keep int) string {
		head := (keep + 1) / 2
		return strings.TrimSpace(string(rs[:head])) + "…" + strings.TrimSpace(string(rs[len(rs)-(keep-head):]))
	})
}

// cutEnd shortens s at its end, if only by the ellipsis, until it is no wider than
// room.
func (l *Letters) cutEnd(f Face, size float64, s string, room float64) string {
	rs := []rune(s)
	return l.most(f, size, room, len(rs), func(keep int) string {
		return strings.TrimRight(string(rs[:keep]), " .,;") + "…"
	})
}

// most returns what short makes of the largest number of characters, at most n, at
// which that is no wider than room.
func (l *Letters) most(f Face, size, room float64, n int, short func(keep int) string) string {
	keep := sort.Search(n, func(i int) bool { return l.Width(f, size, short(i+1)) > room })
	return short(keep)
}

// Wrap breaks s into at most most lines no wider than room; what does not fit is
// cut with an ellipsis.
func (l *Letters) Wrap(f Face, size float64, s string, room float64, most int) []string {
	var lines []string
	line := ""
	words := strings.Fields(s)
	for i, w := range words {
		next := strings.TrimSpace(line + " " + w)
		if line == "" || l.Width(f, size, next) <= room {
			line = next
			continue
		}
		if len(lines) == most-1 {
			rest := line + " " + strings.Join(words[i:], " ")
			return append(lines, l.cutEnd(f, size, rest, room))
		}
		lines, line = append(lines, l.Cut(f, size, line, room)), w
	}
	if line != "" {
		lines = append(lines, l.Cut(f, size, line, room))
	}
	return lines
}
