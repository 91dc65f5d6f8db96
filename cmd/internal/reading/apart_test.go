package reading

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
)

// standing are the marks of a body of 900 px that faces a square camera: hips 100 px and shoulders 200 px across,
// ankles and knees so many px apart. The ratios follow by hand, ankles / 200 and knees / 200.
func standing(ankles, knees float64) []Placement {
	at := func(name string, x, y float64) Placement { return Placement{Landmark: name, X: 960 + x, Y: y} }
	out := []Placement{at("right-hip", -50, 500), at("left-hip", 50, 500), at("right-shoulder", -100, 240), at("left-shoulder", 100, 240),
		at("right-ankle", -ankles/2, 940), at("left-ankle", ankles/2, 940)}
	if knees > 0 {
		out = append(out, at("right-knee", -knees/2, 720), at("left-knee", knees/2, 720))
	}
	return out
}

// widthRule takes off 0.10 to shoulder width and 0.30 beyond.
func widthRule() *Skill {
	one := 1.0
	return &Skill{Rulebook: "hall", Name: "apart", Title: "legs apart", Measure: "leg-separation", Ratio: ShoulderWidths, Provenance: "from-memory",
		RatioBands: []RatioBand{{Label: "to shoulder width", Deduction: "0.10", To: &one}, {Label: "wider", Deduction: "0.30", Over: 1}}}
}

func apartRequest(t testing.TB, marks []Placement) Request {
	q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "camera", Marks: marks})
	q.Measure, _ = geometry.Lookup("leg-separation")
	q.Skill, q.Camera = widthRule(), "squared"
	return q
}

func TestLegsApartAreJudgedInShoulderWidths(t *testing.T) {
	r := read(t, apartRequest(t, standing(300, 0)))
	j := r.Judged()
	require.NotNil(t, j)
	assert.Same(t, r.LegsApart, j)
	assert.InEpsilon(t, 1.5, j.Ratio, 0.02)
	assert.Nil(t, r.Skill, "no angle is asked for")
	assert.Nil(t, r.Verdict)
	assert.Equal(t, "0.30 (over 99 % sure)", r.Says()[0])
	assert.Regexp(t, `^the ankles are 1\.5\d* ± 0\.\d+ shoulder widths apart$`, r.Says()[1])
	assert.Equal(t, "0.30", r.Brief())
	assert.Equal(t, "over 99 % sure", r.BriefChances())
	assert.Contains(t, r.Notes, WidthsNote)
	for _, say := range r.ProportionWords() {
		assert.NotContains(t, say, "ankles", "the verdict says it")
	}

	r = read(t, apartRequest(t, standing(40, 0))) // legs that touch: no rule takes 0.10 off for these
	assert.Equal(t, "at most 0.10", r.Brief())

	r = read(t, apartRequest(t, standing(200, 0))) // on the line
	assert.InDelta(t, 0.5, r.Judged().Rule.Bands[1].Probability, 0.1)
	assert.Regexp(t, `^the picture cannot decide between (at most 0\.10 \(\d\d %\) and 0\.30 \(\d\d %\)|0\.30 \(\d\d %\) and at most 0\.10 \(\d\d %\))$`, r.Says()[0])
	assert.Contains(t, []string{"at most 0.10 or 0.30", "0.30 or at most 0.10"}, r.Brief())

	r = read(t, apartRequest(t, standing(100, 320))) // knees apart over feet together
	assert.Same(t, r.KneesApart, r.Judged())
	assert.InEpsilon(t, 1.6, r.Judged().Ratio, 0.02)
	assert.Contains(t, r.Say(), "the knees are 1.6")
	assert.Equal(t, "0.30", r.Brief())
	assert.Contains(t, r.ProportionWords()[0], "the ankles are 0.5")
}

// A book may leave so much free, and name no deductions.
func TestWidthsThatAreFree(t *testing.T) {
	q := apartRequest(t, standing(100, 0))
	q.Skill.RatioBands = []RatioBand{{Label: "a stride", Over: 1}}
	r := read(t, q)
	assert.Equal(t, "nothing", r.Brief())
	assert.Greater(t, r.Judged().Rule.FreeProbability, 0.99)
	q = apartRequest(t, standing(400, 0))
	q.Skill.RatioBands = []RatioBand{{Label: "a stride", Over: 1}}
	assert.Equal(t, "a stride", read(t, q).Brief())
}

func TestWidthsNeedBothShoulders(t *testing.T) {
	_, err := Read(apartRequest(t, append(standing(300, 0)[:2], standing(300, 0)[4:]...)))
	require.ErrorContains(t, err, "hall/apart judges how far the legs are apart in shoulder widths")
	q := apartRequest(t, standing(300, 0))
	for i := range q.Marks.Marks {
		q.Marks.Marks[i].Proposed = true
	}
	r := read(t, q)
	assert.Nil(t, r.Judged(), "a proposal is no measurement")
	assert.Empty(t, r.Says())
}

// The outcomes of a rule share out all of the probability, and legs wider apart never cost less.
func TestRatioBandsShareOut(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		ends := rapid.SliceOfNDistinct(rapid.Float64Range(0, 4), 1, 4, rapid.ID[float64]).Draw(rt, "ends")
		slices.Sort(ends)
		var bands []RatioBand
		for i, over := range ends {
			b := RatioBand{Label: "band", Over: over}
			if i+1 < len(ends) {
				b.To = &ends[i+1]
			}
			bands = append(bands, b)
		}
		apart := rapid.Float64Range(60, 500).Draw(rt, "apart")
		last := -1.0
		for _, wider := range []float64{1, 1.3} {
			q := apartRequest(t, standing(apart*wider, 0))
			q.Skill.RatioBands = bands
			q.MaxDraws = 2000
			if _, _, err := q.prepare(); err != nil {
				rt.Fatal(err)
			}
			p, _, err := q.apart()
			if err != nil {
				rt.Fatal(err)
			}
			sum := 0.0
			for _, o := range p.Outcomes() {
				sum += o.Probability
			}
			if sum < 1-1e-9 || sum > 1+1e-9 {
				rt.Fatalf("the outcomes come to %v", sum)
			}
			top := p.Rule.Bands[len(bands)-1].Probability
			if top < last-0.01 {
				rt.Fatalf("wider legs are less probably in the last band: %v after %v", top, last)
			}
			last = top
		}
	})
}

// What is not known makes no ratio surer.
func TestLeavingOutNeverNarrowsWidths(t *testing.T) {
	width := func(change func(*Request)) float64 {
		q := apartRequest(t, standing(300, 0))
		q.DistanceM, q.StatureMm, q.FocalMm = 5, 1500, 28
		change(&q)
		p := read(t, q).LegsApart
		return p.Interval[1] - p.Interval[0]
	}
	full := width(func(*Request) {})
	for what, change := range map[string]func(*Request){
		"distance": func(q *Request) { q.DistanceM = 0 }, "stature": func(q *Request) { q.StatureMm = 0 }, "camera": func(q *Request) { q.Camera = "" },
		"how found": func(q *Request) { q.Marks.Found = NotSaid }, "both": func(q *Request) { q.DistanceM, q.StatureMm = 0, 0 },
	} {
		assert.GreaterOrEqual(t, width(change), full*(1-besideChance), what)
	}
}
