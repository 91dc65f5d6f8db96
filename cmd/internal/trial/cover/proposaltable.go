package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
)

// compared has the truth in the frame of the proposed marks.
type compared struct {
	measure geometry.Measure
	options geometry.Options
	truth   *scene.Truth
}

// joint returns the place of a landmark; a name without a side means the midpoint of both. With other it is the landmark
// of the other side.
func (c *compared) joint(name string, other bool) geometry.Point {
	side, kind, one := strings.Cut(name, "-")
	place := func(name string) geometry.Point {
		k, ok := c.truth.Mark(name)
		if !ok {
			panic("no landmark " + name)
		}
		return geometry.Point{X: k.Pixel[0], Y: k.Pixel[1]}
	}
	if !one {
		a, b := place("left-"+name), place("right-"+name)
		return geometry.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
	}
	if other {
		side = map[string]string{"left": "right", "right": "left", "front": "back", "back": "front"}[side]
	}
	return place(side + "-" + kind)
}

// angle returns the measure's angle in degrees; the places are in px, with y down.
func (c *compared) angle(at map[string]geometry.Point) (float64, error) {
	up := map[string]geometry.Point{}
	for name, p := range at {
		up[name] = geometry.Point{X: p.X, Y: -p.Y}
	}
	bound, err := c.measure.Bind(up, c.options)
	if err != nil {
		return 0, err
	}
	var points []geometry.Point
	for _, name := range bound.Landmarks() {
		points = append(points, up[name])
	}
	return bound.Angle(points).Degrees(), nil
}

// hidden returns a random change of the true angle, degrees, because a person's joints are not where they seem to be: the
// places are moved by the uncertainty that the reading states for that (Reading.Marks less the placement's part). The
// drawn athlete's joints are exactly where they are drawn, so that this part of the interval would not be tested otherwise.
func (c *compared) hidden(proposed *reading.Marks, r *reading.Reading, seed uint64) float64 {
	random := rand.New(rand.NewPCG(seed, 18))
	at, moved := map[string]geometry.Point{}, map[string]geometry.Point{}
	for _, m := range r.Marks {
		i := slices.IndexFunc(proposed.Marks, func(p reading.Placement) bool { return p.Landmark == m.Landmark })
		sd := math.Sqrt(math.Max(0, m.Covariance[0][0]-proposed.Marks[i].Covariance[0][0])) // the same each way
		at[m.Landmark] = c.joint(m.Landmark, false)
		moved[m.Landmark] = at[m.Landmark].Add(geometry.Vec{X: sd * random.NormFloat64(), Y: sd * random.NormFloat64()})
	}
	a, err := c.angle(at)
	b, err2 := c.angle(moved)
	if err != nil || err2 != nil {
		return 0
	}
	return circularDifference(b, a)
}

// stature returns the athlete's stature in the picture, px.
func (c *compared) stature() float64 {
	sum := c.joint("shoulder", false).Sub(c.joint("hip", false)).Norm()
	for _, side := range []string{"left-", "right-"} {
		k := c.joint(side+"knee", false)
		sum += (k.Sub(c.joint(side+"hip", false)).Norm() + k.Sub(c.joint(side+"ankle", false)).Norm()) / 2
	}
	return sum / 0.779
}

