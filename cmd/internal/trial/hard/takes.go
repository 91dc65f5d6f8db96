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

// build is the kind of program that is attacked.
type build int

const (
	plain build = iota
	sanitized
)

// slowSanitized is how much more memory and time the program takes under the address
// sanitizer, whose documentation says twice the time and two to three times the memory.
const slowSanitized = 3

// damagedTakes reads damaged takes, follows the clips, and opens them on the page.
func damagedTakes(which build) func(context.Context, *bench) (func(*attempt), int, error) {
	return func(_ context.Context, b *bench) (func(*attempt), int, error) {
		if which == sanitized && b.quickRun() {
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
		b.warm.Do(func() { err = b.checkWholeTakes(takes) })
		if err != nil {
			return nil, 0, err
		}
		return func(c *attempt) {
			// clips are nearly twice as frequent as stills: more can break in them
			order := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 0, 1, 2, 3, 4, 5, 6, 7}
			c.damagedTake(takes[order[c.number%len(order)]], program, scale, which == plain)
		}, 0, nil
	}
}

// checkWholeTakes checks that each take is read correctly before it is damaged: else the
// harness itself is wrong.
func (b *bench) checkWholeTakes(takes []wholeTake) error {
	for i, s := range takes {
		c := &attempt{bench: b, ctx: context.Background(), r: randomFor(1, "sound", i), dir: filepath.Join(b.temp, "sound")}
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

// damagedTake runs one case.
func (c *attempt) damagedTake(s wholeTake, program string, scale float64, withPage bool) {
	data, what, packetsOnly := damage(c.r, s.name, s.data)
	c.about = what
	c.mayGoUnnoticed = withPage && packetsOnly && s.hevc()
	c.readTake(s, s.name, data, program, scale, packetsOnly)
	if withPage {
		c.onPage(s, data, packetsOnly)
	}
}

// damageWords matches any word that tells the user that the file is damaged.
var damageWords = regexp.MustCompile(`(?i)damage|cut short|made up|cannot be (read|decoded|shown)|broken|missing|does not fit`)

// saysDamage reports whether the output says that the file is damaged, apart from the sentence about every HEVC clip.
func (e *ended) saysDamage() bool {
	return damageWords.MatchString(strings.ReplaceAll(e.errs+e.out, reading.UnnoticedDamage, ""))
}

// readTake reads the take and, where it is a clip, follows it.
func (c *attempt) readTake(s wholeTake, name string, data []byte, program string, scale float64, packetsOnly bool) {
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
	c.checkEnd(e, scale)
	c.checkLeftovers(before)
	if r, ok := c.result(e); ok {
		c.checkInterval(e, r, s.truth[s.frame].Angles["hip-split"])
	}
	if s.still {
		return
	}
	e = c.run(order{program: program}, "follow", name, "--seeds", "marks.json", "--measure", "hip-split", "--camera", "squared", "--csv", "track.csv", "--json")
	c.checkEnd(e, scale)
	c.checkLeftovers(before, "track.csv")
	if r, ok := c.result(e); ok && packetsOnly {
		c.checkInterval(e, r, s.deg)
	}
	if e.code == 0 && !e.saysDamage() {
		c.checkTrack(s, filepath.Join(c.dir, "track.csv"), packetsOnly)
	}
}

// result returns the reading that a command printed.
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

// checkInterval checks that the interval of a reading without a word of damage contains the truth.
func (c *attempt) checkInterval(e ended, r reading.Reading, truth float64) {
	if e.saysDamage() {
		return
	}
	if off := math.Abs(r.AngleDeg - truth); !(off <= r.ExpandedUncertaintyDeg) {
		c.fault("%s: %.1f ± %.1f, and %.1f is true; nothing is said of damage", e.call, r.AngleDeg, r.ExpandedUncertaintyDeg, truth)
	}
}

// A mark that is called seen is wrong where it is further from the sticker's true centre
// than the sticker's radius and six standard uncertainties.
const (
	stickerRadius = 7.0
	allowedSDs    = 6
)

// checkTrack checks the marks of a track that are called seen. Where only coded pictures
// were changed, frame n is frame n of the truth; else it may be any of them, since with
// changed tables fewer frames may be shown.
func (c *attempt) checkTrack(s wholeTake, path string, packetsOnly bool) {
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
		best, bestText := math.Inf(1), ""
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
				if over := off - stickerRadius - allowedSDs*sd; over > far {
					far, text = over, fmt.Sprintf("frame %d: %s %.0f px off, seen, standard uncertainty %.1f px", f.Frame, track.Landmarks[k], off, sd)
				}
			}
			if far < best {
				best, bestText = far, text
			}
		}
		if best > 0 && !math.IsInf(best, 1) {
			wrong, worst = wrong+1, bestText
		}
	}
	if wrong > 0 {
		c.fault("ecart follow: %d frames with marks called seen that are not there, and nothing is said of damage: %s", wrong, worst)
	}
}
