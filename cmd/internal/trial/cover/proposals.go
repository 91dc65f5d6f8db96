package main

import (
	"context"
	"encoding/json"
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

// proposedScenes are those with the drawn athlete, whose knees are straight at the peak.
var proposedScenes = []string{"leap", "plain", "mats", "hand"}

// drawnAt is the part of full HD's sides at which the clips are drawn. The network sees squares of 256 pixels of either,
// and drawing takes a quarter of the time.
const drawnAt = 0.5

// proposal is what was proposed for one clip, against what is true in it. Angles are in
// degrees, in the picture, between the middle of the hips and the ankles.
type proposal struct {
	Scene string `json:"scene"`
	Seed  uint64 `json:"seed"`

	Refused   string  `json:"refused,omitempty"` // why nothing was proposed
	Frame     int     `json:"frame"`
	Late      float64 `json:"late_s"`     // the moment less the true one
	LateIn    float64 `json:"late_frame"` // the same in frames
	Deg       float64 `json:"deg"`        // as proposed
	Err       float64 `json:"err_deg"`    // less what is true in that frame
	SD        float64 `json:"sd_deg"`     // as the marks' covariances state it
	Held      bool    `json:"held"`       // by 1.96 of that
	Whole     bool    `json:"whole"`      // whether the reading's interval holds the true angle
	Swapped   bool    `json:"swapped"`    // the leg in front and the one behind
	Outlines  int     `json:"outlines"`   // legs
	HipPx     float64 `json:"hip_px"`     // how far the marks are off
	AnklePx   float64 `json:"ankle_px"`
	StaturePx float64 `json:"stature_px"` // by the true marks
	Seconds   float64 `json:"seconds"`
}

// proposals is the study.
type proposals struct {
	Rows []proposal `json:"rows"`
	// MostMiB are the largest resident sizes of this process, which also drew the clips, and
	// of the program that ran the network.
	MostMiB, ChildMiB int64
}

func proposalsOf(o options, terminal io.Writer) (printed, error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	tell, wipe := teller(terminal)
	defer wipe()
	folder := o.keep
	if folder == "" {
		folder = filepath.Join(".cache", "cover")
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	out := &proposals{}
	for seed := o.seed; seed < o.seed+o.variants; seed++ {
		for i, name := range proposedScenes { // each seed has its scene by turns, unless one is named
			if o.cell == "" && uint64(i) != seed%uint64(len(proposedScenes)) || !strings.Contains(name, o.cell) {
				continue
			}
			row, err := proposedFor(ctx, folder, name, seed, tell)
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

// bareClip draws a scene without stickers, or takes it from the folder.
func bareClip(ctx context.Context, folder, name string, seed uint64, tell func(string)) (string, *scene.Scene, scene.ClipTruth, error) {
	var truth scene.ClipTruth
	s, err := scene.Variant(name, seed)
	if err != nil {
		return "", nil, truth, err
	}
	s.Stickers = nil
	c := &s.Camera
	c.Width, c.Height = int(drawnAt*float64(c.Width)), int(drawnAt*float64(c.Height))
	c.Focal, c.CX, c.CY = drawnAt*c.Focal, drawnAt*(c.CX+0.5)-0.5, drawnAt*(c.CY+0.5)-0.5
	path := filepath.Join(folder, fmt.Sprintf("bare-half-%s-%d.mp4", name, seed))
	beside := strings.TrimSuffix(path, ".mp4") + ".truth.json"
	if data, err := os.ReadFile(beside); err == nil {
		return path, s, truth, json.Unmarshal(data, &truth)
	}
	truth, err = s.WriteClip(ctx, path, scene.ClipOptions{CRF: clipCRF, Truth: beside, Progress: func(done, of int) {
		tell(fmt.Sprintf("drawing %s, frame %d of %d", filepath.Base(path), done, of))
	}})
	return path, s, truth, err
}

func proposedFor(ctx context.Context, folder, name string, seed uint64, tell func(string)) (row proposal, err error) {
	row = proposal{Scene: name, Seed: seed}
	path, s, truth, err := bareClip(ctx, folder, name, seed, tell)
	if err != nil {
		return row, err
	}
	t, err := recorded.Open(ctx, path)
	if err != nil {
		return row, err
	}
	defer t.Close()
	d := desk.New(desk.Options{})
	q, err := d.PrepareWith(desk.Ask{Take: path, Measure: "hip-split", Camera: "by-eye", Confidence: 0.95, Seed: seed}, &reading.Marks{Schema: reading.MarksSchema})
	if err != nil {
		return row, err
	}
	tell(fmt.Sprintf("looking at %s", filepath.Base(path)))
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
	q.Request.Marks = p.Marks
	result, err := d.Read(ctx, t, q)
	if err != nil {
		row.Refused = err.Error()
		return row, nil
	}
	at, _ := s.Peak()
	row.Frame, row.Outlines = p.Marks.Frame, p.Outlines
	row.Late = p.MomentS - at
	row.LateIn = row.Late * s.FPS
	row.compare(p.Marks, &truth.Truths[p.Marks.Frame])
	r := result.Reading
	deg := truth.Truths[p.Marks.Frame].Angles["hip-split"]
	row.Whole = deg >= r.IntervalDeg[0] && deg <= r.IntervalDeg[1]
	return row, nil
}

// compare sets the marks against what is true in their frame.
func (row *proposal) compare(m *reading.Marks, truth *scene.Truth) {
	joint := func(name string) geometry.Point {
		k, ok := truth.Mark(name)
		if !ok {
			panic("no landmark " + name)
		}
		return geometry.Point{X: k.Pixel[0], Y: k.Pixel[1]}
	}
	middle := func(kind string) geometry.Point {
		a, b := joint("left-"+kind), joint("right-"+kind)
		return geometry.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
	}
	at, cov := map[string]geometry.Point{}, map[string][2][2]float64{}
	for _, p := range m.Marks {
		at[p.Landmark], cov[p.Landmark] = geometry.Point{X: p.X, Y: p.Y}, *p.Covariance
	}
	h, l, r := middle("hip"), joint("front-ankle"), joint("back-ankle")
	away := func(a, b geometry.Point) float64 { return a.Sub(b).Norm() }
	row.Swapped = away(at["front-ankle"], l)+away(at["back-ankle"], r) > away(at["front-ankle"], r)+away(at["back-ankle"], l)
	if row.Swapped {
		l, r = r, l
	}
	row.HipPx = away(at["hip"], h)
	row.AnklePx = math.Sqrt((math.Pow(away(at["front-ankle"], l), 2) + math.Pow(away(at["back-ankle"], r), 2)) / 2)
	row.StaturePx = (away(middle("shoulder"), h) + (away(h, l)+away(h, r))/2) / 0.779
	row.Deg = opening(at["hip"], at["front-ankle"], at["back-ankle"])
	row.Err = row.Deg - opening(h, l, r)
	// first order, with differences of a pixel
	variance := 0.0
	for _, name := range []string{"hip", "front-ankle", "back-ankle"} {
		var g [2]float64
		for k, step := range []geometry.Vec{{X: 1}, {Y: 1}} {
			moved := map[string]geometry.Point{"hip": at["hip"], "front-ankle": at["front-ankle"], "back-ankle": at["back-ankle"]}
			moved[name] = at[name].Add(step)
			up := opening(moved["hip"], moved["front-ankle"], moved["back-ankle"])
			moved[name] = at[name].Add(step.Scale(-1))
			g[k] = (up - opening(moved["hip"], moved["front-ankle"], moved["back-ankle"])) / 2
		}
		c := cov[name]
		variance += g[0]*g[0]*c[0][0] + 2*g[0]*g[1]*c[0][1] + g[1]*g[1]*c[1][1]
	}
	row.SD = math.Sqrt(variance)
	row.Held = math.Abs(row.Err) <= 1.96*row.SD
}

// opening is the angle at the hip, degrees, 0 to 360, through below: y is down.
func opening(h, a, b geometry.Point) float64 {
	if a.X < b.X {
		a, b = b, a
	}
	turn := math.Atan2(b.Y-h.Y, b.X-h.X) - math.Atan2(a.Y-h.Y, a.X-h.X)
	return math.Mod(turn*180/math.Pi+360, 360)
}

func (s *proposals) print(out io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "What is proposed for clips of the drawn athlete, without stickers\n\nclip        frame   late s  frames     deg     err      sd held whole swap legs  hip px ankle px     s\n%s\n", strings.Repeat("-", 98))
	yes := map[bool]string{true: "yes", false: "no"}
	groups := map[string][]proposal{}
	for _, r := range s.Rows {
		if r.Refused != "" {
			fmt.Fprintf(&b, "%-10s  %s\n", fmt.Sprintf("%s %d", r.Scene, r.Seed), r.Refused)
		} else {
			fmt.Fprintf(&b, "%-10s%7d%9.3f%8.2f%8.1f%8.2f%8.2f%5s%6s%5s%5d%8.1f%9.1f%6.1f\n", fmt.Sprintf("%s %d", r.Scene, r.Seed),
				r.Frame, r.Late, r.LateIn, r.Deg, r.Err, r.SD, yes[r.Held], yes[r.Whole], yes[r.Swapped], r.Outlines, r.HipPx, r.AnklePx, r.Seconds)
		}
		groups["all"] = append(groups["all"], r)
		if r.Refused == "" {
			kind := "without outlines"
			if r.Outlines == 2 {
				kind = "with outlines"
			}
			groups[kind] = append(groups[kind], r)
		}
	}
	fmt.Fprintf(&b, "\n%-18s%6s%9s%10s%9s%9s%7s%7s%9s%10s%11s\n", "", "clips", "refused", "in 1 frame", "late sd s", "rms deg", "held %", "swapped", "hip/stat", "ankle/stat", "s")
	for _, name := range []string{"all", "with outlines", "without outlines"} {
		rows := groups[name]
		var n, refused, near, held, swapped int
		var late, err, hip, ankle, seconds float64
		for _, r := range rows {
			if r.Refused != "" {
				refused++
				continue
			}
			n++
			near += count(math.Abs(r.LateIn) <= 1.5) // the nearest frame is the true one, or beside it
			held += count(r.Held)
			swapped += count(r.Swapped)
			late += r.Late * r.Late
			err += r.Err * r.Err
			hip += r.HipPx * r.HipPx / (r.StaturePx * r.StaturePx) / 2 // each axis
			ankle += r.AnklePx * r.AnklePx / (r.StaturePx * r.StaturePx) / 2
			seconds += r.Seconds
		}
		if n == 0 {
			continue
		}
		of := func(sum float64) float64 { return math.Sqrt(sum / float64(n)) }
		fmt.Fprintf(&b, "%-18s%6d%9d%9.0f%%%9.3f%9.2f%7.0f%7d%9.4f%10.4f%11.1f\n", name, len(rows), refused, percent(near, n), of(late), of(err), percent(held, n), swapped, of(hip), of(ankle), seconds/float64(n))
	}
	fmt.Fprintf(&b, "\nlargest resident size: %d MiB here, the drawing of clips included; %d MiB the program that ran the network\n", s.MostMiB, s.ChildMiB)
	b.WriteString(`
swap     the leg in front was taken for the one behind; the angle between them stays the same
late     the moment less the true one, in seconds and in frames
err, rms the angle proposed less the true one in that frame, in the picture, at the middle of the hips
sd, held what the marks' covariances state of it, and whether 1.96 of that holds it
whole    whether the interval of the reading from the proposals holds the athlete's true angle in that frame
stat     rms of each axis, as a part of stature

`)
	_, err := io.WriteString(out, b.String())
	return err
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}
