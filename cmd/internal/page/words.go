package page

import (
	"fmt"
	"regexp"
	"strings"

	faults "ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// minus puts true minus signs before figures.
func minus(s string) string {
	return reading.Minus(s)
}

var range2 = regexp.MustCompile(`(\d)-(\d)`)

// dashed puts a dash between two figures.
func dashed(s string) string { return range2.ReplaceAllString(s, "$1–$2") }

func all(in []string, f func(string) string) []string {
	out := []string{}
	for _, s := range in {
		out = append(out, f(s))
	}
	return out
}

// door words options as fields of the page, and operations as places on it.
var door = faults.Door{
	Option: func(name string) string {
		if words, ok := fields[name]; ok {
			return words
		}
		return "“" + name + "”"
	},
	Operation: func(name string, given ...string) string {
		if words, ok := places[name]; ok {
			return words
		}
		return faults.NoDoor.Operation(name, given...)
	},
}

// fields are the options that the page does not call by their names.
var fields = map[string]string{
	"beyond":    "the button below",
	"camera":    "“the camera”",
	"condition": "the condition",
	"day":       "the day",
	"distance":  "“how far the camera was”",
	"measure":   "the measure",
	"oblique":   "“how far it may be from square”",
	"skill":     "the skill",
	"state":     "the state",
	"stature":   "“how tall the athlete is”",
	"variant":   "the position",
}

// places are the operations that the page does not call by their names.
var places = map[string]string{
	"draw the cover by hand":                  "draw the cover by hand",
	"find out how well somebody places marks": "placing all marks again three times or more",
	"follow stickers":                         "“follow the stickers”",
	"keep a reading":                          "“keep this reading”",
	"list the readings":                       "the list of athletes",
	"make a lens":                             "“the lens of a phone”",
	"save the reading as JSON":                "“the reading as JSON”",
}

// command is the call that gives the same reading of the take and the marks file
// as they are saved from the sheet.
func (s *Server) command(q reading.Request) string {
	base := q.Take.Name
	c := fmt.Sprintf("ecart read %s --marks %s", quoted(base), quoted(marksName(base, q.Take.Frame)))
	if q.Skill != nil {
		c += " --skill " + q.Skill.Rulebook + "/" + q.Skill.Name
	} else {
		c += " --measure " + q.Measure.Name
	}
	for _, o := range [][2]string{{"leg", string(q.Options.Leg)}, {"side", string(q.Options.Side)}, {"camera", q.Camera}} {
		if o[1] != "" {
			c += " --" + o[0] + " " + o[1]
		}
	}
	if q.ObliqueDeg > 0 {
		c += fmt.Sprintf(" --oblique %g", q.ObliqueDeg)
	}
	if q.Beyond {
		c += " --beyond"
	}
	if q.StatureMm > 0 {
		c += fmt.Sprintf(" --stature %gmm", q.StatureMm)
	}
	if q.DistanceM > 0 {
		c += fmt.Sprintf(" --distance %gm", q.DistanceM)
	}
	if q.FocalMm > 0 {
		c += fmt.Sprintf(" --focal %gmm", q.FocalMm)
	}
	if q.Confidence != 0.95 {
		c += fmt.Sprintf(" --confidence %g", q.Confidence)
	}
	if q.Options.Facing != "" {
		c += " --facing " + string(q.Options.Facing)
	}
	return c
}

// quoted makes one word of a name for a shell.
func quoted(s string) string {
	if regexp.MustCompile(`^[A-Za-z0-9._/-]+$`).MatchString(s) && !strings.HasPrefix(s, "-") {
		return s
	}
	if strings.HasPrefix(s, "-") {
		s = "./" + s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}
