package sheet_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image/jpeg"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/language"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"
	"ecart/geometry/uncertainty"
)

func html(t testing.TB, in sheet.Input, opt sheet.Options) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, sheet.Write(&b, in, opt))
	return spaced(b.String())
}

// spaced has ordinary spaces where s has no-break spaces; TestUnitsStayWithFigures tests those.
func spaced(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

// A judge's sheet has the reading's numbers, rounded by its uncertainty (uncertainty.Format, which has its
// own tests).
func TestNumbersAreTheReadings(t *testing.T) {
	in := readPose(t, "hip-split", skill(t, "fig-women/split-leap"), false)
	r := in.Reading
	u := r.ExpandedUncertaintyDeg
	value, plus := uncertainty.Format(r.AngleDeg, u)
	lo, hi := fmt.Sprint(math.Floor(r.IntervalDeg[0])), fmt.Sprint(math.Ceil(r.IntervalDeg[1]))
	short, _ := uncertainty.Format(r.Verdict.ShortfallDeg, u)
	want := []string{"which moment was caught (the widest moment shows 0", value + "°", "± " + plus, lo, hi, "by " + short + "°"}
	for _, b := range r.Verdict.Bands {
		if n := math.Round(100 * b.Probability); n > 0 && n < 100 {
			want = append(want, fmt.Sprintf("%.0f %%", n))
		}
	}
	for _, b := range r.Budget {
		if b.Share > 0.05 && b.Source != uncertainty.Interaction {
			want = append(want, strconv.FormatFloat(b.StandardUncertaintyDeg, 'f', 1, 64)+"°", fmt.Sprintf("%.0f %%", 100*b.Share))
		}
	}
	require.Greater(t, len(want), 9)

	w := open(t, func(out io.Writer) error {
		return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Locale: english})
	})
	text := w.text()
	for _, s := range want {
		assert.Contains(t, text, s)
	}

	w = open(t, func(out io.Writer) error {
		return sheet.Write(out, in, sheet.Options{For: sheet.Judge, Locale: german})
	})
	text = w.text()
	for _, s := range want {
		assert.Contains(t, text, strings.Replace(s, ".", ",", 1), "with a decimal comma")
	}
	assert.NotRegexp(t, `\d\.\d`, text, "no number with a point is left")
	w.fits("in German numbers")

	w = open(t, func(out io.Writer) error {
		return sheet.Write(out, in, sheet.Options{For: sheet.Parent, Locale: english})
	})
	assert.Contains(t, w.text(), fmt.Sprintf("open to %.0f degrees", r.AngleDeg))
	far := math.Ceil(max(r.IntervalDeg[1]-math.Round(r.AngleDeg), math.Round(r.AngleDeg)-r.IntervalDeg[0]))
	assert.Contains(t, w.text(), fmt.Sprintf("within %.0f degrees", far))
}

// The sheet names one band if one is decided, else those between which the picture cannot decide.
func TestTheSheetDecidesOnlyWhereThePictureDoes(t *testing.T) {
	in := readPose(t, "hip-split", skill(t, "fig-women/split-leap"), false)
	v := *in.Reading.Verdict
	v.Bands = append(v.Bands[:0:0], v.Bands...)
	set := func(meets float64, bands ...float64) string {
		v.MeetsProbability = meets
		for i, p := range bands {
			v.Bands[i].Probability = p
		}
		one, r := in, *in.Reading
		r.Verdict = &v
		one.Reading = &r
		return html(t, one, sheet.Options{For: sheet.Judge})
	}
	assert.Contains(t, set(0.01, 0.97, 0.02, 0), "<p class=\"head\">0.10 (97 % sure)</p>")
	assert.Contains(t, set(0.3, 0.68, 0.02, 0), "the picture cannot decide between 0.10 (68 %) and meeting it (30 %)")
	assert.Contains(t, set(0.3, 0.4, 0.28, 0.02), "between 0.10 (40 %), meeting it (30 %) and 0.30 (28 %)")
	v.Decision = reading.Meets
	assert.Contains(t, set(0.999, 0.001, 0, 0), "<p class=\"head\">meets 180° (over 99 % sure)</p>")
}

// A name is shown as text, whatever is in it.
func TestNamesStayNames(t *testing.T) {
	w := blank(t)
	for _, name := range []string{`<script>document.title = "taken"</script>`, `"><img src=x onerror=alert(1)>`, `{{.Style}}`, "Dún-\u202eLinn", `</style><script>1</script>`} {
		in := readPose(t, "hip-split", skill(t, "fig-women/split-leap"), false)
		in.Who = name
		r := *in.Reading
		ref := *r.Skill
		ref.Title, ref.Source = name, name
		r.Skill = &ref
		in.Reading = &r
		for _, who := range []sheet.Audience{sheet.Judge, sheet.Parent} {
			w.show(func(out io.Writer) error { return sheet.Write(out, in, sheet.Options{For: who}) })
			assert.Equal(t, name, js[string](w, `document.querySelector(".who").textContent`))
			assert.Zero(t, js[int](w, `document.scripts.length + document.querySelectorAll("img").length - 1`))
			assert.NotEqual(t, "taken", js[string](w, `document.title`))
			w.alone()
		}
	}
}

var dataURI = regexp.MustCompile(`src="data:image/jpeg;base64,([^"]+)"`)

// The picture in a sheet is a JPEG of the segments that the picture needs and no
// others (ITU-T T.81, B.1.1.3): no APP1 for EXIF, no comment. The file names no file,
// no folder and no address.
func TestNothingTravelsWithTheSheet(t *testing.T) {
	in := covered(t, readPose(t, "hip-split", skill(t, "fig-women/split-leap"), false))
	for _, who := range []sheet.Audience{sheet.Judge, sheet.Athlete, sheet.Parent} {
		page := html(t, in, sheet.Options{For: who})
		for _, word := range []string{"lena", "petersen", ".mp4", "file:", "/home", "/tmp", "GPS", "Exif"} {
			assert.NotContains(t, dataURI.ReplaceAllString(page, ""), word, "%s", who)
		}
		for _, m := range regexp.MustCompile(`https?://[^"' )]+`).FindAllString(page, -1) {
			assert.Equal(t, "http://www.w3.org/2000/svg", m, "the namespace of SVG, which is not fetched")
		}
		m := dataURI.FindStringSubmatch(strings.ReplaceAll(page, "&#43;", "+"))
		require.NotNil(t, m, "%s", who)
		data, err := base64.StdEncoding.DecodeString(m[1])
		require.NoError(t, err)
		img, err := jpeg.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		const most = 7.6 * 240 // pixels: the page's width in inches at a little over print's resolution
		assert.LessOrEqual(t, float64(img.Bounds().Dx()), most)
		assert.Greater(t, img.Bounds().Dx(), 500)
		for _, marker := range segments(t, data) {
			assert.Contains(t, []byte{0xdb, 0xc0, 0xc4, 0xda}, marker, "a segment %x", marker)
		}
		assert.Less(t, len(page), 1<<20)
	}
	assert.NotContains(t, html(t, in, sheet.Options{For: sheet.Parent}), fmt.Sprintf("%08x", 0xc0ffee), "a parent's sheet has no use for the hash")
}

// segments are the markers of a JPEG up to the scan.
func segments(t *testing.T, data []byte) (out []byte) {
	require.Equal(t, []byte{0xff, 0xd8}, data[:2])
	for i := 2; ; {
		require.Equal(t, byte(0xff), data[i])
		out = append(out, data[i+1])
		if data[i+1] == 0xda {
			return out
		}
		i += 2 + int(data[i+2])<<8 + int(data[i+3])
	}
}

