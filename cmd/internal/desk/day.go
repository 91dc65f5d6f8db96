package desk

import (
	"fmt"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/vision/take"
)

// ahead reports whether a day is in the future in every time zone.
func (d *Desk) ahead(day time.Time) bool { return day.After(d.Now().UTC().Add(14 * time.Hour)) }

// Day returns the day on which a take was made: the one given, else the take's own.
func (d *Desk) Day(said string, info take.Info) (string, error) {
	ofTake := DayOf(info)
	switch {
	case said != "" && ofTake != "" && said != ofTake:
		d.note("%s says that it was made on %s; it is kept under %s, as %s says", info.Name, ofTake, said, fault.Option("day"))
		return said, nil
	case said != "":
		return said, nil
	case ofTake == "":
		return "", fault.New(fmt.Sprintf("%q does not say on which day it was made", info.Name), "give the day with "+fault.Option("day")+", such as "+fault.Option("day")+" 2026-03-21")
	}
	if at, err := time.Parse(time.DateOnly, ofTake); err != nil || d.ahead(at) {
		return "", fault.New(fmt.Sprintf("%q says that it was made on %s, which lies ahead of today", info.Name, ofTake), "give the right day with "+fault.Option("day"))
	}
	return ofTake, nil
}

// ParseDay parses a date such as 2026-03-21; "" is the zero time. option names it in errors.
func ParseDay(option, s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, fault.New(fmt.Sprintf("%s %q is no date", fault.Option(option), s), fmt.Sprintf("write it as year, month and day: %s 2026-03-21", fault.Option(option)))
	}
	return t, nil
}

// firstYear is earlier than any camera whose files are read here. A phone whose clock was never
// set gives 1904, 1970 or 1980.
const firstYear = 1990

// DayOf returns the day in a take's metadata, in its time zone; "" if it has none. Clips without
// a zone give UTC, which is converted to this machine's zone; stills give local time.
func DayOf(info take.Info) string {
	t := info.Captured
	if !info.Still && t.Location() == time.UTC {
		t = t.Local()
	}
	if t.Year() < firstYear {
		return ""
	}
	return t.Format(time.DateOnly)
}
