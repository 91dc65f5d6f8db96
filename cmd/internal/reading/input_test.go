package reading

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// Each bad marks file gives an error that names the fault, and a hint.
func TestBadMarks(t *testing.T) {
	const mark = `{"landmark": "hip", "x": 1, "y": 2}`
	const head = `{"schema": "ecart/marks/1", "marks": [` + mark + `], `
	for _, c := range []struct{ text, fact, hint string }{
		{``, "is empty", "right file"},
		{`[1]`, "not a JSON object", "schema"},
		{"{\"schema\": \"ecart/marks/1\",\n\"marks\": [,]}", "line 2", "comma"},
		{`{"marks": []}`, `has the schema ""`, "ecart/marks/1"},
		{`{"schema": "ecart/marks/9", "marks": [` + mark + `]}`, "ecart/marks/9", "ecart/marks/1"},
		{`{"schema": "ecart/marks/1", "marks": []}`, "no marks", "place some"},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "ankel", "x": 1, "y": 2}]}`, `"ankel"`, `"ankle"`},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": 1}]}`, `line 1, marks 1: the key "y" is missing`, "a mark is"},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": NaN, "y": 2}]}`, "line 1", "comma"},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": 1e999, "y": 2}]}`, "cannot be read", "a mark is"},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": "1", "y": 2}]}`, "cannot be read", "a mark is"},
		{`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": 1, "y": 2, "sd_px": -1}]}`, "-1 px", "above 0"},
		// a missing value is never taken for 0, and an extra one is never dropped
		{head + `"levl": [[1,2],[3,4]]}`, `the key "levl" is not known`, `did you mean "level"?`},
		{head + `"Level": [[1,2],[3,4]]}`, `the key "Level" is not known`, `did you mean "level"?`},
		{head + `"level": [[1800,905]]}`, "level: 2 entries belong here, and there are 1", "write 2"},
		{head + `"level": [[1,2],[3,4],[5,6]]}`, "level: 2 entries belong here, and there are 3", "write 2"},
		{head + `"level": [[1800],[3,4]]}`, "level 1: 2 entries belong here, and there are 1", "write 2"},
		{head + `"level": null}`, "level: a list belongs here, and null is written", "write it as"},
		{head + `"level": [null,[3,4]]}`, "level 1: a list belongs here, and null is written", "write it as"},
		{head + `"level": [[null,2],[3,4]]}`, "level 1 1: a number belongs here, and null is written", "plain number"},
		{head + `"plane": {"corners": [[1,2],[3,4],[5,6],null], "width_m": 2, "height_m": 1}}`, "corners 4: a list belongs here", "write it as"},
		{head + `"plane": {"corners": [[1,2],[3,4],[5,6],[7,8],[9,9]], "width_m": 2, "height_m": 1}}`, "plane, corners: 4 entries belong here, and there are 5", "write 4"},
		{head + `"plane": {"corners": [[1,2],[3,4],[5,6],[7,8]], "width_m": 2}}`, `plane: the key "height_m" is missing`, "height_m"},
		{head + `"plane": {"corners": [[1,2],[3,4],[5,6],[7,8]], "width_m": 2, "height_m": 0}}`, "2 by 0 m", "above 0"},
		{head + `"plane": null}`, "plane: a table of keys belongs here", "keys"},
		{head + `"frame": null}`, "frame: a number belongs here, and null is written", "plain number"},
		{head + `"frame": 1.5}`, "frame: 1.5 is no whole number", "whole number"},
		{head + `"frame": -1}`, "is for frame -1", "from 0"},
		{head + `"frame": 1e999}`, "frame: 1e999 is no whole number", "whole number"},
		{head + `"frame": 3, "frame": 4}`, `the key "frame" is there twice`, "keep one"},
		{head + `"facing": "lift"}`, `the facing "lift"`, "left, right"},
		{head + `"facing": null}`, "facing: a text belongs here", "quotes"},
		{strings.Replace(head, `"hip"`, `"hip", "sd_px": null`, 1) + `"frame": 1}`, "sd_px: a number belongs here", "plain number"},
		{strings.Replace(head, `"hip"`, `"hip", "covariance_px2": [[1,0],[0]]`, 1) + `"frame": 1}`, "covariance_px2 2: 2 entries belong here", "write 2"},
		{strings.Replace(head, `"x": 1`, `"x": 1, "x": 2`, 1) + `"frame": 1}`, `the key "x" is there twice`, "keep one"},
		{strings.Replace(head, `"x": 1`, `"X": 1`, 1) + `"frame": 1}`, `the key "X" is not known`, `did you mean "x"?`},
		{strings.Replace(head, `"hip"`, `"hip", "proposed": 1`, 1) + `"frame": 1}`, "proposed: ", "true"},
		{strings.Replace(head, `"hip"`, `"hip", "confirmed": "yes"`, 1) + `"frame": 1}`, `"confirmed": "yes"`, "each"},
		{strings.Replace(head, `"hip"`, `"hip", "proposed": true, "confirmed": "all"`, 1) + `"frame": 1}`, "proposed and confirmed at once", "leave"},
		{head + `"frame": 1} {}`, "something follows", "take it out"},
		{`{"schema": "ecart/marks/1", "marks": [` + strings.Repeat(mark+",", 1000) + mark + `]}`, "1001 marks, and 1000 are read at most", "thirty times"},
		{strings.Repeat("[", 1000), "nested more than 20 deep", "right file"},
		{strings.Repeat(`{"a":`, 1000), "nested more than 20 deep", "right file"},
		{"\xff\xfe", "not UTF-8", "UTF-8"},
	} {
		_, err := ParseMarks("m.json", []byte(c.text))
		require.Error(t, err, c.text)
		assert.ErrorContains(t, err, c.fact, c.text)
		assert.ErrorContains(t, err, "m.json")
		assert.Contains(t, hintOf(t, err), c.hint, c.text)
	}
	_, err := ParseMarks("m.json", []byte("\xef\xbb\xbf"+`{"schema": "ecart/marks/1", "marks": [`+mark+`]}`))
	require.NoError(t, err)
}

