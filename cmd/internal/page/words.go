package page

import (
	"fmt"
	"regexp"
	"strings"

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

// onSheet is an option as the sheet calls it.
func onSheet(option string) string {
	switch option {
	case "day", "state", "condition":
		return "the " + option
	}
	return "“" + option + "”"
}

// asParts are the sheet's own words for what a reading's advice says with flags, and an error
// with the names of options.
var asParts = strings.NewReplacer(
	"and say --camera squared", "and say so under “the camera”",
	"if the angle is right, say so with “beyond”", "if the angle is right, say so below",
	"and give --distance", "and write down how far it was",
	"give facing as", "say which way the chest faces:",
	"give leg as", "say what stands for the leg:",
	"give side as", "say whose marks count:",
	"make a lens file of this camera with 'ecart lens' and give it with --lens", "make a lens of this camera once, from pictures of a board, and choose it under “the camera”",
	"; 'ecart repeat' finds it", "; placing all marks again three times or more finds it",
	"; 'ecart repeat' finds a better one", "; placing all marks again more often finds a better one",
	"leave “measure” out, or leave “skill” out", "choose one of the two again",
	"; or give “oblique” in degrees", "",
	"cover the head yourself with “cover” x,y,r", "draw the cover by hand",
)

var flag = regexp.MustCompile(`--([a-z-]+)`)

// unflagged words a sentence for the sheet: it has no flags.
func unflagged(s string) string {
	return flag.ReplaceAllString(asParts.Replace(s), "“$1”")
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
