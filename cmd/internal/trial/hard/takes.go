package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"ecart/cmd/internal/reading"
)

// build is which program is attacked.
type build int

const (
	plain build = iota
	sanitized
)

// slowSanitized is how much more memory and time the address sanitizer takes: its
// documentation says twice the time and two to three times the memory.
const slowSanitized = 3

// damagedTakes reads damaged takes, follows the clips, and opens them on the page.
func damagedTakes(which build) func(context.Context, *bench) (func(*attempt), int, error) {
	return func(_ context.Context, b *bench) (func(*attempt), int, error) {
		if which == sanitized && b.leftOut() {
			return nil, 0, notHere("its build takes minutes, a tenth leaves it out; make hard TENTH=1 ONLY=asan")
		}
		takes, err := b.takes()
		if err != nil {
			return nil, 0, err
		}
		program, scale := b.ecart, 1.0
		if which == sanitized {
			scale = slowSanitized
			if program, err = b.sanitized(); err != nil {
				return nil, 0, err
			}
		}
		b.warm.Do(func() { err = b.soundTakes(takes) })
		if err != nil {
			return nil, 0, err
		}
		return func(c *attempt) {
			// clips come twice as often as stills: more can break in them
			order := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 0, 1, 2, 3, 4, 5, 6, 7}
			c.damagedTake(takes[order[c.number%len(order)]], program, scale, which == plain)
		}, 0, nil
	}
}

// soundTakes checks that each take says the truth as long as it is whole: else the
// harness itself is wrong.
func (b *bench) soundTakes(takes []sound) error {
	for i, s := range takes {
		c := &attempt{bench: b, ctx: context.Background(), r: chance(1, "sound", i), dir: filepath.Join(b.temp, "sound")}
		if err := os.MkdirAll(c.dir, 0o755); err != nil {
			return err
		}
		c.readTake(s, s.name, s.data, b.ecart, 1, true)
		os.RemoveAll(c.dir)
		if len(c.faults) > 0 {
			return fmt.Errorf("%s is read wrongly though nothing was done to it: %s", s.name, strings.Join(c.faults, "; "))
		}
	}
	return nil
}

// damagedTake is one case.
func (c *attempt) damagedTake(s sound, program string, scale float64, withPage bool) {
	data, what, packetsOnly := damage(c.r, s.name, s.data)
	c.about = what
	c.mayBeSilent = withPage && packetsOnly && s.hevc()
	c.readTake(s, s.name, data, program, scale, packetsOnly)
	if withPage {
		c.onPage(s, data, packetsOnly)
	}
}

// saysDamage is any word by which a user learns that the file is not whole.
var saysDamage = regexp.MustCompile(`(?i)damage|cut short|made up|cannot be (read|decoded|shown)|broken|missing|does not fit`)

// saysDamage reports whether the answer says that the file is not whole, beside what it says of every HEVC clip.
func (e *ended) saysDamage() bool {
	return saysDamage.MatchString(strings.ReplaceAll(e.errs+e.out, reading.UnnoticedDamage, ""))
}

// readTake reads the take and, where it is a clip, follows it.
func (c *attempt) readTake(s sound, name string, data []byte, program string, scale float64, packetsOnly bool) {
	write := func(name string, data []byte) {
		if err := os.WriteFile(filepath.Join(c.dir, name), data, 0o644); err != nil {
			c.fault("the harness: %v", err)
		}
	}
	write(name, data)
	write("marks.json", s.marks)
	c.environment()
	before := files(c.dir)

	e := c.run(order{program: program}, "read", name, "--marks", "marks.json", "--measure", "hip-split", "--camera", "squared", "--json")
	c.sound(e, scale)
	c.left(before)
	if r, ok := c.result(e); ok {
		c.honest(e, r, s.truth[s.frame].Angles["hip-split"])
	}
	if s.still {
		return
	}
	e = c.run(order{program: program}, "follow", name, "--seeds", "marks.json", "--measure", "hip-split", "--camera", "squared", "--csv", "track.csv", "--json")
	c.sound(e, scale)
	c.left(before, "track.csv")
	if r, ok := c.result(e); ok && packetsOnly {
		c.honest(e, r, s.deg)
	}
	if e.code == 0 && !e.saysDamage() {
		c.trackTrue(s, filepath.Join(c.dir, "track.csv"), packetsOnly)
	}
}

// result is the reading that a command printed.
func (c *attempt) result(e ended) (r reading.Reading, ok bool) {
	if e.code != 0 {
		return r, false
	}
	if err := json.Unmarshal([]byte(e.out), &r); err != nil {
		c.fault("%s: exit code 0 and no reading: %v", e.call, err)
		return r, false
	}
	return r, true
}

// honest checks that a reading of which nothing is said holds the truth in its interval.
func (c *attempt) honest(e ended, r reading.Reading, truth float64) {
	if e.saysDamage() {
		return
	}
	if off := math.Abs(r.AngleDeg - truth); !(off <= r.ExpandedUncertaintyDeg) {
		c.fault("%s: %.1f ± %.1f, and %.1f is true; nothing is said of damage", e.call, r.AngleDeg, r.ExpandedUncertaintyDeg, truth)
	}
}

// A mark that is called seen is wrong where it lies further from the sticker's true
// middle than the sticker's own radius and six standard uncertainties.
const (
	stickerPx = 7.0
	manySD    = 6
)

// trackTrue checks the marks of a track that are called seen. Where only coded pictures
// were changed, frame n is the n-th of the truth; else a frame may be any of them, since
// tables that were changed may show fewer.
func (c *attempt) trackTrue(s sound, path string, packetsOnly bool) {
	text, err := os.ReadFile(path)
	if err != nil {
		c.fault("follow said done and wrote no track: %v", err)
		return
	}
	track, err := reading.ParseTrack("track.csv", text)
	if err != nil {
		c.fault("follow wrote a track that cannot be read: %v", err)
		return
	}
	wrong, worst := 0, ""
	for _, f := range track.Frames {
		best, say := math.Inf(1), ""
		for i, t := range s.truth {
			if packetsOnly && i != f.Frame {
				continue
			}
			far := 0.0
			text := ""
			for k, m := range f.Marks {
				sticker, ok := t.Sticker(track.Landmarks[k])
				if m.Seen != reading.Found || !ok {
					continue
				}
				off := math.Hypot(m.X-sticker.Pixel[0], m.Y-sticker.Pixel[1])
				sd := math.Sqrt(m.Covariance[0][0] + m.Covariance[1][1])
				if over := off - stickerPx - manySD*sd; over > far {
					far, text = over, fmt.Sprintf("frame %d: %s %.0f px off, seen, standard uncertainty %.1f px", f.Frame, track.Landmarks[k], off, sd)
				}
			}
			if far < best {
				best, say = far, text
			}
		}
		if best > 0 && !math.IsInf(best, 1) {
			wrong, worst = wrong+1, say
		}
	}
	if wrong > 0 {
		c.fault("ecart follow: %d frames with marks called seen that are not there, and nothing is said of damage: %s", wrong, worst)
	}
}