func hintOf(t *testing.T, err error) string {
	var h interface{ Hint() string }
	require.True(t, errors.As(err, &h), "%v has no hint", err)
	return h.Hint()
}

func TestBadRequests(t *testing.T) {
	for _, c := range []struct {
		spoil func(*Request)
		want  string
	}{
		{func(q *Request) { q.Marks = nil }, "no marks"},
		{func(q *Request) { q.Marks.Marks[0].X = 1920 }, "outside the picture"},
		{func(q *Request) { q.Marks.Marks[0].Y = math.NaN() }, "outside the picture"},
		{func(q *Request) { q.Marks.Marks[1].X, q.Marks.Marks[1].Y = 960, 540.2 }, "on one spot"},
		{func(q *Request) { q.Marks.Marks = q.Marks.Marks[:2] }, `"back-ankle"`},
		{func(q *Request) { q.Marks.Level = &[2]Pixel{{0, 0}, {500, 400}} }, "slanted"},
		{func(q *Request) { q.Marks.Level = &[2]Pixel{{0, 0}, {5000, 0}} }, "outside the picture"},
		{func(q *Request) { q.Confidence = 1 }, "confidence"},
		{func(q *Request) { q.Confidence = math.NaN() }, "confidence"},
		{func(q *Request) { q.ObliqueDeg = 60 }, "oblique"},
		{func(q *Request) { q.ObliqueDeg = math.NaN() }, "oblique"},
		{func(q *Request) { q.Camera = "wonky" }, `"wonky"`},
		{func(q *Request) { q.StatureMm = 15 }, "stature"},
		{func(q *Request) { q.DistanceM = 1000 }, "distance"},
		{func(q *Request) { q.Skill.Measure = "pike" }, "about pike"},
		{func(q *Request) { q.Measure, _ = geometry.Lookup("pike"); q.Skill = nil }, "pike"},
	} {
		q := request(t, splitMarks(160))
		c.spoil(&q)
		_, err := Read(q)
		require.Error(t, err, c.want)
		assert.ErrorContains(t, err, c.want)
		assert.NotEmpty(t, hintOf(t, err))
	}
}

func TestPriorsFile(t *testing.T) {
	p, err := ParsePriors("mine.yaml", []byte("schema: ecart/priors/1\nlandmark:\n  sd_mm: {hip: 8}\n"))
	require.NoError(t, err)
	assert.Equal(t, 8.0, p.Landmark.SDMm["hip"])
	assert.Equal(t, 12.0, p.Landmark.SDMm["shoulder"], "what is not named stays")
	p, err = ParsePriors("mine.yaml", []byte("schema: ecart/priors/1\ndistance: {to_m: 30}\nlevel:\n"))
	require.NoError(t, err)
	assert.Equal(t, DefaultPriors().Distance.FromM, p.Distance.FromM)
	assert.Equal(t, 30.0, p.Distance.ToM)
	assert.Equal(t, DefaultPriors().Level, p.Level)
	_, err = ParsePriors("mine.yaml", PriorsFile())
	require.NoError(t, err)
	for _, bad := range []string{"", "schema: ecart/priors/2", "schema: ecart/priors/1\nlevel: {half_width_deg: -1}", "schema: ecart/priors/1\nlevle: 3",
		"schema: ecart/priors/1\nplacement: {sd_px: .nan}", "\t:", "schema: ecart/priors/1\ndistance: {from_m: 30}"} {
		_, err := ParsePriors("mine.yaml", []byte(bad))
		require.Error(t, err, bad)
		assert.ErrorContains(t, err, "mine.yaml")
		hintOf(t, err)
	}
}

