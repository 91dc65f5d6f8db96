package cli

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/geometry/camera"
)

const (
	keyTrack = "frame,time_s,hip x_px,hip y_px,hip var_x_px2,hip cov_xy_px2,hip var_y_px2,hip seen,angle_deg,standard_uncertainty_deg\n" +
		"0,0,965,470,1,0,1,seen,,\n1,0.0167,966,471,1,0,1,seen,,\n"
	keyMarks = `{"schema": "ecart/marks/1", "frame": 43, "facing": "right", "marks": [{"landmark": "hip", "x": 965, "y": 470}, {"landmark": "front-ankle", "x": 1210, "y": 640}, {"landmark": "back-ankle", "x": 598, "y": 655},
		{"landmark": "front-knee", "x": 1080, "y": 550}, {"landmark": "back-knee", "x": 780, "y": 560}, {"landmark": "shoulder", "x": 970, "y": 300}]}`
	keyPriors = "schema: ecart/priors/1\nlandmark:\n  sd_mm: {hip: 15}\n"
	keyBook   = "schema: ecart/rulebook/1\nbook: halle-nord\ntitle: goals\ndocument: goals of the hall\nedition: spring\nskills:\n  - name: squad-goal\n    title: goal\n    measure: hip-split\n    asked_deg: 160\n" +
		"    origin: {provenance: common-practice, source: the coaches}\n    bands:\n      - {over_deg: 0, deduction: \"0.10\"}\n"
)

// unread reads the rows of a list as 'ecart squad' does, but opens no take, so that takes may have any
// bytes. reads is the number of rows that it would have opened.
func unread(t *testing.T, dir string, list []byte, o flags.ReadOptions, memory session.Memory) (outcomes []session.Outcome, reads int) {
	l, err := session.Parse("list.csv", list)
	require.NoError(t, err)
	reader := desk.New(desk.Options{Rules: o.Rules}).RowReader(o.Ask, o.Keep.Filing, dir)
	var mu sync.Mutex
	run := session.Run(t.Context(), l, session.Options{Memory: memory, Reader: func(ctx context.Context, row *session.Row) (session.Question, error) {
		q, err := reader(ctx, row)
		q.Read = func(ctx context.Context, _ func(done, of int)) (*session.Result, error) {
			mu.Lock()
			defer mu.Unlock()
			reads++
			sum, err := session.FileSum(ctx, q.Files.Take)
			r := &session.Result{Reading: &reading.Reading{Schema: reading.Schema, Take: reading.Take{SHA256: sum}}}
			return r, errors.Join(err, r.Entry.SetReading(r.Reading))
		}
		return q, err
	}})
	return run.Outcomes(), reads
}

// After any change of a row's files or questions the row is read again, not
// remembered: for every digit of every file, in lists with a track, seeds and marks.
func TestSquadRereadsChangedRows(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	memory, err := session.OpenMemory()
	require.NoError(t, err)
	lens, err := (&camera.Lens{Width: 1920, Height: 1080, Fx: 1500, Fy: 1501, Cx: 960, Cy: 540}).File(0.2, 10)
	require.NoError(t, err)
	files := map[string]string{"leap.mp4": "take 1", "track.csv": keyTrack, "marks.json": keyMarks, "later.json": strings.Replace(keyMarks, "43", "47", 1), "priors.yaml": keyPriors, "phone.json": string(lens), "rules/halle.yaml": keyBook}
	rows := map[string]string{
		"track.csv":  "athlete,take,marks,at,stature\nWren,leap.mp4,track.csv,peak,152cm\n",
		"marks.json": "athlete,take,marks,stature\nWren,leap.mp4,marks.json,152cm\n",
		"seeds":      "athlete,take,seeds,stature\nWren,leap.mp4,marks.json,152cm\n",
		"two seeds":  "athlete,take,seeds,stature\nWren,leap.mp4,marks.json | later.json,152cm\n",
	}
	// isRead reports whether the list's row is read, not remembered
	isRead := func(list string, files map[string]string, change func(*flags.ReadOptions)) (bool, error) {
		dir := t.TempDir()
		for name, text := range files {
			require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700))
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
		}
		o := flags.ReadOptions{Rules: filepath.Join(dir, "rules"), Ask: desk.Ask{Skill: "squad-goal", Confidence: 0.95, Seed: 1,
			Priors: filepath.Join(dir, "priors.yaml"), Lens: filepath.Join(dir, "phone.json")}}
		if change != nil {
			change(&o)
		}
		outcomes, reads := unread(t, dir, []byte(list), o, memory)
		return reads == 1, outcomes[0].Err
	}
	for of, list := range rows {
		read, err := isRead(list, files, nil)
		require.NoError(t, err, of)
		require.True(t, read, "the first time")
		read, err = isRead(list, files, nil)
		require.NoError(t, err)
		require.False(t, read, "nothing changed")
		for name, text := range files {
			if strings.HasSuffix(name, ".csv") != (of == "track.csv") && (name == "track.csv" || name == "marks.json") || name == "later.json" && of != "two seeds" {
				continue // the row does not name it
			}
			for i, c := range []byte(text) {
				if c < '0' || c > '9' {
					continue
				}
				changed := map[string]string{}
				for n, x := range files {
					changed[n] = x
				}
				changed[name] = text[:i] + string('0'+(c-'0'+1)%10) + text[i+1:]
				if read, err := isRead(list, changed, nil); err == nil {
					assert.True(t, read, "%s of %s, byte %d", name, of, i)
				}
			}
		}
		for what, change := range map[string]func(*flags.ReadOptions){
			"confidence": func(o *flags.ReadOptions) { o.Confidence = 0.9 }, "seed": func(o *flags.ReadOptions) { o.Seed = 2 },
			"camera": func(o *flags.ReadOptions) { o.Camera = "squared" }, "oblique": func(o *flags.ReadOptions) { o.Oblique, o.ObliqueGiven = 3, true },
			"distance": func(o *flags.ReadOptions) { o.Distance = "5m" }, "leg": func(o *flags.ReadOptions) { o.Leg = "thigh" },
			"side": func(o *flags.ReadOptions) { o.Side = "left" }, "facing": func(o *flags.ReadOptions) { o.Facing = "left" },
			"lens": func(o *flags.ReadOptions) { o.Lens = "" }, "priors": func(o *flags.ReadOptions) { o.Priors = "" }, "skill": func(o *flags.ReadOptions) { o.Skill = "split-leap" },
		} {
			read, err := isRead(list, files, change)
			require.NoError(t, err, what)
			assert.True(t, read, what)
		}
	}
}

