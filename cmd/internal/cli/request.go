package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/geometry"
)

// readOptions are what a reading was asked with, as typed.
type readOptions struct {
	files          output.Set // what is written
	take, marks    string
	skill, measure string
	at             string
	leg, facing    string
	side           string
	found          string
	beyond         bool
	camera         string
	oblique        float64
	obliqueGiven   bool
	distance       string
	stature        string
	focal, lens    string
	confidence     float64
	priors, rules  string
	figure         string
	cover          coverOptions
	json           bool
	seed           uint64

	track *reading.Track // where the marks file was a track
	raw   asRead

	keep keepOptions
	date string // with keep: of the take
}

// request is the part of the reading that needs no take.
func (o *readOptions) request(warn io.Writer) (reading.Request, error) {
	return o.requestWith(warn, nil)
}

// requestWith is request where the marks are known already, or are to come.
func (o *readOptions) requestWith(warn io.Writer, marks *reading.Marks) (reading.Request, error) {
	var err error
	q := reading.Request{Beyond: o.beyond, Found: reading.HowFound(o.found), Camera: o.camera, ObliqueDeg: o.oblique, Confidence: o.confidence, Seed: o.seed,
		Options: geometry.Options{Leg: geometry.Leg(o.leg), Side: geometry.Side(o.side), Facing: geometry.Facing(o.facing)}}
	if err := o.check(); err != nil {
		return q, err
	}
	if q.Marks = marks; marks == nil {
		if q.Marks, err = o.readMarks(); err != nil {
			return q, err
		}
	}
	if o.priors != "" {
		data, err := readSmall("priors file", o.priors)
		if err != nil {
			return q, err
		}
		if q.Priors, err = reading.ParsePriors(o.priors, data); err != nil {
			return q, err
		}
		o.raw.priors = data
	}
	if q.StatureMm, err = length("stature", o.stature, 1); err != nil {
		return q, err
	}
	if q.DistanceM, err = length("distance", o.distance, 1000); err != nil {
		return q, err
	}
	if q.FocalMm, err = length("focal", o.focal, 1); err != nil {
		return q, err
	}
	if o.lens != "" {
		data, err := readSmall("lens file", o.lens)
		if err != nil {
			return q, err
		}
		if q.Lens, err = parseLens(o.lens, data); err != nil {
			return q, err
		}
		o.raw.lens = data
	}
	return q, o.target(&q, warn)
}

// readMarks reads the marks file, or the track of a clip that was followed.
func (o *readOptions) readMarks() (*reading.Marks, error) {
	if o.marks == "" {
		return nil, &inputError{fmt.Sprintf("no marks were given for %q", o.take), "give a marks file with --marks FILE; 'ecart read --help' shows its form"}
	}
	data, err := readSmall("marks file", o.marks)
	if err != nil {
		return nil, err
	}
	o.raw.file = data
	if !strings.HasSuffix(strings.ToLower(o.marks), ".csv") {
		o.raw.marks = data
		return reading.ParseMarks(o.marks, data)
	}
	if o.track, err = reading.ParseTrack(o.marks, data); err != nil {
		return nil, err
	}
	if o.at == "" {
		return nil, &inputError{fmt.Sprintf("the track %q has %d frames, and none was asked for", o.marks, len(o.track.Frames)), "give --at peak, --at N or --at 2.283s"}
	}
	return &reading.Marks{Schema: reading.MarksSchema, Facing: o.facing}, nil
}

