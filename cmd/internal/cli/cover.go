package cli

import (
	"fmt"
	"image"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
)

// coverOptions say what of a picture is covered before it is written.
type coverOptions struct {
	faceless bool
	at       []string // circles as typed: x,y,r
}

// coverHelp is what every command with a cover says of it.
const coverHelp = `--faceless covers the athlete's head with paper, worked out from the marks: a
shoulder says where it is, and the body how large. The cover is wide, since a
neck bends. --cover x,y,r puts a circle of your own in its place, and may be
given again for others in the picture, whom no mark tells of: look at the
picture before it leaves your hands. A covered picture names no file.`

func addCoverFlags(f *pflag.FlagSet, o *coverOptions) {
	f.BoolVar(&o.faceless, "faceless", false, "cover the head in every picture that is written")
	f.StringArrayVar(&o.at, "cover", nil, "cover a circle in place of that: `X,Y,R` are its middle and radius in pixels; may be given again")
}

// asked reports whether anything is to be covered.
func (o *coverOptions) asked() bool { return o.faceless || len(o.at) > 0 }

// needs refuses covers where no picture is written.
func (o *coverOptions) needs(pictures bool, flags string) error {
	if !o.asked() || pictures {
		return nil
	}
	name := "--faceless"
	if !o.faceless {
		name = "--cover"
	}
	return &inputError{fmt.Sprintf("%s covers a picture, and none is written", name), "give " + flags}
}

// placed are the circles that were given.
func (o *coverOptions) placed() ([]figure.Cover, error) {
	var out []figure.Cover
	for _, s := range o.at {
		var v [3]float64
		parts := strings.Split(s, ",")
		ok := len(parts) == len(v)
		for i := 0; ok && i < len(v); i++ {
			v[i], ok = decimal(strings.TrimSpace(parts[i]))
		}
		if !ok {
			return nil, &inputError{fmt.Sprintf("--cover %q is no circle", s), "write its middle and its radius in pixels, as --cover 910,210,80"}
		}
		c, err := figure.CoverAt(v[0], v[1], v[2])
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// still are the covers of one frame: the circles given, else the head by its marks.
func (o *coverOptions) still(marks []reading.Placement, measure string) ([]figure.Cover, error) {
	if !o.asked() {
		return nil, nil
	}
	placed, err := o.placed()
	if err != nil || len(placed) > 0 {
		return placed, err
	}
	c, err := figure.HeadCover(marks, measure)
	return []figure.Cover{c}, err
}

// moving are the covers of each frame of a clip: the head by its marks, and the
// circles given, which stay where they are. Where no frame tells where the head is
// the circles have to do, and told is false.
func (o *coverOptions) moving(track *reading.Track, measure string) (at func(frame int) []figure.Cover, told bool, err error) {
	placed, err := o.placed()
	if err != nil {
		return nil, false, err
	}
	head, err := figure.HeadTrack(track, measure)
	switch {
	case err == nil:
		return func(frame int) []figure.Cover { return append([]figure.Cover{head(frame)}, placed...) }, true, nil
	case len(placed) > 0:
		return func(int) []figure.Cover { return placed }, false, nil
	}
	return nil, false, err
}

// inside refuses a circle that lies wholly outside the picture: it was meant for
// another.
func (o *coverOptions) inside(size image.Point) error {
	for _, s := range o.at {
		var x, y, r float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(s, " ", ""), "%g,%g,%g", &x, &y, &r); err != nil {
			continue // a decimal comma cannot stand here; placed has refused the rest
		}
		if x+r < 0 || y+r < 0 || x-r > float64(size.X) || y-r > float64(size.Y) {
			return &inputError{fmt.Sprintf("--cover %q lies outside the picture of %d x %d", s, size.X, size.Y), "give it in pixels of the upright picture, (0, 0) top left"}
		}
	}
	return nil
}
