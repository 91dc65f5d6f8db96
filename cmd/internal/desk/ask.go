package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/strict"
	"ecart/geometry"
	"ecart/geometry/camera"
)

// Ask is the input of a reading as a person writes it; "" means not given.
type Ask struct {
	Take, Marks    string // files; the marks may be the table of a clip that was followed
	Skill, Measure string
	At             string // a frame such as 137, a moment such as 2.283s, or AtPeak
	Leg            string // whole or thigh
	Facing         string // left, right, up, down, camera or away
	Side           string // left, right, front or back
	Found          string // seen, felt or sticker
	Confirm        bool   // the proposals among the marks are confirmed
	Beyond         bool   // an angle beyond the reach of bodies is right
	Camera         string // squared, by-eye or unknown
	Oblique        float64
	ObliqueGiven   bool   // Oblique, degrees, is used instead of Camera
	Distance       string // lengths with their units
	Stature, Focal string
	Lens, Priors   string // files
	Confidence     float64
	Seed           uint64
}

// Sources are the contents of the input files of a reading.
type Sources struct {
	Given        []byte // the marks or the track
	Marks        []byte // the same if it is marks; nil if the marks come from elsewhere
	Lens, Priors []byte
}

// Asked is what is to be read, as far as it is known without the take. Reading it
// completes Request, which then gives the same reading by itself.
type Asked struct {
	Request reading.Request
	Track   *reading.Track // nil if the marks are of one frame
	At      string         // as in Ask
	Sources Sources

	readout [2]float64    // the direction in the upright picture in which the sensor's rows are read
	peak    *reading.Peak // the chosen peak, nil for a frame

	furtherSeeds []*reading.Marks // marks files of seeds after the first
}

// Prepare reads the small files named in the ask and parses its values.
func (d *Desk) Prepare(a Ask) (*Asked, error) { return d.PrepareWith(a, nil) }

// PrepareWith is Prepare with given marks; nil reads the marks that a names.
func (d *Desk) PrepareWith(a Ask, marks *reading.Marks) (*Asked, error) {
	if err := a.Check(); err != nil {
		return nil, err
	}
	var err error
	out := &Asked{At: a.At}
	q := &out.Request
	*q = reading.Request{Beyond: a.Beyond, Found: reading.HowFound(a.Found), Camera: a.Camera, ObliqueDeg: a.Oblique, Confidence: a.Confidence, Seed: a.Seed,
		Options: geometry.Options{Leg: geometry.Leg(a.Leg), Side: geometry.Side(a.Side), Facing: geometry.Facing(a.Facing)}}
	if q.Marks = marks; marks == nil {
		if err := out.readMarks(a); err != nil {
			return nil, err
		}
	}
	if a.Confirm {
		if !q.Marks.Proposed() {
			return nil, fault.New(fmt.Sprintf("%s was given, and no mark in %q is a proposal", fault.Option("confirm"), a.Marks), "leave it out: the marks are marks already")
		}
		q.Marks, out.Sources.Marks = q.Marks.Confirm(reading.ConfirmedAll), nil
	}
	if a.Priors != "" {
		if out.Sources.Priors, err = ReadSmall("priors file", a.Priors); err != nil {
			return nil, err
		}
		if q.Priors, err = reading.ParsePriors(a.Priors, out.Sources.Priors); err != nil {
			return nil, err
		}
	}
	if q.StatureMm, err = Length("stature", a.Stature, 1); err != nil {
		return nil, err
	}
	if q.DistanceM, err = Length("distance", a.Distance, 1000); err != nil {
		return nil, err
	}
	if q.FocalMm, err = Length("focal", a.Focal, 1); err != nil {
		return nil, err
	}
	if a.Lens != "" {
		if out.Sources.Lens, err = ReadSmall("lens file", a.Lens); err != nil {
			return nil, err
		}
		if q.Lens, err = ParseLens(a.Lens, out.Sources.Lens); err != nil {
			return nil, err
		}
	}
	return out, d.Target(q, a.Skill, a.Measure)
}

