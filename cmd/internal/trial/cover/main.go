package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/term"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

func main() {
	log.SetFlags(0)
	var terminal io.Writer
	if term.IsTerminal(int(os.Stderr.Fd())) {
		terminal = os.Stderr
	}
	if err := run(os.Args[1:], os.Stdout, terminal); err != nil && !errors.Is(err, flag.ErrHelp) {
		log.Fatal(err)
	}
}

// options are the flags of the program.
type options struct {
	takes   int
	measure string
	class   string
	seed    uint64
	json    bool

	study    string
	variants uint64 // of each scene
	peaks    int
	keep     string
	cell     string
	verbose  bool
	dir      string
	every    int
	again    int
}

const usage = `cover counts how often the interval that a reading states holds the truth.

  go run ./cmd/internal/trial/cover                                  all of it, some minutes
  go run ./cmd/internal/trial/cover -measure hip-split -takes 200    a quick look
  go run ./cmd/internal/trial/cover -study stickers -seed 7          one sketch, coded in five ways
  go run ./cmd/internal/trial/cover -study peaks -peaks 100          clips about their peak
  go run ./cmd/internal/trial/cover -study pose -variants 5          marks proposed from the picture
  go run ./cmd/internal/trial/cover -study clips -dir FOLDER         real clips

`

func parse(args []string, out io.Writer) (options, error) {
	var o options
	f := flag.NewFlagSet("cover", flag.ContinueOnError)
	f.SetOutput(out)
	f.IntVar(&o.takes, "takes", 2000, "takes a row, or athletes")
	f.StringVar(&o.measure, "measure", "", "only this measure")
	f.StringVar(&o.class, "class", "", "only this set-up: squared, by-eye, unknown or plane")
	f.Uint64Var(&o.seed, "seed", 1, "another seed draws other takes; clips: proposes other things")
	f.StringVar(&o.study, "study", "", "only this study: "+strings.Join(studies, ", ")+"; clips needs -dir")
	f.Uint64Var(&o.variants, "variants", 1, "stickers: sketches, from -seed on; pose: clips a scene")
	f.IntVar(&o.peaks, "peaks", 500, "peaks: clips")
	f.StringVar(&o.keep, "keep", "", "stickers, pose: keep the rendered clips in this `folder`, and use those that are there (stickers, pose: .cache/cover)")
	f.StringVar(&o.cell, "cell", "", "stickers: only cells whose `name` has this in it; clips: only such descriptions; seasons: only such rows; pose: only such scenes")
	f.BoolVar(&o.verbose, "v", false, "stickers, clips: name each mark that is wrong, or disagrees")
	f.StringVar(&o.dir, "dir", "", "clips: the `folder` of the descriptions")
	f.IntVar(&o.every, "every", 1, "clips: seeds in every n-th frame")
	f.IntVar(&o.again, "again", 0, "stickers: how often each sticker is pointed at again, where it is lost for longest though it is plain")
	f.BoolVar(&o.json, "json", false, "print JSON")
	f.Usage = func() {
		fmt.Fprint(out, usage)
		f.PrintDefaults()
	}
	if err := f.Parse(args); err != nil {
		return o, err
	}
	if f.NArg() > 0 {
		return o, fmt.Errorf("%q is not a flag\ngive measure and set-up with -measure and -class", f.Arg(0))
	}
	if o.study != "" && !slices.Contains(studies, o.study) {
		return o, fmt.Errorf("there is no study %q\nthere are %s", o.study, strings.Join(studies, ", "))
	}
	if o.peaks < 20 {
		return o, fmt.Errorf("%d clips say nothing about one miss in twenty\ngive -peaks 200 or more", o.peaks)
	}
	if o.variants < 1 {
		return o, fmt.Errorf("no clip of any scene was asked for\ngive -variants 1 or more")
	}
	if o.takes < 20 {
		return o, fmt.Errorf("%d takes a row say nothing about one miss in twenty\ngive -takes 200 or more", o.takes)
	}
	return o, nil
}

