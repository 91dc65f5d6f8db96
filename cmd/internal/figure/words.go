package figure

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// written holds a reading's numbers as printed.
type written struct {
	Value, Plus string // "162.4°", "± 3.1"
	Between     string // "the true angle lies between 159 and 166, 95 % sure"
	Picture     string // the angle in the picture, if it differs
}

func write(r *reading.Reading, opt Options) written {
	v, u := opt.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	p, _ := opt.Format(r.PictureAngleDeg, r.ExpandedUncertaintyDeg)
	w := written{
		Value:   draw.Minus(v) + "°",
		Plus:    "± " + u,
		Between: draw.Minus(r.BetweenWords()),
	}
	if p != v {
		w.Picture = fmt.Sprintf("straight off the picture %s°", draw.Minus(p))
	}
	return w
}

// decided is a verdict in words: the band, and the details below it.
type decided struct{ Head, Tail string }

func decide(r *reading.Reading) decided {
	says := r.Says()
	if len(says) == 0 {
		return decided{}
	}
	if r.Verdict == nil {
		return decided{draw.Minus(says[0]), draw.Minus(strings.Join(says[1:], "; "))}
	}
	asked := r.AskedWords() + " is asked"
	if free := r.Verdict.FreeDeg(); free > 0 && !r.Skill.AtMost {
		asked = r.AskedWords()
	}
	return decided{draw.Minus(says[0]), draw.Minus(strings.Join(append([]string{asked}, says[1:]...), "; "))}
}

// origin states the provenance, the title and the source of the bands.
func origin(s *reading.SkillRef) string {
	how, ok := map[string]string{
		"published":       "bands as published",
		"second-hand":     "bands at second hand",
		"common-practice": "bands by common practice",
		"from-memory":     "bands from memory",
		"":                "bands of unstated origin",
	}[draw.Clean(s.Provenance)]
	if !ok {
		how = "bands: " + draw.Clean(s.Provenance)
	}
	title := draw.Clean(s.Title)
	if title == "" {
		title = draw.Clean(s.Name)
	}
	parts := []string{title}
	for _, p := range []string{draw.Clean(s.Source), draw.Clean(s.Edition)} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return how + ": " + strings.Join(parts, "; ")
}

// stills lists the file name extensions of stills.
var stills = []string{".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}

// moment states the take and the frame; of a still only the take.
func moment(t reading.Take) string {
	var parts []string
	if n := draw.Clean(t.Name); n != "" {
		parts = append(parts, n)
	}
	if still := slices.Contains(stills, strings.ToLower(path.Ext(t.Name))); still && t.Frame == 0 {
		return strings.Join(parts, " · ")
	}
	parts = append(parts, fmt.Sprintf("frame %d", t.Frame))
	if draw.Finite(t.TimeS) {
		parts = append(parts, fmt.Sprintf("%.3f s", t.TimeS))
	}
	return strings.Join(parts, " · ")
}

// nameless is moment without the take's name, which may be a child's name; it is "" for a
// still.
func nameless(t reading.Take) string {
	if moment(t) == draw.Clean(t.Name) {
		return ""
	}
	t.Name = ""
	return moment(t)
}
