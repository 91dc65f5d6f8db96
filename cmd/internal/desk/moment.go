package desk

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/vision/take"
)

// moment is a parsed Ask.At: a frame, or a time from the first frame.
type moment struct {
	frame  int
	time   time.Duration
	isTime bool
}

// AtPeak asks for the moment at which the angle of a track is widest.
const AtPeak = "peak"

// longest is an upper bound of a clip's length, seconds.
const longest = 1e6

// parseAt reads 137 or 2.283s.
func parseAt(s string) (moment, error) {
	wrong := fault.New(fmt.Sprintf(fault.Option("at")+" %q is neither a frame nor a moment", s), "give a frame as 137, a moment as 2.283s, or peak for that of a track")
	if seconds, ok := strings.CutSuffix(s, "s"); ok {
		v, ok := Decimal(seconds)
		if !ok || v > longest {
			return moment{}, wrong
		}
		return moment{time: time.Duration(math.Round(v * 1e9)), isTime: true}, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || s[0] == '+' {
		return moment{}, wrong
	}
	return moment{frame: n}, nil
}

// Decimal parses a number of 0 or more, such as 1.52, with a point or a comma.
func Decimal(s string) (float64, bool) {
	s = strings.Replace(s, ",", ".", 1)
	if strings.Trim(s, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// Length parses 152cm, 1.52m or 1520mm and returns it in units of unit millimetres; "" is 0.
// option names it in errors.
func Length(option, s string, unit float64) (float64, error) {
	if s == "" {
		return 0, nil
	}
	text := strings.ToLower(strings.ReplaceAll(s, " ", ""))
	for _, u := range []struct {
		suffix string
		mm     float64
	}{{"mm", 1}, {"cm", 10}, {"m", 1000}} {
		if number, ok := strings.CutSuffix(text, u.suffix); ok {
			if v, ok := Decimal(number); ok && v > 0 {
				return v * u.mm / unit, nil
			}
			break
		}
	}
	return 0, fault.New(fmt.Sprintf("%s %q is no length", fault.Option(option), s), "write it with its unit, such as 152cm or 5m")
}

// FrameNamed refuses marks that name no frame for a clip of several.
func FrameNamed(m *reading.Marks, info take.Info) error {
	if !m.NoFrame || info.Frames <= 1 {
		return nil
	}
	return fault.New(fmt.Sprintf("the marks file names no frame, and %q has %d frames", info.Name, info.Frames),
		"write \"frame\": N into the marks file, N being the frame that was marked, counted from 0")
}

// frameAsked returns the frame that at names, else marked, that of the marks file. If the two
// differ, note says so.
func frameAsked(t *take.Take, at string, marked int) (n int, note string, err error) {
	info := t.Info()
	last := t.Time(info.Frames - 1)
	past := func(what string) error {
		if info.Still {
			return fault.New(fmt.Sprintf("%s is not in %q: it is a still, whose one frame is 0", what, info.Name),
				"leave "+fault.Option("at")+" out, and let \"frame\" be 0 in the marks file")
		}
		return fault.New(fmt.Sprintf("%s is not in %q: it has %d frames, 0 to %d, and lasts %.3f s", what, info.Name, info.Frames, info.Frames-1, info.Duration.Seconds()),
			fmt.Sprintf("name a frame up to %d or a moment up to %.3fs", info.Frames-1, last.Seconds()))
	}
	if at == "" {
		if marked < 0 || marked >= info.Frames {
			return 0, "", past(fmt.Sprintf("frame %d of the marks file", marked))
		}
		return marked, "", nil
	}
	m, err := parseAt(at)
	if err != nil {
		return 0, "", err
	}
	n = m.frame
	if m.isTime {
		if m.time > info.Duration && m.time > last {
			return 0, "", past("the moment " + at)
		}
		n = t.FrameAt(m.time)
	}
	if n >= info.Frames {
		return 0, "", past(fmt.Sprintf("frame %d", n))
	}
	if n != marked {
		note = fmt.Sprintf("the marks file is for frame %d; its marks are read on frame %d, as %s asks", marked, n, fault.Option("at"))
	}
	return n, note, nil
}