func run(args []string, out, terminal io.Writer) error {
	o, err := parse(args, os.Stderr)
	if err != nil {
		return err
	}
	if o.study == "" && (o.measure != "" || o.class != "") {
		o.study = "angles"
	}
	all := map[string]any{}
	for _, name := range studies {
		if o.study != "" && o.study != name || name == "clips" && o.dir == "" || name == "pose" && o.study == "" {
			continue
		}
		var result printed
		switch name {
		case "angles":
			result, err = angles(o, terminal)
		case "seasons":
			result, err = seasonsOf(o, terminal)
		case "stickers":
			result, err = sketchesOf(o, terminal)
		case "clips":
			result, err = clipsOf(o, terminal)
		case "pose":
			result, err = proposalsOf(o, terminal)
		case "peaks":
			result, err = peaksOf(o, terminal)
		}
		if err != nil {
			return err
		}
		if all[name] = result; o.json {
			continue
		}
		if err := result.print(out); err != nil {
			return err
		}
	}
	if !o.json {
		return nil
	}
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	if o.study != "" {
		return e.Encode(all[o.study])
	}
	return e.Encode(all)
}

// studies are all studies, in the order of printing.
var studies = []string{"angles", "seasons", "stickers", "peaks", "clips", "pose"}

// printed is a study's result.
type printed interface{ print(out io.Writer) error }

// angles counts how often the intervals of single frames hold the truth.
func angles(o options, terminal io.Writer) (printed, error) {
	rows, err := choose(o)
	if err != nil {
		return nil, err
	}
	s := study{Takes: o.takes, Seed: o.seed}
	p := newProgress(terminal, len(rows)*o.takes)
	priors := reading.DefaultPriors()
	for _, r := range rows {
		p.on(r)
		all := r.run(o.takes, o.seed, priors, p.step)
		if r.given == nothingGiven {
			s.Rows = append(s.Rows, r.summarise(all))
		} else {
			s.Told = append(s.Told, r.summarise(all))
		}
		if r.given == nothingGiven && !r.lens && slices.Contains(detailed, r.measure.Name) {
			s.Thirds = append(s.Thirds, r.thirds(all)...)
		}
	}
	p.done()
	return &s, nil
}

// detailed are the measures with more rows.
var detailed = []string{"hip-split", "shoulder-flexion"}

// choose returns the requested rows; those with stature and distance given come last.
func choose(o options) ([]row, error) {
	var rows, more []row
	var measures, set []string
	for _, m := range append(geometry.Measures(), geometry.Measure{Name: legsApart}) {
		measures = append(measures, m.Name)
		for _, c := range classes {
			if o.measure != "" && o.measure != m.Name || o.class != "" && o.class != c.name {
				continue
			}
			rows = append(rows, row{m, c, false, nothingGiven}, row{m, c, true, nothingGiven})
			if slices.Contains(detailed, m.Name) && (c.name == "squared" || c.name == "by-eye") {
				more = append(more, row{m, c, false, allGiven})
			}
		}
	}
	for _, c := range classes {
		set = append(set, c.name)
	}
	if len(rows) > 0 {
		return append(rows, more...), nil
	}
	if o.measure != "" && !slices.Contains(measures, o.measure) {
		return nil, fmt.Errorf("there is no measure %q\nthere are %s", o.measure, strings.Join(measures, ", "))
	}
	return nil, fmt.Errorf("there is no set-up %q\nthere are %s", o.class, strings.Join(set, ", "))
}

// progress shows the progress of the study on a terminal.
type progress struct {
	w     io.Writer
	of    int
	n     atomic.Int64
	now   atomic.Value
	last  atomic.Int64 // ms
	start time.Time
}

func newProgress(w io.Writer, of int) *progress { return &progress{w: w, of: of, start: time.Now()} }

func (p *progress) on(r row) {
	p.now.Store(fmt.Sprintf("%s, %s", r.measure.Name, r.class.name))
}

func (p *progress) step() {
	n := p.n.Add(1)
	if p.w == nil {
		return
	}
	elapsed := time.Since(p.start)
	last := p.last.Load()
	const interval = 250 // ms
	if elapsed.Milliseconds()-last < interval || !p.last.CompareAndSwap(last, elapsed.Milliseconds()) {
		return
	}
	left := elapsed * time.Duration(int64(p.of)-n) / time.Duration(n)
	fmt.Fprintf(p.w, "\r\x1b[K%d of %d takes, %s; some %v left", n, p.of, p.now.Load(), left.Round(time.Second))
}

func (p *progress) done() {
	if p.w != nil {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
