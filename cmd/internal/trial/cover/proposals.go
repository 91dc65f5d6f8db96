package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	recorded "ecart/vision/take"
)

// proposedKind is a scene in which marks are proposed.
type proposedKind struct {
	name, scene string
	knees       float64 // additional bend of both knees, degrees
}

// proposedKinds are scenes of the drawn athlete: leaps with straight knees, in front of colours, from a camera held in
// the hand and with bent knees, and other skills.
var proposedKinds = []proposedKind{
	{"leap", "leap", 0}, {"plain", "plain", 0}, {"mats", "mats", 0}, {"hand", "hand", 0},
	{"knees", "plain", 25}, {"straddle", "straddle", 0}, {"handstand", "handstand", 0},
}

// drawnScale is the scale of the clips to full HD. The network sees squares of 256 pixels at either size, outlines are
// coarser, and drawing takes a ninth of the time.
const drawnScale = 1. / 3

// proposal compares what was proposed for one clip with the truth. Angles are in degrees, in
// the picture, between the places of the landmarks.
type proposal struct {
	Kind string `json:"kind"`
	Seed uint64 `json:"seed"`

	Refused string  `json:"refused,omitempty"` // why nothing was proposed
	Frame   int     `json:"frame"`
	Late    float64 `json:"late_s"`      // the moment less the true one
	LateIn  float64 `json:"late_frame"`  // the same in frames
	LateSD  float64 `json:"late_sd_s"`   // as stated
	Missed  float64 `json:"missed_deg"`  // the widest true angle less that in the frame
	Deg     float64 `json:"deg"`         // as proposed
	Err     float64 `json:"err_deg"`     // Deg less the true angle in that frame
	Network float64 `json:"network_deg"` // the same without the outlines of legs
	SD      float64 `json:"sd_deg"`      // as the marks' covariances state it
	Held    bool    `json:"held"`        // the error is within 1.96 of SD
	Whole   bool    `json:"whole"`       // whether the reading's interval holds the true angle
	Swapped bool    `json:"swapped"`     // left and right, or front and back
	Facing  string  `json:"facing"`      // as proposed
	Turned  bool    `json:"turned"`      // the facing is not the true one

	Outlines int                `json:"outlines"` // legs
	Off      map[string]float64 `json:"off"`      // rms of each axis, of stature, by kind of landmark, without the outlines of legs
	Marks    []markOff          `json:"marks"`
	Picked   []picked           `json:"picked"`
	Looks    int                `json:"looks"` // runs of the network
	Seconds  float64            `json:"seconds"`
}

// markOff is the error of a proposed mark as a part of stature, along the axis of the smallest stated uncertainty and
// across it, with the stated uncertainties.
type markOff struct {
	Landmark string     `json:"landmark"`
	Off      [2]float64 `json:"off"`
	SD       [2]float64 `json:"sd"`
}

// picked is a frame that a user may have picked instead of the proposed one: how much less than the peak a reading says
// that its angle is, from Least to Most, and how much less it truly is.
type picked struct {
	Frame  int     `json:"frame"`
	Least  float64 `json:"least_deg"`
	Most   float64 `json:"most_deg"`
	Missed float64 `json:"missed_deg"`
}

// pick reads every frame within the reach of the proposed moment.
func (row *proposal) pick(p *desk.Proposal, q reading.Request, truth *scene.ClipTruth, widest float64) {
	w := p.Marks.Widest
	if w == nil {
		return
	}
	for n := range truth.Truths {
		if math.Abs(float64(n)-w.Frame) > w.Reach {
			continue
		}
		q.Take.Frame = n
		r, err := reading.Read(q)
		if err != nil {
			continue
		}
		row.Picked = append(row.Picked, picked{n, r.Moment.LeastDeg, r.Moment.MostDeg, widest - truth.Truths[n].Angles[q.Measure.Name]})
	}
}

// proposals is the study.
type proposals struct {
	Rows []proposal `json:"rows"`
	// MostMiB and ChildMiB are the largest resident sizes of this process, which also drew the
	// clips, and of the program that ran the network.
	MostMiB, ChildMiB int64
}

func proposalsOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	show, erase := statusLine(terminal)
	defer erase()
	folder := o.keep
	if folder == "" {
		folder = filepath.Join(".cache", "cover")
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	out := &proposals{}
	for seed := o.seed; seed < o.seed+o.variants; seed++ {
		for i, kind := range proposedKinds { // the seeds take turns with the scenes, unless one is named
			if o.cell == "" && uint64(i) != seed%uint64(len(proposedKinds)) || !strings.Contains(kind.name, o.cell) {
				continue
			}
			row, err := proposedFor(ctx, folder, kind, seed, show)
			if errors.Is(err, context.Canceled) && len(out.Rows) > 0 {
				return out, nil // the clips before Ctrl-C
			}
			if err != nil {
				return nil, err
			}
			out.Rows = append(out.Rows, row)
		}
	}
	var own, child syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &own)
	_ = syscall.Getrusage(syscall.RUSAGE_CHILDREN, &child)
	out.MostMiB, out.ChildMiB = own.Maxrss>>10, child.Maxrss>>10
	return out, nil
}

