package reading

import "strings"

// LegWords says along which line the leg was read, to follow the measure's title: ", whole leg",
// ", thigh", or "" if a measure has one line only.
func (r *Reading) LegWords() string {
	for _, l := range r.Lines {
		switch {
		case strings.HasSuffix(l.To, "ankle") && r.Measure == "hip-split":
			return ", whole leg"
		case strings.HasSuffix(l.To, "knee") && strings.HasSuffix(l.From, "hip") && r.Measure != "knee-bend":
			return ", thigh"
		}
	}
	return ""
}

// LinesWords names the two lines of the angle: "hip to front ankle, hip to back ankle".
func (r *Reading) LinesWords() string {
	say := func(l Line) string {
		if l.Fixed {
			return strings.ReplaceAll(l.To, "-", " ")
		}
		return strings.ReplaceAll(l.From+" to "+l.To, "-", " ")
	}
	return say(r.Lines[0]) + ", " + say(r.Lines[1])
}
