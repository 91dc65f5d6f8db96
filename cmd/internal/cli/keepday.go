package cli

import (
	"fmt"
	"io"
	"time"

	"ecart/vision/take"
)

// ahead says that no take can have been made on that day yet, wherever it was.
func ahead(day time.Time) bool { return day.After(time.Now().UTC().Add(14 * time.Hour)) }

// date is the day on which the take was made: the one that was said, else the take's.
func (k *keepOptions) date(info take.Info, warn io.Writer) (string, error) {
	told := dayOf(info)
	switch {
	case k.day != "" && told != "" && k.day != told:
		fmt.Fprintln(warn, oneLine(fmt.Sprintf("%s says that it was made on %s; it is kept under %s, as --day says", info.Name, told, k.day)))
		return k.day, nil
	case k.day != "":
		return k.day, nil
	case told == "":
		return "", &inputError{fmt.Sprintf("%q does not say on which day it was made", info.Name), "give the day with --day, such as --day 2026-03-21"}
	}
	if d, err := time.Parse(time.DateOnly, told); err != nil || ahead(d) {
		return "", &inputError{fmt.Sprintf("%q says that it was made on %s, which lies ahead of today", info.Name, told), "give the right day with --day"}
	}
	return told, nil
}

// firstYear is before any camera that wrote a clip or a still which is read here: a
// phone whose clock was never set says 1904, 1970 or 1980.
const firstYear = 1990

// dayOf is the day on which a take says it was made, in the zone it names, "" where
// it says none. Clips that name no zone tell the time in UTC, and were most likely
// made where this machine stands; stills tell the time on the wall.
func dayOf(info take.Info) string {
	t := info.Captured
	if !info.Still && t.Location() == time.UTC {
		t = t.Local()
	}
	if t.Year() < firstYear {
		return ""
	}
	return t.Format(time.DateOnly)
}
