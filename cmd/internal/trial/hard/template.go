package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sort"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"ecart/cmd/internal/trial/scene"
	"ecart/vision/pose/model"
)

// writer is a command that writes: its arguments, and the files that it creates apart from a
// journal.
type writer struct {
	name   string
	args   []string
	writes []string
	pose   bool // runs the pose network
}

const journalFlag = "--journal=hall.journal"

// writerCommands are all commands that write, for the template's folder.
var writerCommands = []writer{
	{name: "figure", args: words("read leap.mp4 --marks marks.json --measure hip-split --figure out.png"), writes: words("out.png")},
	{name: "keep", args: words("read leap.mp4 --marks marks.json --measure hip-split --keep Lio --day 2026-03-05 " + journalFlag)},
	{name: "follow", args: words("follow leap.mp4 --seeds marks.json --measure hip-split --csv out.csv --curve out.png --figure fig.png --clip out.mp4"), writes: words("out.csv out.png fig.png out.mp4")},
	{name: "passes", args: words("follow leap.mp4 --passes --seeds marks.json --measure hip-split --out row --force"), writes: words("row/leap.pass-01.csv row/leap.pass-01.png row/leap.passes.csv")},
	{name: "demo", args: words("demo --figure out.png --leave left"), writes: words("out.png left/leap.mp4 left/leap.marks.json")},
	{name: "sheet", args: words("sheet reading marks.json --take leap.mp4 --skill split-leap --out out.html"), writes: words("out.html")},
	{name: "quiz", args: words("sheet quiz monday.csv --skill split-leap --show-face --out out.html --key key.json --answers answers.csv"), writes: words("out.html key.json answers.csv")},
	{name: "change", args: words("change Wren --measure hip-split --figure out.svg " + journalFlag), writes: words("out.svg")},
	{name: "screen", args: words("screen Wren --movement split --figure out.png " + journalFlag), writes: words("out.png")},
	{name: "months", args: words("sheet months Wren --measure hip-split --out out.html " + journalFlag), writes: words("out.html")},
	{name: "screens", args: words("sheet screens monday.csv --movement split --to-take --out out.html " + journalFlag), writes: words("out.html")},
	{name: "protocol", args: words("sheet protocol hip-split --condition passive --out out.html"), writes: words("out.html")},
	{name: "squad", args: words("squad monday.csv --skill split-leap --keep --day 2026-03-06 --csv out.csv --figure out.png " + journalFlag), writes: words("out.csv out.png")},
	{name: "repeat", args: words("repeat leap.mp4 marks.json again.json third.json --measure hip-split --rater Iris --keep " + journalFlag)},
	{name: "export", args: words("journal export --out out.json " + journalFlag), writes: words("out.json")},
	{name: "import", args: words("journal import more.json " + journalFlag)},
	{name: "erase", args: words("journal erase Wren --yes " + journalFlag)},
	{name: "move", args: words("journal move Wren Heron " + journalFlag)},
	{name: "recompute", args: words("journal recompute --write " + journalFlag)},
	{name: "relocate", args: words("journal relocate moved.journal " + journalFlag), writes: words("moved.journal")},
	{name: "rules", args: words("rules new halle-nord --rules books"), writes: words("books/halle-nord.yaml books/rulebook.schema.json")},
	{name: "print", args: words("lens --print out.pdf --board 9x6 --square 24mm"), writes: words("out.pdf")},
	{name: "lens", args: words("lens board0.png board1.png board2.png board3.png board4.png --board 9x6 --out out.json --figure out.png"), writes: words("out.json out.png")},
	{name: "points", args: words("follow leap.mp4 --points foot=#28dc28 --csv out.csv --figure fig.png"), writes: words("out.csv fig.png")},
	{name: "group", args: words("change --all --measure hip-split --figure out.svg " + journalFlag), writes: words("out.svg")},
	{name: "group sheet", args: words("sheet group --measure hip-split --out out.html " + journalFlag), writes: words("out.html")},
	{name: "plan", args: words("sheet plan hip-split --change 8 --by " + time.Now().AddDate(0, 6, 0).Format(time.DateOnly) + " --out out.html"), writes: words("out.html")},
	{name: "pair", args: words("sheet pair marks.json other.json --take leap.mp4 --measure hip-split --out out.html"), writes: words("out.html")},
	{name: "session", args: words("sheet session monday.csv --skill split-leap --out out.html"), writes: words("out.html")},
	{name: "table", args: words("journal export --csv --out out.csv " + journalFlag), writes: words("out.csv")},
	{name: "propose", args: words("propose still.jpg --measure hip-split --out out.json --figure out.png"), writes: words("out.json out.png"), pose: true},
}

