package page

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
	"ecart/geometry"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// demoReading returns a reading of the demo's marks.
func demoReading(t testing.TB) *reading.Reading {
	_, data := demotake.Files()
	m, err := reading.ParseMarks("the demo's", data)
	require.NoError(t, err)
	measure, _ := geometry.Lookup("hip-split")
	r, err := reading.Read(reading.Request{Take: reading.Take{WidthPx: 1920, HeightPx: 1080, Frame: m.Frame}, Marks: m, Measure: measure, Seed: 1,
		Skill: &reading.Skill{Rulebook: "hall", Name: "leap", Measure: "hip-split", AskedDeg: 180,
			Bands: []reading.Band{{Label: "a little", Deduction: "0.10", FromDeg: 0, ToDeg: 20}, {Label: "more", Deduction: "0.30", FromDeg: 20, ToDeg: math.Inf(1)}}}})
	require.NoError(t, err)
	return r
}

var figures = regexp.MustCompile(`-?\d+(\.\d+)?`)

func numbers(t *testing.T, path string) []float64 {
	var out []float64
	for _, s := range figures.FindAllString(path, -1) {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

// TestTheFanIsTheAngle computes the angle from the ends of the fan's lines: it is
// the reading's angle in the picture.
func TestTheFanIsTheAngle(t *testing.T) {
	r := demoReading(t)
	f := fanOf(r)
	n := numbers(t, f.Edge)
	apex := numbers(t, f.Sector)[:2]
	from, to := n[:2], n[len(n)-2:]
	a := math.Atan2(from[1]-apex[1], from[0]-apex[0])
	b := math.Atan2(to[1]-apex[1], to[0]-apex[0])
	swept := math.Mod(float64(r.Turn)*(b-a)*180/math.Pi+720, 360)
	const written = 0.01 // degrees: the path has hundredths of a pixel at a radius of 200
	assert.InDelta(t, r.PictureAngleDeg, swept, written)
	assert.Len(t, f.Wedges, 2, "both legs stand for the end of a split")
	assert.Len(t, f.Asked, 2)
	assert.Len(t, f.Ellipses, len(r.Marks))

	// The asked lines are 180 degrees apart: a straight line is straight in every
	// view.
	p, q := numbers(t, f.Asked[0]), numbers(t, f.Asked[1])
	dp := math.Atan2(p[3]-p[1], p[2]-p[0])
	dq := math.Atan2(q[3]-q[1], q[2]-q[0])
	assert.InDelta(t, 180, math.Abs(dp-dq)*180/math.Pi, written)
}

// TestEllipses compares with the definition: along each axis the ellipse reaches
// sqrt(chi2(0.95, 2)) = 2.4477 standard deviations (the quantile from tables).
func TestEllipses(t *testing.T) {
	const chi = 2.4477
	const tables = 1e-4 // the tables have that many digits
	e := ellipseOf(reading.Mark{Covariance: [2][2]float64{{9, 0}, {0, 4}}})
	assert.InDelta(t, 3*chi, e.Long, 3*tables)
	assert.InDelta(t, 2*chi, e.Short, 2*tables)
	// Rotated by 30 degrees: C = R diag(9, 4) R^T.
	s, c := math.Sincos(math.Pi / 6)
	e = ellipseOf(reading.Mark{Covariance: [2][2]float64{{9*c*c + 4*s*s, 5 * s * c}, {5 * s * c, 9*s*s + 4*c*c}}})
	assert.InDelta(t, 30, e.Tilt, 1e-9)
	assert.InDelta(t, 3*chi, e.Long, 3*tables)
}

// The page's ruler has a description in words, and the figures of the angle asked and of
// the bands. Package draw tests their places.
func TestTheRulerIsThere(t *testing.T) {
	r := demoReading(t)
	svg := rulerOf(r, [2]float64{})
	require.NoError(t, xml.Unmarshal([]byte(svg), new(struct{})))
	assert.Contains(t, svg, fmt.Sprintf(`aria-label="ruler: the reading is %.1f degrees, between %.1f and %.1f; 180 degrees are asked"`, r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1]))
	for _, text := range []string{">asked 180°<", ">180<", ">160<"} {
		assert.Contains(t, svg, text)
	}
}

func TestEveryNeedOfEveryMeasureCanBeAskedFor(t *testing.T) {
	known := geometry.Landmarks()
	for _, m := range measureChoices() {
		require.NotEmpty(t, m.Steps, m.Name)
		var first []string
		for _, s := range m.Steps {
			for _, way := range s.Ways {
				for _, l := range way {
					assert.True(t, slices.Contains(known, l), "%s asks for %q", m.Name, l)
				}
			}
			if !s.Optional {
				first = append(first, s.Ways[0]...)
			}
		}
		// What is asked for is enough to bind the measure.
		measure, _ := geometry.Lookup(m.Name)
		at := map[string]geometry.Point{}
		for i, l := range first {
			at[l] = geometry.Point{X: float64(100 * i), Y: float64(37 * i * i)}
		}
		_, err := measure.Bind(at, geometry.Options{Facing: geometry.FacingRight})
		var missing *geometry.MissingError
		assert.False(t, errors.As(err, &missing), "%s: %v", m.Name, err)
	}
}

func TestNamesAreShownAndNeverLead(t *testing.T) {
	for given, want := range map[string]string{
		"leap.mp4": "leap.mp4", "../../etc/passwd": "passwd", `C:\clips\leap.mov`: "leap.mov", "..": "take", "": "take", "a\x1b[31mb": "a[31mb", "  spaced .mp4 ": "spaced .mp4", "/": "take",
		strings.Repeat("x", 300) + ".mp4": strings.Repeat("x", 100) + "…" + strings.Repeat("x", 15) + ".mp4",
	} {
		assert.Equal(t, want, folder.Shown(given), "%q", given)
	}
	assert.Equal(t, "'it'\\''s.mp4'", quoted("it's.mp4"))
	assert.Equal(t, "'./-x y.mp4'", quoted("-x y.mp4"))
}

func TestTheCacheStaysWithinItsBounds(t *testing.T) {
	c := newCache(1000)
	for i := range 50 {
		c.put(&coded{key: strconv.Itoa(i), data: make([]byte, 100)})
		c.get("0") // used in each round, so it stays
	}
	assert.LessOrEqual(t, c.bytes, 1000)
	assert.NotNil(t, c.get("0"))
	assert.NotNil(t, c.get("49"))
	assert.Nil(t, c.get("1"))
	c.put(&coded{key: "large", data: make([]byte, 2000)})
	assert.Nil(t, c.get("large"))
}

// FuzzWork checks that any body is refused or gives marks that a marks file
// may have.
func FuzzWork(f *testing.F) {
	f.Add([]byte(`{"version":1,"measure":"hip-split","frame":3,"frames":{"3":{"rounds":[{"hip":[1,2]},{"hip":[2,3],"knee":[4,5]}],"level":[[1,2],[3,4]],"corners":[[1,1],[9,1],[9,9],[1,9]],"width_m":2,"height_m":1}}}`))
	f.Add([]byte(`{"frames":{"0":null}}`))
	f.Add([]byte(`{"frame":-1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var w Work
		if json.Unmarshal(data, &w) != nil || w.check() != nil {
			return
		}
		w.marked()
		for n := range w.Frames {
			m := w.marks(n)
			raw, err := json.Marshal(m)
			require.NoError(t, err)
			if len(m.Marks) == 0 {
				continue
			}
			back, err := reading.ParseMarks("fuzz", raw)
			require.NoError(t, err, "%s", raw)
			assert.Equal(t, m.Marks, back.Marks)
		}
	})
}

func TestThePageIsSmall(t *testing.T) {
	const most = 300_000 // bytes of script and style together
	sum := 0
	for name, a := range assets {
		if strings.HasSuffix(name, ".js") || strings.HasSuffix(name, ".css") {
			sum += len(a.data)
		}
	}
	assert.Less(t, sum, most)
	assert.Greater(t, sum, 10_000, "the script was not found")
}

// The axis of the curve has a few round figures around the curve; 180 is among them if
// it is in view. No words overlap or leave the drawing.
func TestTheCurvesAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-60, 250).Draw(t, "low")
		high := low + rapid.Float64Range(0.5, 200).Draw(t, "range")
		p := newCurvePlot(low, high, 90, rapid.Float64Range(300, 2000).Draw(t, "wide"))
		require.InDelta(t, low, p.low, 5)
		require.InDelta(t, high, p.high, 5+5)
		require.LessOrEqual(t, p.low, low)
		require.GreaterOrEqual(t, p.high, high)
		asked := rapid.Float64Range(low, high).Draw(t, "asked")
		has := rapid.Bool().Draw(t, "has asked")
		p.axis("hip split", has && p.lower(asked))
		if has {
			p.asked(asked, false)
		}
		var figures []float64
		var boxes []draw.Box
		for _, g := range p.Texts {
			b := p.LabelBox(g.Label)
			assert.True(t, b.X0 >= 0 && b.X1 <= p.W && b.Y0 >= -0.5 && b.Y1 <= p.H+0.5, "%q leaves the drawing: %v", g.Text, b)
			boxes = append(boxes, b)
			if v, err := strconv.ParseFloat(strings.Replace(strings.TrimSuffix(g.Text, "°"), "−", "-", 1), 64); err == nil {
				figures = append(figures, v)
				assert.Zero(t, int(v)%5, "%g", v)
			}
		}
		assert.GreaterOrEqual(t, len(figures), 2)
		assert.LessOrEqual(t, len(figures), mostSteps+1)
		if p.low <= 180 && 180 <= p.high {
			assert.Contains(t, figures, 180.0)
		}
		for i, a := range boxes {
			for _, b := range boxes[:i] {
				apart := a.X1 <= b.X0 || b.X1 <= a.X0 || a.Y1 <= b.Y0 || b.Y1 <= a.Y0
				assert.True(t, apart, "words lie on each other: %v %v in %v", a, b, p.Texts)
			}
		}
	})
}

// Every id of the page is there once: a script would always find the first.
func TestIDsAreUnique(t *testing.T) {
	seen := map[string]int{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllSubmatch(assets["index.html"].data, -1) {
		seen[string(m[1])]++
	}
	require.Greater(t, len(seen), 50)
	for id, n := range seen {
		assert.Equal(t, 1, n, id)
	}
}

// Every frame of a clip belongs to one of its parts, that of the nearest moment.
func TestPartsOfAClip(t *testing.T) {
	parts := folder.PartsOf(folder.About{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180})
	require.Len(t, parts, 3)
	assert.Equal(t, [][2]int{{0, 89}, {90, 154}, {155, 199}}, [][2]int{{parts[0].Part.From, parts[0].Part.To}, {parts[1].Part.From, parts[1].Part.To}, {parts[2].Part.From, parts[2].Part.To}})
	for n := range 200 {
		has := 0
		for i := range parts {
			if parts[i].Has(n) {
				has++
			}
		}
		assert.Equal(t, 1, has, "frame %d", n)
	}
	assert.Equal(t, "row.mp4, 2 of 3", parts[1].Called())
	for _, p := range parts {
		assert.True(t, folder.IsID(p.ID))
		assert.Equal(t, sixtyFour('a'), p.Sum())
	}
	assert.NotEqual(t, parts[0].ID, parts[1].ID)
	assert.Equal(t, parts, folder.PartsOf(folder.About{ID: sixtyFour('a'), Name: "row.mp4"}, 200, []int{51, 128, 180}), "the same clip has the same parts")
}

func sixtyFour(c byte) string {
	b := make([]byte, 64)
	for i := range b {
		b[i] = c
	}
	return string(b)
}

// Rows of a list that name one clip get its parts in order; a row too many has no take. A take without parts goes to every
// row that names it.
func TestRowsOfAListGoToParts(t *testing.T) {
	whole := folder.About{ID: sixtyFour('d'), Name: "Other.mp4"}
	parts := folder.PartsOf(folder.About{ID: sixtyFour('e'), Name: "row.MP4"}, 100, []int{20, 70})
	by := rowTakes{takes: []folder.About{parts[1], whole, parts[0]}}
	row := func(take string) *desk.ListRow { return &desk.ListRow{Ask: desk.Ask{Take: take}} }
	for _, want := range []struct{ take, id string }{{"row.mp4", parts[0].ID}, {"other.mp4", whole.ID}, {"monday/row.mp4", parts[1].ID}, {"row.mp4", ""}, {"other.mp4", whole.ID}, {"none.mp4", ""}} {
		got, ok := by.next(row(want.take))
		assert.Equal(t, want.id != "", ok, want.take)
		assert.Equal(t, want.id, got.ID, want.take)
	}
}

// A row with seeds in two frames is put into its take once both files are there: the stickers are then pointed at in both frames, and
// the first one is shown.
func TestSeedsOfTwoFramesInAList(t *testing.T) {
	s, err := New(Config{Dir: filepath.Join(t.TempDir(), "data")})
	require.NoError(t, err)
	defer s.Close()
	take, temp := folder.About{ID: sixtyFour('f'), Name: "leap.mp4"}, s.store.Path(folder.IncomingDir, folder.Secret())
	require.NoError(t, os.WriteFile(temp, []byte("clip"), 0o600))
	require.NoError(t, s.store.Admit(take, temp))
	row := &desk.ListRow{Line: 2, Seeds: []string{"a/first.json", "later.json"}, Ask: desk.Ask{Measure: "hip-split", Take: "leap.mp4"}}
	marks := func(frame int) string {
		return fmt.Sprintf(`{"schema": "ecart/marks/1", "frame": %d, "marks": [{"landmark": "hip", "x": 10, "y": 20}]}`, frame)
	}
	n := &notes{Marks: map[string]string{"first.json": marks(3)}}
	require.NoError(t, s.put(t.Context(), take, row, n))
	work, err := s.works.load(take.ID)
	require.NoError(t, err)
	assert.Empty(t, work.Frames, "one of the files is not there")
	n.Marks["later.json"] = marks(9)
	require.NoError(t, s.put(t.Context(), take, row, n))
	work, err = s.works.load(take.ID)
	require.NoError(t, err)
	require.Len(t, work.Frames, 2)
	assert.True(t, work.Frames[3].Seeds && work.Frames[9].Seeds)
	assert.Equal(t, 3, work.Frame)
}
