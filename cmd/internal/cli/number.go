package cli

import "strconv"

// fixed1 writes one decimal place.
func fixed1(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }
