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
	"sort"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"ecart/cmd/internal/trial/scene"
)

// writer is a command that writes: its words, and the files it makes beside a journal.
type writer struct {
	name   string
	args   []string
	writes []string
}

const journalFlag = "--journal=hall.journal"

// theWriters are all commands that write, as they are given in the template's folder.
var theWriters = []writer{
	{"figure", words("read leap.mp4 --marks marks.json --measure hip-split --figure out.png"), words("out.png")},
	{"keep", words("read leap.mp4 --marks marks.json --measure hip-split --keep Lio --day 2026-03-05 " + journalFlag), nil},
	{"follow", words("follow leap.mp4 --seeds marks.json --measure hip-split --csv out.csv --curve out.png --figure fig.png --clip out.mp4"), words("out.csv out.png fig.png out.mp4")},
	{"passes", words("follow leap.mp4 --passes --seeds marks.json --measure hip-split --out row --force"), words("row/leap.pass-01.csv row/leap.pass-01.png row/leap.passes.csv")},
	{"demo", words("demo --figure out.png --leave left"), words("out.png left/leap.mp4 left/leap.marks.json")},
	{"sheet", words("sheet reading marks.json --take leap.mp4 --skill split-leap --out out.html"), words("out.html")},
	{"quiz", words("sheet quiz monday.csv --skill split-leap --show-face --out out.html --key key.json --answers answers.csv"), words("out.html key.json answers.csv")},
	{"change", words("change Wren --measure hip-split --figure out.svg " + journalFlag), words("out.svg")},
	{"screen", words("screen Wren --movement split --figure out.png " + journalFlag), words("out.png")},
	{"months", words("sheet months Wren --measure hip-split --out out.html " + journalFlag), words("out.html")},
	{"screens", words("sheet screens monday.csv --movement split --to-take --out out.html " + journalFlag), words("out.html")},
	{"protocol", words("sheet protocol hip-split --condition passive --out out.html"), words("out.html")},
	{"squad", words("squad monday.csv --skill split-leap --keep --day 2026-03-06 --csv out.csv --figure out.png " + journalFlag), words("out.csv out.png")},
	{"repeat", words("repeat leap.mp4 marks.json again.json third.json --measure hip-split --rater Iris --keep " + journalFlag), nil},
	{"export", words("journal export --out out.json " + journalFlag), words("out.json")},
	{"import", words("journal import more.json " + journalFlag), nil},
	{"erase", words("journal erase Wren --yes " + journalFlag), nil},
	{"move", words("journal move Wren Heron " + journalFlag), nil},
	{"recompute", words("journal recompute --write " + journalFlag), nil},
	{"relocate", words("journal relocate moved.journal " + journalFlag), words("moved.journal")},
	{"rules", words("rules new halle-nord --rules books"), words("books/halle-nord.yaml books/rulebook.schema.json")},
	{"print", words("lens --print out.pdf --board 9x6 --square 24mm"), words("out.pdf")},
	{"lens", words("lens board0.png board1.png board2.png board3.png board4.png --board 9x6 --out out.json --figure out.png"), words("out.json out.png")},
}

func words(s string) []string { return strings.Fields(s) }

// template is a folder in which every writer works, and what each comes to there when
// nothing disturbs it.
type template struct {
	dir     string
	journal []string // what is in hall.journal
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
	c := &attempt{bench: b, ctx: ctx, r: chance(1, "template", 0), dir: t.dir}
	if err := fillTemplate(c, takes[0]); err != nil {
		return nil, err
	}
	t.journal = c.inJournal("hall.journal")
	os.RemoveAll(filepath.Join(t.dir, "user"))
	var work errgroup.Group
	work.SetLimit(runtime.NumCPU())
	outcomes := make([]outcome, len(theWriters))
	for i, w := range theWriters {
		work.Go(func() (err error) {
			outcomes[i], err = b.undisturbed(ctx, t, i, w)
			return err
		})
	}
	err = work.Wait()
	for i, w := range theWriters {
		t.after[w.name] = outcomes[i]
	}
	return t, err
}

// undisturbed runs a writer once in a copy of the template.
func (b *bench) undisturbed(ctx context.Context, t *template, i int, w writer) (outcome, error) {
	c := &attempt{bench: b, ctx: ctx, r: chance(1, "template", i+1), dir: filepath.Join(b.temp, "once-"+w.name)}
	if err := t.copyTo(c.dir); err != nil {
		return outcome{}, err
	}
	defer os.RemoveAll(c.dir)
	start := time.Now()
	e := c.run(order{}, w.args...)
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

func fillTemplate(c *attempt, clip sound) error {
	if err := os.MkdirAll(filepath.Join(c.dir, "books"), 0o755); err != nil {
		return err
	}
	put := func(name string, data []byte) error { return os.WriteFile(filepath.Join(c.dir, name), data, 0o644) }
	other := strings.Replace(string(clip.marks), `"frame":14`, `"frame":13`, 1)
	list := "athlete,take,marks,condition\nWren,leap.mp4,other.json,in-skill\nIris,leap.mp4,marks.json,passive\n"
	errs := []error{put("leap.mp4", clip.data), put("marks.json", clip.marks), put("other.json", []byte(other)), put("monday.csv", []byte(list)),
		put("again.json", moved(clip.marks, 0.7)), put("third.json", moved(clip.marks, -0.4))}
	for i := range 5 {
		errs = append(errs, c.boardPicture(i))
	}
	for i, who := range words("Wren Wren Wren Merlin Plover") {
		frame := fmt.Sprint(2 + i)
		condition := words("passive active in-skill")[i%3]
		e := c.run(order{}, "read", "leap.mp4", "--marks", "marks.json", "--skill", "split-leap", "--at", frame, "--keep", who,
			"--day", "2026-03-03", "--state", "warm", "--condition", condition, "--note", "note of "+who+" "+frame, journalFlag)
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

// moved is a marks file with every point moved by d px to the right.
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

// boardPicture writes a picture of a checkerboard, kept in .cache as the takes are.
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

// live is the name of the journal in the case's folder: it may have been relocated.
func (c *attempt) live() string {
	if _, err := os.Stat(filepath.Join(c.dir, "hall.journal")); err != nil {
		return "moved.journal"
	}
	return "hall.journal"
}

// inJournal is what a journal says of its readings, one line a reading, in order.
func (c *attempt) inJournal(name string) []string {
	e := c.run(order{}, "journal", "list", "--json", "--journal", name)
	c.sound(e, 1)
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
