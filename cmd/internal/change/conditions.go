package change

import "slices"

// FewestConditions is in how many conditions an angle must have been read for a gap.
const FewestConditions = 2

// Conditions counts the conditions that are stated in the readings.
func Conditions(rs []Reading) int {
	var stated []string
	for i := range rs {
		if c := known(rs[i].Condition); c != "" && !slices.Contains(stated, c) {
			stated = append(stated, c)
		}
	}
	return len(stated)
}