// readMarks reads the marks file, or the track of a clip that was followed.
func (q *Asked) readMarks(a Ask) error {
	if a.Marks == "" {
		return fault.New(fmt.Sprintf("no marks were given for %q", a.Take), "give a marks file with "+fault.Option("marks")+" FILE; "+fault.Operation("show the form of a marks file")+" shows its form")
	}
	data, err := ReadSmall("marks file", a.Marks)
	if err != nil {
		return err
	}
	q.Sources.Given = data
	if !strings.HasSuffix(strings.ToLower(a.Marks), ".csv") {
		q.Sources.Marks = data
		q.Request.Marks, err = reading.ParseMarks(a.Marks, data)
		return err
	}
	if q.Track, err = reading.ParseTrack(a.Marks, data); err != nil {
		return err
	}
	if a.At == "" {
		at := fault.Option("at")
		return fault.New(fmt.Sprintf("the track %q has %d frames, and none was asked for", a.Marks, len(q.Track.Frames)), "give "+at+" peak, "+at+" N or "+at+" 2.283s")
	}
	q.Request.Marks = &reading.Marks{Schema: reading.MarksSchema, Facing: a.Facing}
	return nil
}

// marksFile reads and parses a marks file.
func marksFile(path string) (*reading.Marks, error) {
	data, err := ReadSmall("marks file", path)
	if err != nil {
		return nil, err
	}
	return reading.ParseMarks(path, data)
}

// Check checks what can be checked without any file.
func (a *Ask) Check() error {
	for _, f := range []struct {
		option, value string
		choices       []string
	}{
		{"leg", a.Leg, []string{"whole", "thigh"}},
		{"side", a.Side, []string{"left", "right", "front", "back"}},
		{"facing", a.Facing, []string{"left", "right", "up", "down", "camera", "away"}},
		{"found", a.Found, reading.HowsFound()},
		{"camera", a.Camera, []string{"squared", "by-eye", "unknown"}},
	} {
		if err := OneOf(f.option, f.value, f.choices...); err != nil {
			return err
		}
	}
	if a.At != "" && a.At != AtPeak {
		if _, err := parseAt(a.At); err != nil {
			return err
		}
	}
	camera, oblique, confidence := fault.Option("camera"), fault.Option("oblique"), fault.Option("confidence")
	switch {
	case a.Camera != "" && a.ObliqueGiven:
		return fault.New(camera+" and "+oblique+" both say how far the camera may be from square", "give one of them")
	case a.ObliqueGiven && !(a.Oblique > 0 && a.Oblique <= 45):
		return fault.New(fmt.Sprintf("%s %g is not above 0 and at most 45 degrees", oblique, a.Oblique), "3 is a camera squared along the floor, 10 one set up by eye")
	case !(a.Confidence > 0.5 && a.Confidence < 1):
		return fault.New(fmt.Sprintf("%s %g is not between 0.5 and 1", confidence, a.Confidence), "0.95 is usual")
	}
	return nil
}

// OneOf returns an error if an option's value is none of the choices; "" is not given.
func OneOf(option, value string, choices ...string) error {
	if value == "" {
		return nil
	}
	for _, c := range choices {
		if value == c {
			return nil
		}
	}
	n := len(choices) - 1
	return fault.New(fmt.Sprintf("%s %q is not known", fault.Option(option), value),
		fmt.Sprintf("give %s as %s or %s", fault.Option(option), strings.Join(choices[:n], ", "), choices[n]))
}

// ParseLens parses a lens file; name is used in errors.
func ParseLens(name string, data []byte) (*camera.Lens, error) {
	var f camera.LensFile
	if err := strict.JSON(data, &f, strict.Options{}); err != nil {
		do := ""
		var e *strict.Error
		if errors.As(err, &e) {
			do = e.Do + "; "
		}
		return nil, fault.New(fmt.Sprintf("the lens file %q cannot be read: %v", name, err), do+fault.Operation("make a lens")+" writes one")
	}
	return f.Lens(name)
}

// ReadSmall reads a file that people write by hand, of 8 MB at most. what names its kind in
// errors.
func ReadSmall(what, path string) ([]byte, error) {
	const most = 8 << 20
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault.New(fmt.Sprintf("there is no %s %q", what, path), "check the name and the folder it is in")
	case err != nil:
		return nil, fault.New(fmt.Sprintf("the %s %q cannot be looked at: %v", what, path, output.Cause(err)), "check the name and the permissions")
	case info.IsDir():
		return nil, fault.New(fmt.Sprintf("the %s %q is a folder", what, path), "name a file in it")
	case !info.Mode().IsRegular():
		return nil, fault.New(fmt.Sprintf("the %s %q is no ordinary file", what, path), "save it to a file first")
	case info.Size() > most:
		return nil, fault.New(fmt.Sprintf("the %s %q has %d bytes, too many for what it is said to be", what, path, info.Size()), "check that it is the right file")
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fault.New(fmt.Sprintf("the %s %q cannot be read: %v", what, path, output.Cause(err)), "check its permissions")
	}
	return data, nil
}