// What lies under a cover is not in the file: another picture under it gives the same file.
func TestCoveredIsGone(t *testing.T) {
	in := covered(t, readPose(t, "hip-split", nil, false))
	before := html(t, in, sheet.Options{For: sheet.Parent})
	in.Picture = repainted(in.Picture, in.Reading)
	assert.Equal(t, before, html(t, in, sheet.Options{For: sheet.Parent}))
	in.Covers = nil
	assert.NotEqual(t, before, html(t, in, sheet.Options{For: sheet.Parent}))
}

func TestSameBytesEachTime(t *testing.T) {
	in := readPose(t, "hip-split", skill(t, "fig-aerobic/split-leap"), false)
	for _, who := range []sheet.Audience{sheet.Judge, sheet.Athlete} {
		assert.Equal(t, html(t, in, sheet.Options{For: who}), html(t, in, sheet.Options{For: who}))
	}
}

// Bad input gives an error with a hint, and nothing is written.
func TestSheetsThatCannotBeMade(t *testing.T) {
	good := readPose(t, "hip-split", nil, false)
	for name, c := range map[string]struct {
		change func(*sheet.Input)
		opt    sheet.Options
	}{
		"no reading":      {change: func(in *sheet.Input) { in.Reading = nil }},
		"no picture":      {change: func(in *sheet.Input) { in.Picture = nil }},
		"another picture": {change: func(in *sheet.Input) { in.Picture = poseStills()[1].img }},
		"a reader":        {opt: sheet.Options{For: "coach"}},
		"a paper":         {opt: sheet.Options{Paper: "a3"}},
	} {
		in := good
		if c.change != nil {
			c.change(&in)
		}
		var b bytes.Buffer
		err := sheet.Write(&b, in, c.opt)
		require.Error(t, err, name)
		var h interface{ Hint() string }
		require.ErrorAs(t, err, &h, name)
		assert.NotEmpty(t, h.Hint(), name)
		assert.Zero(t, b.Len(), name)
	}
	// a language without words gets English ones with its own numbers
	page := html(t, good, sheet.Options{For: sheet.Judge, Locale: language.Make("de-AT")})
	assert.Contains(t, page, `lang="en"`)
}

// writeAll writes every sheet of a reading's JSON: each is complete, or there is an error and nothing is
// written.
func writeAll(t testing.TB, good sheet.Input, data []byte, what string) {
	var r reading.Reading
	if json.Unmarshal(data, &r) != nil {
		return
	}
	one := good
	one.Reading = &r
	check := func(err error, b bytes.Buffer) {
		t.Helper()
		if (err == nil) != (b.Len() > 0) {
			t.Fatalf("%s: %d bytes and the error %v", what, b.Len(), err)
		}
	}
	var b bytes.Buffer
	check(sheet.Write(&b, one, sheet.Options{For: sheet.Judge}), b)
	b.Reset()
	check(sheet.Write(&b, one, sheet.Options{For: sheet.Parent}), b)
	b.Reset()
	check(sheet.WritePair(&b, good, one, &change.Difference{}, sheet.Options{}), b)
}

// A reading with an impossible figure is refused, or explained without a crash.
func TestReadingsWithAFigureWrong(t *testing.T) {
	in := readPose(t, "hip-split", skill(t, "fig-women/split-leap"), true)
	data, err := json.Marshal(in.Reading)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, at := range regexp.MustCompile(`"([a-z_0-9]+)":\[*(-?[0-9.e+-]+)`).FindAllSubmatchIndex(data, -1) {
		key := string(data[at[2]:at[3]])
		if seen[key] {
			continue
		}
		seen[key] = true
		for _, v := range []string{"-7", "1e9", "-1e300"} {
			bad := append(append(append([]byte{}, data[:at[4]]...), v...), data[at[5]:]...)
			writeAll(t, in, bad, fmt.Sprintf("%s is %s", key, v))
		}
	}
	assert.Greater(t, len(seen), 20)
	for _, empty := range []string{`{"schema":"ecart/reading/1"}`, `{"schema":"ecart/reading/1","skill":{},"verdict":{}}`, `{"budget":null,"marks":[{}],"lines":[{},{}]}`} {
		writeAll(t, in, []byte(empty), empty)
	}
}
