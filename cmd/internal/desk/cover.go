package desk

import (
	"fmt"
	"image"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
)

// Cover selects what is covered in a picture before it is written.
type Cover struct {
	Faceless bool
	At       []string // circles as a person writes them: x,y,r
}

// Asked reports whether anything is to be covered.
func (c *Cover) Asked() bool { return c.Faceless || len(c.At) > 0 }

// Needs returns an error if a cover was asked for and no picture is written; options names the
// options that write one.
func (c *Cover) Needs(pictures bool, options string) error {
	if !c.Asked() || pictures {
		return nil
	}
	name := fault.Option("faceless")
	if !c.Faceless {
		name = fault.Option("cover")
	}
	return fault.New(fmt.Sprintf("%s covers a picture, and none is written", name), "give "+options)
}

// Placed returns the circles that were given.
func (c *Cover) Placed() ([]figure.Cover, error) {
	var out []figure.Cover
	for _, s := range c.At {
		var v [3]float64
		parts := strings.Split(s, ",")
		ok := len(parts) == len(v)
		for i := 0; ok && i < len(v); i++ {
			v[i], ok = Decimal(strings.TrimSpace(parts[i]))
		}
		if !ok {
			return nil, fault.New(fmt.Sprintf(fault.Option("cover")+" %q is no circle", s), "write its middle and its radius in pixels, as "+fault.Option("cover")+" 910,210,80")
		}
		circle, err := figure.CoverAt(v[0], v[1], v[2])
		if err != nil {
			return nil, err
		}
		out = append(out, circle)
	}
	return out, nil
}

// Still returns the covers of one frame: the circles given, else the head from the marks.
func (c *Cover) Still(marks []reading.Placement, measure string) ([]figure.Cover, error) {
	if !c.Asked() {
		return nil, nil
	}
	placed, err := c.Placed()
	if err != nil || len(placed) > 0 {
		return placed, err
	}
	head, err := figure.HeadCover(marks, measure)
	return []figure.Cover{head}, err
}

// OfReading is Still for the marks of a reading.
func (c *Cover) OfReading(r *reading.Reading) ([]figure.Cover, error) {
	return c.Still(figure.MarksOf(r), r.Measure)
}

// Moving returns the covers of each frame of a clip: the head from the marks, and the circles
// given, which do not move. If no frame locates the head, the circles alone are
// used and headFound is false.
func (c *Cover) Moving(track *reading.Track, measure string) (at func(frame int) []figure.Cover, headFound bool, err error) {
	placed, err := c.Placed()
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

// Coverable returns an error, before the clip is followed, if the head cannot be covered: no
// seed is on a shoulder, or a circle is outside a picture of that size.
func (c *Cover) Coverable(seeds []sticker.Seed, measure string, size image.Point) error {
	if !c.Asked() {
		return nil
	}
	placed, err := c.Placed()
	if err != nil {
		return err
	}
	if len(placed) > 0 {
		return c.Inside(size)
	}
	var marks []reading.Placement
	for i, s := range seeds { // only the landmarks count; the places are made up
		marks = append(marks, reading.Placement{Landmark: s.Name, X: float64(i * i), Y: float64(7 * i)})
	}
	_, err = figure.HeadCover(marks, measure)
	return err
}

// Inside refuses a circle that lies wholly outside the picture, and so was meant for
// another one.
func (c *Cover) Inside(size image.Point) error {
	for _, s := range c.At {
		var x, y, r float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(s, " ", ""), "%g,%g,%g", &x, &y, &r); err != nil {
			continue // a decimal comma cannot stand here; Placed has refused the rest
		}
		if x+r < 0 || y+r < 0 || x-r > float64(size.X) || y-r > float64(size.Y) {
			return fault.New(fmt.Sprintf(fault.Option("cover")+" %q lies outside the picture of %d x %d", s, size.X, size.Y), "give it in pixels of the upright picture, (0, 0) top left")
		}
	}
	return nil
}

// Frames returns the covers of the frame that is to be read; for a track, of each of its
// frames.
func (c *Cover) Frames(q *Asked) (func(frame int) []figure.Cover, error) {
	if q.Track == nil || !c.Asked() || len(c.At) > 0 {
		still, err := c.Still(q.Request.Marks.Marks, q.Request.Measure.Name)
		return func(int) []figure.Cover { return still }, err
	}
	at, _, err := c.Moving(q.Track, q.Request.Measure.Name)
	return at, err
}