func words(s string) []string { return strings.Fields(s) }

// environment returns what a writer needs in addition to every command's environment: the
// path of the network.
func (w *writer) environment(b *bench) []string {
	if !w.pose {
		return nil
	}
	return []string{model.Variable + "=" + b.network()}
}

// network returns the path of the pose network that 'make setup-test' fetches.
func (b *bench) network() string { return filepath.Join(b.root, ".cache", "pose", model.Name) }

// withoutNetwork omits the case of a writer whose network is missing.
func (c *attempt) withoutNetwork(w *writer) bool {
	_, err := os.Stat(c.network())
	if err == nil || !w.pose {
		return false
	}
	c.omit("ecart propose: the pose network is not in .cache/pose; 'make setup-test' fetches it with npm")
	return true
}

// template is a folder in which every writer works, and the outcome of each when nothing
// disturbs it.
type template struct {
	dir     string
	journal []string // the readings in hall.journal
	after   map[string]outcome
}

type outcome struct {
	code    int
	took    time.Duration
	files   map[string]string
	journal []string
}

// makeTemplate fills the folder and runs each writer once.
func makeTemplate(ctx context.Context, b *bench) (*template, error) {
	takes, err := b.takes()
	if err != nil {
		return nil, err
	}
	t := &template{dir: filepath.Join(b.temp, "template"), after: map[string]outcome{}}
	c := &attempt{bench: b, ctx: ctx, r: randomFor(1, "template", 0), dir: t.dir}
	still := takes[slices.IndexFunc(takes, func(s wholeTake) bool { return s.name == "still.jpg" })]
	if err := fillTemplate(c, takes[0], still); err != nil {
		return nil, err
	}
	t.journal = c.inJournal("hall.journal")
	os.RemoveAll(filepath.Join(t.dir, "user"))
	var work errgroup.Group
	work.SetLimit(runtime.NumCPU())
	outcomes := make([]outcome, len(writerCommands))
	for i, w := range writerCommands {
		if c.withoutNetwork(&w) {
			continue
		}
		work.Go(func() (err error) {
			outcomes[i], err = b.undisturbed(ctx, t, i, w)
			return err
		})
	}
	err = work.Wait()
	for i, w := range writerCommands {
		t.after[w.name] = outcomes[i]
	}
	return t, err
}

// undisturbed runs a writer once in a copy of the template.
func (b *bench) undisturbed(ctx context.Context, t *template, i int, w writer) (outcome, error) {
	c := &attempt{bench: b, ctx: ctx, r: randomFor(1, "template", i+1), dir: filepath.Join(b.temp, "once-"+w.name)}
	if err := t.copyTo(c.dir); err != nil {
		return outcome{}, err
	}
	defer os.RemoveAll(c.dir)
	start := time.Now()
	e := c.run(order{env: w.environment(b)}, w.args...)
	o := outcome{code: e.code, took: time.Since(start), files: files(c.dir), journal: c.inJournal(c.live())}
	if e.code != 0 || len(c.faults) > 0 {
		return o, fmt.Errorf("undisturbed, %q fails with exit code %d: %s%v", e.call, e.code, e.errs, c.faults)
	}
	for _, name := range w.writes {
		if _, ok := o.files[name]; !ok && w.name != "rules" {
			return o, fmt.Errorf("undisturbed, %q does not write %s", e.call, name)
		}
	}
	return o, nil
}