// compare compares the marks with the truth in their frame.
func (row *proposal) compare(c *compared, p *desk.Proposal) (err error) {
	places := func(m *reading.Marks) map[string]geometry.Point {
		at := map[string]geometry.Point{}
		for _, k := range m.Marks {
			at[k.Landmark] = geometry.Point{X: k.X, Y: k.Y}
		}
		return at
	}
	at, network := places(p.Marks), places(p.Marks)
	if p.Network != nil {
		network = places(p.Network)
	}
	names, sums := map[string]bool{}, [2]float64{}
	for name, p := range at {
		sums[0] += p.Sub(c.joint(name, false)).Norm()
		sums[1] += p.Sub(c.joint(name, true)).Norm()
		names[strings.SplitN(name, "-", 2)[0]] = true
	}
	two := names["left"] && names["right"] || names["front"] && names["back"] // with one side alone, the other may be as near
	row.Swapped = two && sums[1] < sums[0]
	truth, off, n := map[string]geometry.Point{}, map[string]float64{}, map[string]float64{}
	for name := range at {
		truth[name] = c.joint(name, row.Swapped)
		kind := name[strings.LastIndex(name, "-")+1:]
		d := network[name].Sub(truth[name]).Norm() / c.stature()
		off[kind] += d * d / 2
		n[kind]++
		if kind == "elbow" { // the part of the error that turns the arm
			arm := c.joint(name, row.Swapped).Sub(c.joint(strings.Replace(name, "elbow", "shoulder", 1), row.Swapped))
			miss := network[name].Sub(truth[name])
			d := (arm.X*miss.Y - arm.Y*miss.X) / arm.Norm() / c.stature()
			off["elbow across"] += d * d
			n["elbow across"]++
		}
	}
	for _, m := range p.Marks.Marks {
		row.Marks = append(row.Marks, newMarkOff(m, truth[m.Landmark], c.stature()))
	}
	row.Off = map[string]float64{}
	for kind, sum := range off {
		row.Off[kind] = math.Sqrt(sum / n[kind])
	}
	want, err := c.angle(truth)
	if err != nil {
		return err
	}
	if row.Deg, err = c.angle(at); err != nil {
		return err
	}
	alone, err := c.angle(network)
	if err != nil {
		return err
	}
	row.Err, row.Network = circularDifference(row.Deg, want), circularDifference(alone, want)
	// first order, with differences of a pixel
	variance := 0.0
	for _, m := range p.Marks.Marks {
		var g [2]float64
		for k, step := range []geometry.Vec{{X: 1}, {Y: 1}} {
			old := at[m.Landmark]
			at[m.Landmark] = old.Add(step)
			up, e1 := c.angle(at)
			at[m.Landmark] = old.Add(step.Scale(-1))
			down, e2 := c.angle(at)
			at[m.Landmark] = old
			if e1 == nil && e2 == nil {
				g[k] = circularDifference(up, down) / 2
			}
		}
		v := m.Covariance
		variance += g[0]*g[0]*v[0][0] + 2*g[0]*g[1]*v[0][1] + g[1]*g[1]*v[1][1]
	}
	row.SD = math.Sqrt(variance)
	row.Held = math.Abs(row.Err) <= 1.96*row.SD
	return nil
}

// newMarkOff compares a mark with its true place.
func newMarkOff(m reading.Placement, truth geometry.Point, stature float64) markOff {
	v := m.Covariance
	// the direction of the smaller standard deviation
	turn := math.Atan2(2*v[0][1], v[0][0]-v[1][1])/2 + math.Pi/2
	sin, cos := math.Sincos(turn)
	miss := geometry.Point{X: m.X, Y: m.Y}.Sub(truth)
	mean, half := (v[0][0]+v[1][1])/2, math.Hypot((v[0][0]-v[1][1])/2, v[0][1])
	return markOff{m.Landmark, [2]float64{(miss.X*cos + miss.Y*sin) / stature, (miss.Y*cos - miss.X*sin) / stature},
		[2]float64{math.Sqrt(mean-half) / stature, math.Sqrt(mean+half) / stature}}
}

