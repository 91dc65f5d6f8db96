package journal

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/geometry/camera"
)

var ctx = context.Background()

// spring is the clock of the tests: a day after every take of theirs.
func spring() time.Time { return time.Date(2026, 6, 1, 18, 30, 0, 0, time.UTC) }

func openNew(t testing.TB) *Journal {
	return openAt(t, filepath.Join(t.TempDir(), "hall nord?#%.journal"))
}

func openAt(t testing.TB, path string) *Journal {
	j, err := Open(path, Options{Create: true, Now: spring})
	require.NoError(t, err)
	t.Cleanup(func() { j.Close() })
	return j
}

// A split in a hall of our own: the hip, both ankles and the shoulder.
const splitMarks = `{"schema": "ecart/marks/1", "frame": 137, "found": "sticker", "marks": [
 {"landmark": "hip", "x": 960.25, "y": 540.5},
 {"landmark": "front-ankle", "x": 1390.125, "y": 560.75, "covariance_px2": [[2.25, 0.5], [0.5, 1.75]]},
 {"landmark": "back-ankle", "x": 520.5, "y": 575.0, "sd_px": 1.25},
 {"landmark": "shoulder", "x": 955.0, "y": 270.0}]}`

func splitRequest(t testing.TB, marks string) reading.Request {
	m, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	parsed, err := reading.ParseMarks("marks", []byte(marks))
	require.NoError(t, err)
	return reading.Request{
		Take:  reading.Take{Name: "leap-wren.mp4", SHA256: fmt.Sprintf("%064x", 0xec), Frame: 137, TimeS: 2.2837, WidthPx: 1920, HeightPx: 1080},
		Marks: parsed, Measure: m, Options: geometry.Options{Leg: geometry.Whole}, Camera: "by-eye", StatureMm: 1480, Seed: 11, MaxDraws: 20_000,
		Skill: &reading.Skill{Rulebook: "hall", Name: "split-leap", Title: "split leap", Measure: "hip-split", AskedDeg: 180, Provenance: "ours",
			Bands: []reading.Band{{Label: "to 20", Deduction: "0.10", FromDeg: 0, ToDeg: 20}, {Label: "more", Deduction: "0.30", FromDeg: 20, ToDeg: math.Inf(1)}}},
	}
}

// sampleLens is a lens file with a covariance.
func sampleLens(t testing.TB) []byte {
	cov := mat.NewSymDense(camera.LensParameters, nil)
	for i := range camera.LensParameters {
		cov.SetSym(i, i, []float64{4, 4, 3, 3, 1e-5, 1e-5, 1e-8, 1e-8, 1e-5}[i])
	}
	l := camera.Lens{Width: 1920, Height: 1080, Fx: 1450.5, Fy: 1449.75, Cx: 955.5, Cy: 541.25, Dist: [5]float64{-0.03, 0.01, 1e-4, -1e-4, 0}, Covariance: cov}
	data, err := l.File(0.21, 14)
	require.NoError(t, err)
	return data
}

// sampleOnce is an entry with a real reading, computed once.
var sampleOnce = sync.OnceValues(func() (Entry, error) {
	if given := os.Getenv(childEntry); given != "" {
		var e Entry
		err := json.Unmarshal([]byte(given), &e)
		return e, err
	}
	var t panicking
	q := splitRequest(t, splitMarks)
	r, err := reading.Read(q)
	if err != nil {
		return Entry{}, err
	}
	data, err := json.Marshal(r)
	return Entry{Athlete: "Wren", Day: "2026-03-03", State: "warm", Condition: "in-skill", Side: "left", Rater: "Iris", Setup: "mat by the wall", Note: "left knee taped", Tool: "0.9.0",
		Marks: []byte(splitMarks), Request: NewRequest(&q, nil, nil), Reading: data}, err
})

// panicking is a testing.TB for use outside of tests: failures panic.
type panicking struct{ testing.TB }

func (panicking) Errorf(format string, a ...any) { panic(fmt.Sprintf(format, a...)) }
func (panicking) FailNow()                       { panic("failed") }
func (panicking) Helper()                        {}

// sample is the nth of many entries: the same but for a mark, the angle, the
// athlete and the day.
func sample(t testing.TB, n int) Entry {
	e, err := sampleOnce()
	require.NoError(t, err)
	own := *e.Request.Skill // tests alter it
	e.Request.Skill = &own
	var m reading.Marks
	require.NoError(t, json.Unmarshal([]byte(splitMarks), &m))
	m.Marks[0].X += float64(n) / 1024
	e.Marks, err = json.Marshal(m)
	require.NoError(t, err)
	r, err := e.Parse()
	require.NoError(t, err)
	r.AngleDeg += float64(n%40) / 8
	e.Reading, err = json.Marshal(r)
	require.NoError(t, err)
	e.Athlete = birds[n%len(birds)]
	e.Day = time.Date(2025, 9, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, n/len(birds)%200).Format(time.DateOnly)
	return e
}

var birds = []string{"Wren", "Merlin", "Plover", "Siskin", "Dunlin", "Brambling", "Curlew", "Dipper", "Fieldfare", "Goldcrest", "Hobby", "Linnet", "Nuthatch", "Redpoll", "Twite"}

func keep(t testing.TB, j *Journal, e Entry) Entry {
	_, err := j.Keep(ctx, &e)
	require.NoError(t, err)
	return e
}

// hint is what the error says to do.
func hint(t testing.TB, err error) string {
	var h interface{ Hint() string }
	require.ErrorAs(t, err, &h)
	return h.Hint()
}
