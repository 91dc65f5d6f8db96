package sheet_test

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/sheet"
)

// syllables counts the vowels in a row of an English word, less an e that is silent
// at its end; the usual approximation.
func syllables(word string) int {
	word = strings.ToLower(word)
	n, before := 0, false
	for _, r := range word {
		vowel := strings.ContainsRune("aeiouy", r)
		if vowel && !before {
			n++
		}
		before = vowel
	}
	if strings.HasSuffix(word, "e") && !strings.HasSuffix(word, "le") && n > 1 {
		n--
	}
	if strings.HasSuffix(word, "ed") && !strings.HasSuffix(word, "ted") && !strings.HasSuffix(word, "ded") && n > 1 {
		n--
	}
	return max(1, n)
}

var (
	sentenceEnd = regexp.MustCompile(`[.!?]+(\s|$)`)
	wordOf      = regexp.MustCompile(`[A-Za-z]+|\d+`)
)

// grade is the Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers and Chissom
// 1975, Naval Technical Training Command, Research Branch Report 8-75):
//
//	0.39 words / sentences + 11.8 syllables / words - 15.59
//
// A number counts as a word of three syllables.
func grade(lines []string) float64 {
	var sentences, words, parts float64
	for _, l := range lines {
		sentences += float64(max(1, len(sentenceEnd.FindAllString(l, -1))))
		for _, w := range wordOf.FindAllString(l, -1) {
			words++
			if w[0] >= '0' && w[0] <= '9' {
				parts += 3
			} else {
				parts += float64(syllables(w))
			}
		}
	}
	return 0.39*words/sentences + 11.8*parts/words - 15.59
}

func TestGradeIsTheFormulas(t *testing.T) {
	for w, n := range map[string]int{"the": 1, "picture": 2, "degrees": 2, "measured": 2, "angle": 2, "doctor": 2, "uncertainty": 4, "stop": 1, "raised": 1} {
		assert.Equal(t, n, syllables(w), w)
	}
	// "The cat sat on the mat." has 6 words, 6 syllables and 1 sentence:
	// 0.39 * 6 + 11.8 - 15.59 = -1.45, as the formula is often shown.
	assert.InDelta(t, -1.45, grade([]string{"The cat sat on the mat."}), 1e-9)
	// one sentence of a metrologist: 14 words, 32 syllables
	hard := grade([]string{"The expanded uncertainty characterises the dispersion of values attributable to the angular measurand considered here."})
	assert.Greater(t, hard, 12.0)
}

// A twelve-year-old can read the athlete's and the parent's sheet: at twelve the sixth grade ends and the
// seventh begins. There are no words of metrology, of blame or about bodies.
func TestPlainWordsArePlain(t *testing.T) {
	const most = 7.0
	not := regexp.MustCompile(`(?i)\b(uncertainty|interval|probability|deviation|coverage|landmark|deduction|fail|failed|wrong|bad|poor|weak|weight|fat|thin|flexible|stiff|should have|must)\b`)
	cases := map[string]sheet.Input{}
	// skills that ask the same of one measure have the same words
	seen := map[string]bool{}
	// upright, since a page has a smaller picture then, and the same words
	for measure := range landmarksOf {
		cases[measure] = covered(t, readPose(t, measure, nil, true))
	}
	for _, k := range measuredSkills() {
		alike := fmt.Sprint(k.Measure, k.AskedDeg, k.AtMost, k.FreeDeg, k.Cautions)
		if seen[alike] {
			continue
		}
		seen[alike] = true
		in := covered(t, readPose(t, k.Measure, &k, true))
		if in.Reading.Verdict == nil { // a rule about shoulder widths
			require.NotNil(t, in.Reading.Judged(), k.Ref())
			cases[k.Ref()] = in
			continue
		}
		for _, d := range []reading.Decision{reading.Meets, reading.Short, reading.Undecided} {
			one, r, v := in, *in.Reading, *in.Reading.Verdict
			v.Decision = d
			r.Verdict, one.Reading = &v, &r
			cases[k.Ref()+" "+string(d)] = one
		}
	}
	require.Greater(t, len(cases), 40)
	tags := regexp.MustCompile(`<(?:p|li|h1|h2)[^>]*>(.*?)</(?:p|li|h1|h2)>`)
	worst := math.Inf(-1)
	for name, in := range cases {
		for _, who := range []sheet.Audience{sheet.Athlete, sheet.Parent} {
			var lines []string
			for _, m := range tags.FindAllStringSubmatch(html(t, in, sheet.Options{For: who}), -1) {
				line := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(m[1], "")
				assert.NotRegexp(t, not, line, "%s for the %s", name, who)
				if strings.Contains(line, " ") && regexp.MustCompile(`[.!?]$`).MatchString(line) {
					lines = append(lines, line)
				}
			}
			require.Greater(t, len(lines), 9, "%s for the %s: %q", name, who, lines)
			g := grade(lines)
			worst = math.Max(worst, g)
			assert.LessOrEqual(t, g, most, "%s for the %s: %q", name, who, lines)
		}
	}
	t.Logf("the hardest sheet is of grade %.1f", worst)
}

// The three sentences agree with the reading.
func TestThreeSentences(t *testing.T) {
	leap := skill(t, "fig-women/split-leap")
	in := readPose(t, "hip-split", leap, false)
	for d, want := range map[reading.Decision]string{
		reading.Meets: "and that is reached.", reading.Undecided: "this picture cannot tell if that is reached.", reading.Short: "less, give or take",
	} {
		one, r, v := in, *in.Reading, *in.Reading.Verdict
		v.Decision = d
		r.Verdict, one.Reading = &v, &r
		w := open(t, func(out io.Writer) error { return sheet.Write(out, one, sheet.Options{For: sheet.Parent}) })
		three := js[[]string](w, `[...document.querySelectorAll(".three p")].map((p) => p.textContent)`)
		require.Len(t, three, 3)
		assert.Contains(t, three[1], want)
		assert.Contains(t, three[1], "180 degrees")
	}
	page := html(t, readPose(t, "hip-split", nil, false), sheet.Options{For: sheet.Athlete})
	assert.Contains(t, page, "No goal was set for this picture")
	assert.NotContains(t, page, "The dashed line is what the skill asks for")
	assert.Contains(t, page, "stop. Tell your coach, and see a doctor")
}

// repainted is a picture with the middle of the head in another colour.
func repainted(img image.Image, r *reading.Reading) image.Image {
	b := img.Bounds()
	out := image.NewRGBA(b)
	var shoulder, hip reading.Mark
	for _, m := range r.Marks {
		switch m.Landmark {
		case "shoulder":
			shoulder = m
		case "hip":
			hip = m
		}
	}
	// the head's middle is some 0.4 of the trunk's length above the shoulder
	x, y := shoulder.X+0.4*(shoulder.X-hip.X), shoulder.Y+0.4*(shoulder.Y-hip.Y)
	size := 0.25 * math.Hypot(shoulder.X-hip.X, shoulder.Y-hip.Y)
	for j := b.Min.Y; j < b.Max.Y; j++ {
		for i := b.Min.X; i < b.Max.X; i++ {
			out.Set(i, j, img.At(i, j))
			if math.Hypot(float64(i)-x, float64(j)-y) < size {
				out.Set(i, j, color.RGBA{0, 0, 255, 255})
			}
		}
	}
	return out
}