func fillTemplate(c *attempt, clip, still wholeTake) error {
	if err := os.MkdirAll(filepath.Join(c.dir, "books"), 0o755); err != nil {
		return err
	}
	put := func(name string, data []byte) error { return os.WriteFile(filepath.Join(c.dir, name), data, 0o644) }
	other := strings.Replace(string(clip.marks), `"frame":14`, `"frame":13`, 1)
	list := "athlete,take,marks,condition\nWren,leap.mp4,other.json,in-skill\nIris,leap.mp4,marks.json,passive\n"
	errs := []error{put("leap.mp4", clip.data), put("still.jpg", still.data), put("marks.json", clip.marks), put("other.json", []byte(other)), put("monday.csv", []byte(list)),
		put("again.json", moved(clip.marks, 0.7)), put("third.json", moved(clip.marks, -0.4))}
	for i := range 5 {
		errs = append(errs, c.boardPicture(i))
	}
	for i, who := range words("Wren Wren Wren Merlin Plover Wren Merlin") {
		frame, day := fmt.Sprint(2+i), "2026-03-03"
		if i > 4 {
			day = "2026-04-07" // a change
		}
		condition := words("passive active in-skill")[i%3]
		e := c.run(order{}, "read", "leap.mp4", "--marks", "marks.json", "--skill", "split-leap", "--at", frame, "--keep", who,
			"--day", day, "--state", "warm", "--condition", condition, "--note", "note of "+who+" "+frame, journalFlag)
		if e.code != 0 {
			errs = append(errs, errors.New(e.errs))
		}
	}
	for i, call := range []string{"read leap.mp4 --marks marks.json --measure hip-split --at 10 --keep Dunlin --day 2026-03-04 --journal more.journal",
		"read leap.mp4 --marks marks.json --measure hip-split --at 11 --keep Siskin --day 2026-03-04 --journal more.journal",
		"journal export --out more.json --journal more.journal"} {
		if e := c.run(order{}, words(call)...); e.code != 0 {
			errs = append(errs, fmt.Errorf("%d: %s", i, e.errs))
		}
	}
	for _, name := range []string{"more.journal", "more.journal-wal", "more.journal-shm"} {
		os.Remove(filepath.Join(c.dir, name))
	}
	return errors.Join(errs...)
}

// moved returns a marks file whose points are moved to the right: the n-th one by n times d px.
func moved(marks []byte, d float64) []byte {
	var m map[string]any
	json.Unmarshal(marks, &m)
	for i, k := range m["marks"].([]any) {
		mark := k.(map[string]any)
		mark["x"] = mark["x"].(float64) + d*float64(i+1)
	}
	out, _ := json.Marshal(m)
	return out
}

// boardPicture writes a picture of a checkerboard, which is kept in .cache like the takes.
func (c *attempt) boardPicture(i int) error {
	kept := filepath.Join(c.root, ".cache", "hard", "takes-1", fmt.Sprintf("board%d.png", i))
	data, err := os.ReadFile(kept)
	if err != nil {
		s, err := scene.Named("board")
		if err != nil {
			return err
		}
		s.Camera.Width, s.Camera.Height, s.Camera.Focal = 960, 540, s.Camera.Focal/2
		s.Camera.CX, s.Camera.CY = 479.5, 269.5
		img, _ := s.Frame(2 * i)
		f, err := os.Create(kept)
		if err != nil {
			return err
		}
		if err := errors.Join(png.Encode(f, img), f.Close()); err != nil {
			return err
		}
		if data, err = os.ReadFile(kept); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(c.dir, fmt.Sprintf("board%d.png", i)), data, 0o644)
}

func (t *template) copyTo(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	return os.CopyFS(dir, os.DirFS(t.dir))
}

// live returns the name of the journal in the case's folder: it may have been relocated.
func (c *attempt) live() string {
	if _, err := os.Stat(filepath.Join(c.dir, "hall.journal")); err != nil {
		return "moved.journal"
	}
	return "hall.journal"
}

// inJournal returns one line for each reading of a journal, in order.
func (c *attempt) inJournal(name string) []string {
	e := c.run(order{}, "journal", "list", "--json", "--journal", name)
	c.checkEnd(e, 1)
	var rows []struct {
		Athlete, Day, Measure string
		Frame                 int
		Take                  struct{ Frame int }
		Angle                 float64 `json:"angle_deg"`
	}
	if e.code != 0 {
		c.fault("%s: %s", e.call, firstLine(e.errs, 200))
		return nil
	}
	if err := json.Unmarshal([]byte(e.out), &rows); err != nil {
		c.fault("%s: %v", e.call, err)
	}
	var out []string
	for _, r := range rows {
		out = append(out, fmt.Sprintf("%s %s %s frame %d: %.3f", r.Athlete, r.Day, r.Measure, r.Frame+r.Take.Frame, r.Angle))
	}
	sort.Strings(out)
	return out
}