// check looks through what is known without any file.
func (o *readOptions) check() error {
	for _, f := range []struct {
		flag, value string
		choices     []string
	}{
		{"leg", o.leg, []string{"whole", "thigh"}},
		{"side", o.side, []string{"left", "right", "front", "back"}},
		{"facing", o.facing, []string{"left", "right", "up", "down", "camera", "away"}},
		{"found", o.found, reading.HowsFound()},
		{"camera", o.camera, []string{"squared", "by-eye", "unknown"}},
	} {
		if err := oneOf(f.flag, f.value, f.choices...); err != nil {
			return err
		}
	}
	if o.at != "" && o.at != atPeak {
		if _, err := parseAt(o.at); err != nil {
			return err
		}
	}
	switch {
	case o.camera != "" && o.obliqueGiven:
		return &inputError{"--camera and --oblique both say how far the camera may be from square", "give one of them"}
	case o.obliqueGiven && !(o.oblique > 0 && o.oblique <= 45):
		return &inputError{fmt.Sprintf("--oblique %g is not above 0 and at most 45 degrees", o.oblique), "3 is a camera squared along the floor, 10 one set up by eye"}
	case !(o.confidence > 0.5 && o.confidence < 1):
		return &inputError{fmt.Sprintf("--confidence %g is not between 0.5 and 1", o.confidence), "0.95 is usual"}
	}
	return nil
}

// target finds the skill and the measure.
func (o *readOptions) target(q *reading.Request, warn io.Writer) error {
	if o.skill == "" && o.measure == "" {
		return &inputError{"neither a skill nor a measure was named", "give --skill NAME ('ecart rules' lists them) or --measure NAME ('ecart read --help' does)"}
	}
	name := o.measure
	if o.skill != "" {
		lib, err := library(o.rules)
		if err != nil {
			return err
		}
		skill, err := lib.Find(o.skill)
		if err != nil {
			return orLeftOut(lib, err)
		}
		warnRules(lib, warn)
		q.Skill = &skill
		if name == "" {
			name = skill.Measure
		}
	}
	m, ok := geometry.Lookup(name)
	if !ok {
		hint := "'ecart read --help' lists the measures"
		if near := geometry.Nearest(name, measureNames()); near != "" {
			hint = fmt.Sprintf("did you mean %q? %s", near, hint)
		}
		return &inputError{fmt.Sprintf("there is no measure %q", name), hint}
	}
	q.Measure = m
	return nil
}

func measureNames() []string {
	var names []string
	for _, m := range geometry.Measures() {
		names = append(names, m.Name)
	}
	return names
}

func isMeasure(name string) bool {
	_, ok := geometry.Lookup(name)
	return ok
}

func addRulesDir(f *pflag.FlagSet, dir *string) {
	f.StringVar(dir, "rules", "", "a `FOLDER` of rule books of your own; else ecart/rules in your configuration folder")
}

// library loads the built-in rule books and the user's own, those of the
// folder named or of the usual one.
func library(dir string) (*rulebook.Library, error) {
	if dir != "" {
		if _, err := os.Stat(dir); err != nil {
			return nil, &inputError{fmt.Sprintf("there is no folder of rule books %q: %v", dir, output.Cause(err)), "check the name; --rules wants the folder and not the file"}
		}
	} else if config, err := os.UserConfigDir(); err == nil {
		dir = filepath.Join(config, "ecart", "rules")
		if info, err := os.Stat(dir); err != nil || !info.IsDir() {
			dir = ""
		}
	}
	return rulebook.Load(dir, isMeasure)
}

// warnRules says what is wrong with the user's own rule books, one line a file.
func warnRules(lib *rulebook.Library, warn io.Writer) {
	more := map[string]int{}
	for _, p := range lib.Warnings() {
		more[p.File]++
	}
	for _, p := range lib.Warnings() {
		n := more[p.File]
		if n == 0 {
			continue
		}
		more[p.File] = 0
		all := ""
		if n > 1 {
			all = fmt.Sprintf("; 'ecart rules check %s' says all of it", p.File)
		}
		fmt.Fprintln(warn, oneLine(p.Error()+all))
	}
}

// orLeftOut adds to the error about a skill that was not found the rule book
// of the user's that was left out, in which it may be.
func orLeftOut(lib *rulebook.Library, err error) error {
	for _, p := range lib.Warnings() {
		if p.Line > 0 {
			return &inputError{fmt.Sprintf("%s; a rule book was left out: %s", strings.TrimSpace(err.Error()), p.Error()), p.Hint()}
		}
	}
	return err
}