// Two athletes followed in one clip have two tracks, and both are read. With one track
// the second row is refused.
func TestTwoTracksOfOneClip(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"a.mp4": "one clip", "wren.csv": keyTrack, "lio.csv": strings.Replace(keyTrack, "965", "865", 1)} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	o := flags.ReadOptions{Ask: desk.Ask{Measure: "hip-split", Confidence: 0.95}}
	list := "athlete,take,marks,at\nWren,a.mp4,wren.csv,peak\nLio,a.mp4,lio.csv,peak\n"
	outcomes, reads := unread(t, dir, []byte(list), o, session.Memory{})
	assert.NoError(t, errors.Join(outcomes[0].Err, outcomes[1].Err))
	assert.Equal(t, 2, reads)
	outcomes, _ = unread(t, dir, []byte(strings.Replace(list, "lio.csv", "wren.csv", 1)), o, session.Memory{})
	assert.NoError(t, outcomes[0].Err)
	assert.ErrorContains(t, outcomes[1].Err, "the row has the take and the marks of line 2, where they are Wren's")
}

// A remembered reading cannot be read without the take and the
// question: it has no words of the user's own rule book, priors or rater.
func TestMemoryHoldsNoWords(t *testing.T) {
	dir := squadHall(t, "athlete,take,marks,note\nWren,leap.mp4,marks.json,after school\n")
	clip, _ := demotake.Files()
	require.NoError(t, os.Remove(filepath.Join(dir, "leap.mp4")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "rules"), 0o700))
	book := strings.NewReplacer("title: goal", "title: what Iris asks", "the coaches", "Iris said so").Replace(keyBook)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "rules", "halle.yaml"), []byte(book), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "priors.yaml"), []byte("# Iris asked Lio\n"+keyPriors), 0o600))
	run := func() (out []byte) {
		out, err := ecartAt(dir, "squad", "list.csv", "--skill", "squad-goal", "--rules", "rules", "--priors", "priors.yaml", "--json").Output()
		require.NoError(t, err)
		return out
	}
	first := run()
	require.Contains(t, string(first), "what Iris asks")
	require.NotContains(t, string(first), "leap.mp4")
	second := run()
	require.Contains(t, string(second), `"remembered": 1`)
	var a, b session.Report
	require.NoError(t, json.Unmarshal(first, &a))
	require.NoError(t, json.Unmarshal(second, &b))
	assert.Equal(t, a.Athletes[0].Readings[0].Reading, b.Athletes[0].Readings[0].Reading)
	files := remembered(t, dir)
	require.Len(t, files, 1)
	data, err := os.ReadFile(files[0])
	require.NoError(t, err)
	var file map[string]string
	require.NoError(t, json.Unmarshal(data, &file))
	require.Len(t, file, 2)
	assert.Equal(t, a.Athletes[0].Readings[0].Reading.Take.SHA256, file["take_sha256"])
	sealed, err := base64.StdEncoding.DecodeString(file["sealed"])
	require.NoError(t, err)
	// words of four letters and more: a shorter one can be among so many random bytes by chance
	for _, word := range []string{"Iris", "Wren", "Halle", "halle-nord", "goal", "leap", "school", "hip-split"} {
		assert.False(t, bytes.Contains(sealed, []byte(word)), word)
	}
	// a file with one altered byte cannot be opened, and the row is read anew
	data[len(data)-8] ^= 1
	require.NoError(t, os.WriteFile(files[0], data, 0o600))
	assert.Contains(t, string(run()), `"remembered": 0`)
}