// Every figure has a reason and a source, with a word that the file's head explains.
func TestPriorsHaveReasons(t *testing.T) {
	p := DefaultPriors()
	for name, r := range map[string]Reason{"placement": p.Placement.Reason, "landmark": p.Landmark.Reason, "stature": p.Stature.Reason,
		"segments": p.Segments.Reason, "oblique": p.Oblique.Reason, "level": p.Level.Reason, "distance": p.Distance.Reason, "depth": p.Depth.Reason,
		"plane": p.Plane.Reason, "lens": p.Lens.Reason, "focal": p.Focal.Reason, "timing": p.Timing.Reason} {
		assert.NotEmpty(t, r.Why, name)
		assert.Contains(t, []string{"published", "second-hand", "common-practice", "from-memory", "ours"}, r.Provenance, name)
	}
	for _, l := range geometry.Landmarks() {
		assert.Positive(t, p.Landmark.SDMm[kindOf(l)], l)
		for _, plane := range []string{"sagittal", "frontal"} {
			_, cov := p.depths(geometry.Measure{Plane: plane}, []string{l})
			assert.Positive(t, cov.At(0, 0), l)
		}
	}
}

func FuzzParseMarks(f *testing.F) {
	f.Add([]byte(`{"schema": "ecart/marks/1", "frame": 3, "facing": "right", "marks": [{"landmark": "hip", "x": 901.5, "y": 512.0}]}`))
	f.Add([]byte(`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": 1, "y": 2}], "level": [[0,1],[2,3]], "plane": {"corners": [[1,2]]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ParseMarks("f.json", data)
		if err != nil {
			if strings.TrimSpace(hintOf(t, err)) == "" {
				t.Fatal("an error without a hint")
			}
			return
		}
		q := request(t, m)
		q.MaxDraws = 1
		r, err := Read(q)
		if err == nil && (math.IsNaN(r.AngleDeg) || r.StandardUncertaintyDeg < 0) {
			t.Fatalf("%v +- %v", r.AngleDeg, r.StandardUncertaintyDeg)
		}
	})
}

// Any priors file is refused with a hint for people, or it
// gives a reading, or a reading that is refused with such a hint.
func FuzzParsePriors(f *testing.F) {
	for _, s := range []string{string(PriorsFile()), "schema: ecart/priors/1\nlandmark: {sd_mm: {hip: 8}}\n", "schema: ecart/priors/1\nlevel: {half_width_deg: .nan}\n",
		"schema: ecart/priors/1\nstature: {sd_mm: 1e308}\n", strings.Repeat("[", 100), "schema: &a ecart/priors/1\nlevel: *a\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ParsePriors("f.yaml", data)
		if err != nil {
			if strings.TrimSpace(hintOf(t, err)) == "" {
				t.Fatal("an error without a hint")
			}
			return
		}
		q := request(t, splitMarks(160))
		q.MaxDraws, q.Priors = 1, p
		r, err := Read(q)
		if err != nil {
			hintOf(t, err)
		} else if math.IsNaN(r.AngleDeg) || !(r.StandardUncertaintyDeg >= 0) {
			t.Fatalf("%v +- %v", r.AngleDeg, r.StandardUncertaintyDeg)
		}
	})
}

// Text that would expand to a huge size is refused first.
func TestCostlyPriors(t *testing.T) {
	for _, bad := range []string{strings.Repeat("[", 50_000), strings.Repeat("{a: ", 10_000), strings.Repeat("- ", 20_000), strings.Repeat("a:\n", 4_000),
		"schema: ecart/priors/1\nstature: {sd_mm: 1e308}", "schema: ecart/priors/1\nstature: {sd_mm: 1e999}", "schema: ecart/priors/1\nlevel: {half_width_deg: .inf}",
		"schema: ecart/priors/1\nlandmark: {sd_mm: {hipp: 3}}", "schema: ecart/priors/1\nlandmark: {sd_mm: {hip: }}", "schema: ecart/priors/1\nlandmark: {sd_mm: {hip: 3, hip: 4}}",
		"schema: ecart/priors/1\ndepth: {frontal: {out_deg: {shankk: 3}}}"} {
		start := time.Now()
		_, err := ParsePriors("mine.yaml", []byte(bad))
		require.Error(t, err, "%.60s", bad)
		hintOf(t, err)
		assert.Less(t, time.Since(start), 10*time.Second, "%.60s", bad)
		assert.NotContains(t, err.Error(), "should not")
	}
}