func (s *proposals) print(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "What is proposed for clips of the drawn athlete, without stickers\n\nclip            frame   late s    ± s  frames  missed     deg     err network      sd held whole swap legs facing looks      s\n%s\n", strings.Repeat("-", 122))
	yes := map[bool]string{true: "yes", false: "no"}
	groups, order := map[string][]proposal{}, []string{"all", "outlines", "none"}
	for _, k := range proposedKinds {
		order = append(order, k.name)
	}
	for _, r := range s.Rows {
		if r.Refused != "" {
			fmt.Fprintf(&b, "%-14s  %s\n", fmt.Sprintf("%s %d", r.Kind, r.Seed), r.Refused)
		} else {
			facing := r.Facing
			if r.Turned {
				facing += "!"
			}
			fmt.Fprintf(&b, "%-14s%7d%9.3f%7.3f%8.2f%8.2f%8.1f%8.2f%8.2f%8.2f%5s%6s%5s%5d%7s%6d%7.1f\n", fmt.Sprintf("%s %d", r.Kind, r.Seed),
				r.Frame, r.Late, 2*r.LateSD, r.LateIn, r.Missed, r.Deg, r.Err, r.Network, r.SD, yes[r.Held], yes[r.Whole], yes[r.Swapped], r.Outlines, facing, r.Looks, r.Seconds)
		}
		in := []string{"all", r.Kind}
		if r.Outlines == 2 {
			in = append(in, "outlines")
		} else if r.Refused == "" {
			in = append(in, "none")
		}
		for _, g := range in {
			groups[g] = append(groups[g], r)
		}
	}
	fmt.Fprintf(&b, "\n%-10s%6s%9s%12s%10s%9s%7s%9s%9s%7s%7s%8s%8s%7s%7s%8s\n", "", "clips", "refused", "in 1 frame", "or 1 deg", "late sd", "held %", "rms deg", "network", "held %", "whole", "swapped", "turned", "sd", "looks", "s")
	for _, name := range order {
		if len(groups[name]) > 0 {
			b.WriteString(kindLine(name, groups[name]))
		}
	}
	b.WriteString("\nwithout the outlines of legs, rms of each axis as a part of stature:")
	off, n := map[string]float64{}, map[string]float64{}
	var kinds []string
	for _, r := range s.Rows {
		for kind, v := range r.Off {
			if n[kind] == 0 {
				kinds = append(kinds, kind)
			}
			off[kind] += v * v
			n[kind]++
		}
	}
	slices.Sort(kinds)
	for _, kind := range kinds {
		fmt.Fprintf(&b, "  %s %.4f", kind, math.Sqrt(off[kind]/n[kind]))
	}
	of, held := 0, 0
	for _, r := range s.Rows {
		for _, p := range r.Picked {
			of++
			held += count(p.Least <= p.Missed && p.Missed <= p.Most)
		}
	}
	fmt.Fprintf(&b, "\nwhat a frame near the moment is said to have missed holds what it missed in %d of %d frames", held, of)
	fmt.Fprintf(&b, "\nlargest resident size: %d MiB here, the drawing of clips included; %d MiB the program that ran the network\n", s.MostMiB, s.ChildMiB)
	b.WriteString(`
swap     left was taken for right, or front for back
facing   the way the chest is proposed to face; ! where it is another
late     the moment less the true one, in seconds and in frames; held: two of its stated deviations, ±, hold it
missed   the widest true angle less the true one in the proposed frame
or 1 deg the moment is within one frame, or misses no more than a degree: that is what a frame costs in a leap. The top of
         a position that is held is flat, and has no such moment
err, rms the angle proposed less the true one in that frame, in the picture, between the landmarks' places
network  the same without the outlines of legs
sd, held what the marks' covariances state of it, and whether 1.96 of that holds it
whole    whether the interval of the reading from the proposals holds the athlete's true angle in that frame, joints moved by
         what nobody sees of a person's (landmark in priors.yaml); the drawn athlete's are where they are drawn
outlines both legs have one; none: one or none has
looks    runs of the network

`)
	_, err := io.WriteString(out, b.String())
	return err
}

// maxMissed is what the frame beside the nearest misses at most of a leap, degrees: its angle falls by 1500 degrees a
// second squared, over one and a half frames of a sixtieth.
const maxMissed = 1

// kindLine is one line of the table.
func kindLine(name string, rows []proposal) string {
	var n, refused, near, wide, momentHeld, held, whole, swapped, turned int
	var late, err, network, sd, looks, seconds float64
	for _, r := range rows {
		if r.Refused != "" {
			refused++
			continue
		}
		n++
		near += count(math.Abs(r.LateIn) <= 1.5) // the nearest frame is the true one, or beside it
		wide += count(math.Abs(r.LateIn) <= 1.5 || r.Missed <= maxMissed)
		momentHeld += count(math.Abs(r.Late) <= 2*r.LateSD)
		held, whole = held+count(r.Held), whole+count(r.Whole)
		swapped, turned = swapped+count(r.Swapped), turned+count(r.Turned)
		late += r.Late * r.Late
		err += r.Err * r.Err
		network += r.Network * r.Network
		sd += r.SD * r.SD
		looks += float64(r.Looks)
		seconds += r.Seconds
	}
	if n == 0 {
		return fmt.Sprintf("%-10s%6d%9d\n", name, len(rows), refused)
	}
	of := func(sum float64) float64 { return math.Sqrt(sum / float64(n)) }
	return fmt.Sprintf("%-10s%6d%9d%11.0f%%%9.0f%%%9.3f%7.0f%9.2f%9.2f%7.0f%7.0f%8d%8d%7.2f%7.0f%8.1f\n", name, len(rows), refused,
		percent(near, n), percent(wide, n), of(late), percent(momentHeld, n), of(err), of(network), percent(held, n), percent(whole, n), swapped, turned, of(sd), looks/float64(n), seconds/float64(n))
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}