// changed is a motion that is mirrored or has its knees bent more.
type changed struct {
	scene.Motion
	mirrored bool
	knees    float64 // radians
}

func (c changed) At(t float64) scene.Pose {
	p := c.Motion.At(t)
	for s := range p.Legs {
		p.Legs[s].Knee += c.knees
	}
	if c.mirrored {
		p.Turn += math.Pi
		p.Hips.X = -p.Hips.X
	}
	return p
}

// clipWithoutStickers draws a scene without stickers, or takes it from the folder. With odd seeds the athlete faces the
// other way.
func clipWithoutStickers(ctx context.Context, folder string, kind proposedKind, seed uint64, show func(string)) (string, *scene.Scene, scene.ClipTruth, error) {
	var truth scene.ClipTruth
	s, err := scene.Variant(kind.scene, seed)
	if err != nil {
		return "", nil, truth, err
	}
	s.Stickers = nil
	s.Motion = changed{s.Motion, seed%2 == 1, kind.knees * degree}
	c := &s.Camera
	c.Width, c.Height = int(drawnScale*float64(c.Width)), int(drawnScale*float64(c.Height))
	c.Focal, c.CX, c.CY = drawnScale*c.Focal, drawnScale*(c.CX+0.5)-0.5, drawnScale*(c.CY+0.5)-0.5
	path := filepath.Join(folder, fmt.Sprintf("bare-third-%s-%d.mp4", kind.name, seed))
	beside := strings.TrimSuffix(path, ".mp4") + ".truth.json"
	if data, err := os.ReadFile(beside); err == nil {
		return path, s, truth, json.Unmarshal(data, &truth)
	}
	truth, err = s.WriteClip(ctx, path, scene.ClipOptions{CRF: clipCRF, Truth: beside, Progress: func(done, of int) {
		show(fmt.Sprintf("drawing %s, frame %d of %d", filepath.Base(path), done, of))
	}})
	return path, s, truth, err
}

func proposedFor(ctx context.Context, folder string, kind proposedKind, seed uint64, show func(string)) (row proposal, err error) {
	row = proposal{Kind: kind.name, Seed: seed}
	path, s, truth, err := clipWithoutStickers(ctx, folder, kind, seed, show)
	if err != nil {
		return row, err
	}
	t, err := recorded.Open(ctx, path)
	if err != nil {
		return row, err
	}
	defer t.Close()
	d := desk.New(desk.Options{})
	q, err := d.PrepareWith(desk.Ask{Take: path, Measure: s.Measure, Camera: "by-eye", Confidence: 0.95, Seed: seed}, &reading.Marks{Schema: reading.MarksSchema})
	if err != nil {
		return row, err
	}
	show(fmt.Sprintf("looking at %s", filepath.Base(path)))
	start := time.Now()
	p, err := d.Propose(ctx, t, q, desk.Athlete{}, nil)
	row.Seconds = time.Since(start).Seconds()
	if ctx.Err() != nil {
		return row, ctx.Err()
	}
	if err != nil {
		row.Refused = err.Error()
		return row, nil
	}
	at, widest := s.Peak()
	row.Frame, row.Outlines, row.Looks = p.Marks.Frame, p.Outlines, p.Looks
	row.Late = p.MomentS - at
	row.LateIn, row.LateSD = row.Late*s.FPS, p.MomentSDS
	frame := &truth.Truths[p.Marks.Frame]
	row.Missed = widest - frame.Angles[s.Measure]
	row.Facing = string(p.Marks.Facing)
	row.Turned = row.Facing != "" && row.Facing != frame.Facing
	c := &compared{measure: q.Request.Measure, options: q.Request.Options, truth: frame}
	c.options.Facing = geometry.Facing(frame.Facing)
	if err := row.compare(c, p); err != nil {
		row.Refused = err.Error()
		return row, nil
	}
	q.Request.Marks = p.Marks
	result, err := d.Read(ctx, t, q)
	if ctx.Err() != nil {
		return row, ctx.Err()
	}
	if err != nil {
		row.Refused = err.Error()
		return row, nil
	}
	r := result.Reading
	row.pick(p, q.Request, &truth, widest)
	deg := frame.Angles[s.Measure] + c.hidden(p.Marks, r, seed)
	row.Whole = deg >= r.IntervalDeg[0] && deg <= r.IntervalDeg[1]
	return row, nil
}
