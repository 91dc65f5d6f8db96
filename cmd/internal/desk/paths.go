package desk

import (
	"context"
	"fmt"
	"image"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/vision/sticker"
	"ecart/vision/take"
)

// pointsForm explains how a point is written.
var pointsForm = "write " + fault.Option("points") + " hand=812,344@20: a name, a place in pixels, and the frame; or " + fault.Option("points") + " hand=#d01ef0"

// ParsePoints reads hand=812,344@20 and hand=#d01ef0. A place of a name that was given before is the same point in another frame.
func ParsePoints(list []string) ([]sticker.Seed, error) {
	var out []sticker.Seed
	for _, item := range list {
		name, where, ok := strings.Cut(strings.TrimSpace(item), "=")
		if !ok {
			return nil, fault.New(fmt.Sprintf(fault.Option("points")+" %q has no name and place", item), pointsForm)
		}
		if !isPointName(name) {
			return nil, fault.New(fmt.Sprintf(fault.Option("points")+" names a point %q: a name has up to 40 letters, digits and hyphens", name), pointsForm)
		}
		seed := sticker.Seed{Name: name, Alone: true}
		if strings.HasPrefix(where, "#") {
			c, err := sticker.ParseColour(where)
			if err != nil {
				return nil, fault.New(fmt.Sprintf(fault.Option("points")+" gives %q the colour %q: %v", name, where, err), pointsForm)
			}
			seed.Colour = &c
		} else if seed.At, seed.Frame, ok = parsePlace(where); !ok {
			return nil, fault.New(fmt.Sprintf(fault.Option("points")+" gives %q the place %q", name, where), pointsForm)
		}
		named := slices.IndexFunc(out, func(s sticker.Seed) bool { return s.Name == name })
		if named >= 0 && (seed.Colour != nil || out[named].Colour != nil || out[named].In(seed.Frame)) {
			return nil, fault.New(fmt.Sprintf(fault.Option("points")+" names %q twice, and not in two frames", name), "give each point a name of its own, or the places of one point in frames of their own")
		}
		out = addSeed(out, seed)
	}
	return out, nil
}

func isPointName(s string) bool {
	const most = 40
	return s != "" && utf8.RuneCountInString(s) <= most &&
		!strings.ContainsFunc(s, func(r rune) bool { return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// parsePlace parses 812,344@20; the frame is 0 if absent.
func parsePlace(s string) (at geometry.Point, frame int, ok bool) {
	place, number, framed := strings.Cut(s, "@")
	x, y, two := strings.Cut(place, ",")
	var okX, okY bool
	if at.X, okX = Decimal(strings.TrimSpace(x)); !okX {
		return at, 0, false
	}
	if at.Y, okY = Decimal(strings.TrimSpace(y)); !okY || !two || strings.Contains(y, ",") {
		return at, 0, false
	}
	if framed {
		n, err := strconv.Atoi(number)
		if err != nil || n < 0 || number[0] == '+' {
			return at, 0, false
		}
		frame = n
	}
	return at, frame, true
}

// DrawPaths writes the clip, with the paths of the last second in every frame, into an empty
// file; name names it in errors. progress may be nil.
func DrawPaths(ctx context.Context, out *os.File, name string, t *take.Take, track *reading.Track, covers []figure.Cover, progress func(done, of, found int)) error {
	first, last := track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame
	jumps := track.Jumps()
	trail := int(max(10, math.Round(t.Info().NominalRate)))
	return DrawClip(ctx, out, name, t, first, last, func(f *take.Frame) (image.Image, error) {
		if progress != nil {
			progress(f.Index-first+1, last-first+1, len(track.Landmarks))
		}
		return figure.DrawPaths(large.Of(f), figure.Paths{Track: track, From: f.Index - trail, To: f.Index, At: f.Index, Jumps: jumps}, covers...)
	})
}

// Paths are the paths of followed points, and their JSON.
type Paths struct {
	Schema string         `json:"schema"`
	Take   string         `json:"take"`
	First  int            `json:"first_frame"`
	Last   int            `json:"last_frame"`
	FromS  float64        `json:"from_s"`
	ToS    float64        `json:"to_s"`
	Points []PathPoint    `json:"points"`
	Jumps  []reading.Jump `json:"jumps"`
}

// PathPoint is one point; places are pixels, x right and y down.
type PathPoint struct {
	Name   string        `json:"name"`
	Seen   int           `json:"seen_frames"`
	Gaps   []reading.Gap `json:"gaps"`     // frames in which it was not seen
	Left   *PathPlace    `json:"leftmost"` // null if it was never seen, as the others
	Right  *PathPlace    `json:"rightmost"`
	Top    *PathPlace    `json:"highest"`
	Bottom *PathPlace    `json:"lowest"`
}

// PathPlace is where a point was in a frame.
type PathPlace struct {
	Frame int     `json:"frame"`
	TimeS float64 `json:"time_s"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
}

// PathsSchema names the form of the JSON.
const PathsSchema = "ecart/paths/1"

// NewPaths returns the paths of a track through a clip.
func NewPaths(info take.Info, t *reading.Track) *Paths {
	n := len(t.Frames)
	p := &Paths{Schema: PathsSchema, Take: info.Name, First: t.Frames[0].Frame, Last: t.Frames[n-1].Frame,
		FromS: t.Frames[0].TimeS, ToS: t.Frames[n-1].TimeS, Jumps: append([]reading.Jump{}, t.Jumps()...)}
	for k, name := range t.Landmarks {
		one := PathPoint{Name: name, Gaps: append([]reading.Gap{}, t.Lost(k)...)}
		for _, f := range t.Frames {
			m := f.Marks[k]
			if m.Seen != reading.Found {
				continue
			}
			one.Seen++
			at := &PathPlace{f.Frame, f.TimeS, m.X, m.Y}
			for _, e := range []struct {
				to   **PathPlace
				more func(a, b *PathPlace) bool
			}{
				{&one.Left, func(a, b *PathPlace) bool { return a.X < b.X }},
				{&one.Right, func(a, b *PathPlace) bool { return a.X > b.X }},
				{&one.Top, func(a, b *PathPlace) bool { return a.Y < b.Y }},
				{&one.Bottom, func(a, b *PathPlace) bool { return a.Y > b.Y }},
			} {
				if *e.to == nil || e.more(at, *e.to) {
					*e.to = at
				}
			}
		}
		p.Points = append(p.Points, one)
	}
	return p
}
