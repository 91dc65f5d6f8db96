package figure

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// written is a reading's numbers as people read them.
type written struct {
	Value, Plus string // "162.4°", "± 3.1"
	Between     string // "the true angle lies between 159 and 166, 95 % sure"
	Picture     string // how the angle looks on the picture, where that differs
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

// decided is a verdict in words: the band, and what stands below it.
type decided struct{ Head, Tail string }

func decide(r *reading.Reading) decided {
	says := r.Says()
	if len(says) == 0 {
		return decided{}
	}
	asked := r.AskedWords() + " is asked"
	if free := r.Verdict.FreeDeg(); free > 0 && !r.Skill.AtMost {
		asked = r.AskedWords()
	}
	return decided{draw.Minus(says[0]), draw.Minus(strings.Join(append([]string{asked}, says[1:]...), "; "))}
}

// origin says how the bands' figures are known, whose they are and where from.
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

// stills are the endings of takes that have one frame.
var stills = []string{".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}

// moment says which frame of which take was read; a still has only one.
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

// nameless is moment without the take's name, which may be a child's; a take that
// is known to be a still has no moment.
func nameless(t reading.Take) string {
	if moment(t) == draw.Clean(t.Name) {
		return ""
	}
	t.Name = ""
	return moment(t)
}
