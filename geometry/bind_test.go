package geometry_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
)

// refuse binds marks that Bind must refuse and returns the error as type E.
func refuse[E error](t require.TestingT, measure string, at map[string]geometry.Point, opt geometry.Options) E {
	m, ok := geometry.Lookup(measure)
	require.True(t, ok)
	_, err := m.Bind(at, opt)
	var e E
	require.ErrorAs(t, err, &e)
	require.Contains(t, e.Error(), measure)
	require.NotEmpty(t, hint(err))
	return e
}

func hint(err error) string {
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		return h.Hint()
	}
	return ""
}

func TestMissingLandmarkIsNamed(t *testing.T) {
	for _, c := range []struct {
		measure, missing string
		at               marks
		opt              geometry.Options
		hint             []string
	}{
		{"hip-split", "front-ankle", marks{"hip": {}, "back-ankle": {1, 1}}, geometry.Options{}, []string{"front-ankle", "back-ankle", "thigh", "knee"}},
		{"hip-split", "front-ankle", marks{"hip": {}, "front-knee": {1, 1}, "back-knee": {2, 1}}, geometry.Options{}, []string{"thigh"}},
		{"hip-split", "back-knee", marks{"hip": {}, "front-knee": {1, 1}, "front-ankle": {2, 1}, "back-ankle": {3, 2}}, geometry.Options{Leg: geometry.Thigh}, []string{"back-knee"}},
		{"shoulder-flexion", "elbow", marks{"hip": {}, "shoulder": {1, 1}}, geometry.Options{}, []string{"elbow", "wrist"}},
		{"shoulder-flexion", "left-elbow", marks{"left-hip": {}, "left-shoulder": {1, 1}, "right-elbow": {2, 2}}, geometry.Options{}, []string{"elbow", "wrist"}},
		{"knee-bend", "right-ankle", marks{"left-hip": {}, "left-knee": {1, 1}, "left-ankle": {2, 2}, "right-hip": {3, 3}, "right-knee": {4, 4}}, geometry.Options{Side: geometry.Right}, []string{"ankle"}},
		{"leg-separation", "left-ankle", marks{"hip": {}, "right-ankle": {1, 1}}, geometry.Options{}, []string{"left-ankle", "hip"}},
	} {
		e := refuse[*geometry.MissingError](t, c.measure, c.at, c.opt)
		assert.Equal(t, c.missing, e.Landmark, c.measure)
		assert.Equal(t, c.measure, e.Measure)
		for _, word := range c.hint {
			assert.Contains(t, e.Hint(), word)
		}
	}
}

// words are the landmarks in an entry of Needs such as "elbow or wrist".
func words(need string) []string {
	return strings.FieldsFunc(strings.NewReplacer(" or ", " ", " and ", " ", ",", " ").Replace(need), func(r rune) bool { return r == ' ' })
}

// The landmarks in Needs suffice for Bind, and if one entry is left out, the error
// names a landmark of it.
func TestNeedsAreNecessaryAndSufficient(t *testing.T) {
	facings := map[string]geometry.Facing{"leg-separation": geometry.FacingCamera, "foot-sickle": geometry.FacingCamera}
	for _, m := range geometry.Measures() {
		opt := geometry.Options{Facing: geometry.FacingRight}
		if f, ok := facings[m.Name]; ok {
			opt.Facing = f
		}
		if m.Name == "foot-sickle" {
			opt.Side = geometry.Left
		}
		place := func(at marks, need string) {
			for _, w := range words(need) {
				require.Contains(t, geometry.Landmarks(), w, m.Name)
				i := float64(slices.Index(geometry.Landmarks(), w))
				at[w] = geometry.Point{X: math.Cos(i), Y: math.Sin(2 * i)}
			}
		}
		all := marks{}
		for _, need := range m.Needs {
			place(all, need)
		}
		b, err := m.Bind(all, opt)
		require.NoError(t, err, m.Name)
		for _, name := range append(b.Landmarks(), b.Deciders()...) {
			assert.Contains(t, all, name)
		}
		for i, need := range m.Needs {
			some := marks{}
			for j, other := range m.Needs {
				if j != i {
					place(some, other)
				}
			}
			e := refuse[*geometry.MissingError](t, m.Name, some, opt)
			assert.Contains(t, words(need), strings.TrimPrefix(e.Landmark, string(opt.Side)+"-"), m.Name)
		}
		for _, optional := range m.Optional {
			require.Contains(t, geometry.Landmarks(), optional)
		}
		if m.Facing {
			assert.Equal(t, "facing", refuse[*geometry.OptionError](t, m.Name, all, geometry.Options{}).Option)
		} else if m.Name != "leg-separation" && m.Name != "hip-split" && m.Name != "foot-point" { // there it depends on the marks
			_, err = m.Bind(all, geometry.Options{})
			assert.NoError(t, err)
		}
	}
}

func TestEntriesAreComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range geometry.Measures() {
		assert.False(t, seen[m.Name], "%s twice", m.Name)
		seen[m.Name] = true
		assert.Equal(t, m.Name, strings.ReplaceAll(m.Title, " ", "-"))
		assert.NotEmpty(t, m.About)
		assert.InDelta(t, 2*math.Pi, float64(m.Range.High-m.Range.Low), angleTolerance, "%s: a full turn", m.Name)
	}
	assert.Len(t, seen, 16)
	assert.Equal(t, "hip-split", geometry.Measures()[0].Name)
	geometry.Measures()[0].Name = "changed"
	_, ok := geometry.Lookup("hip-split")
	assert.True(t, ok, "the catalogue cannot be changed from outside")
	_, ok = geometry.Lookup("hipsplit")
	assert.False(t, ok)
}

func TestSideIsChosen(t *testing.T) {
	both := marks{
		"left-shoulder": {0, 5}, "left-hip": {0, 0}, "left-elbow": {3, 5},
		"right-shoulder": {0, 5}, "right-hip": {0, 0}, "right-elbow": {3, 8},
	}
	right := geometry.Options{Facing: geometry.FacingRight}
	e := refuse[*geometry.OptionError](t, "shoulder-flexion", both, right)
	assert.Equal(t, "side", e.Option)
	assert.Equal(t, []string{"left", "right"}, e.Choices)

	for side, want := range map[geometry.Side]float64{geometry.Left: 90, geometry.Right: 135} {
		opt := right
		opt.Side = side
		got, b := read(t, "shoulder-flexion", both, opt)
		assert.InDelta(t, want, got.Degrees(), poseTolerance)
		for _, name := range b.Landmarks() {
			assert.True(t, strings.HasPrefix(name, string(side)+"-"), name)
		}
	}

	got, b := read(t, "shoulder-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "left-elbow": {3, 5}}, right)
	assert.InDelta(t, 90, got.Degrees(), poseTolerance)
	assert.Equal(t, []string{"shoulder", "hip", "left-elbow"}, b.Landmarks(), "the left elbow is used where no plain one is marked")

	refuse[*geometry.MissingError](t, "shoulder-flexion", marks{"shoulder": {0, 5}, "left-hip": {0, 0}, "right-elbow": {3, 5}}, right)

	split := marks{"left-hip": {0, 0}, "right-hip": {1, 0}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}
	refuse[*geometry.OptionError](t, "hip-split", split, geometry.Options{})
	_, b = read(t, "hip-split", split, geometry.Options{Side: geometry.Left})
	assert.Equal(t, []string{"left-hip", "front-ankle", "back-ankle"}, b.Landmarks())
}

func TestDecidersAreNamed(t *testing.T) {
	split := marks{"hip": {0, 0}, "left-shoulder": {0, 5}, "right-shoulder": {0.5, 5}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}
	_, b := read(t, "hip-split", split, geometry.Options{})
	assert.Equal(t, []string{"left-shoulder", "right-shoulder"}, b.Deciders())

	_, b = read(t, "shoulder-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "elbow": {3, 5}}, geometry.Options{Facing: geometry.FacingRight})
	assert.Empty(t, b.Deciders(), "hip and shoulder are on the lines")

	_, b = read(t, "foot-point", marks{"shoulder": {0, 9}, "hip": {0, 7}, "knee": {0, 4}, "ankle": {0, 0}, "toe": {2, 0}}, geometry.Options{Facing: geometry.FacingRight})
	assert.Equal(t, []string{"hip", "shoulder"}, b.Deciders())
}

func TestFacingMissing(t *testing.T) {
	for _, c := range []struct {
		measure string
		at      marks
		choices []string
	}{
		{"shoulder-flexion", marks{"shoulder": {0, 5}, "hip": {0, 0}, "elbow": {3, 5}}, []string{"left", "right"}},
		{"shoulder-flexion", marks{"shoulder": {5, 0}, "hip": {0, 0}, "elbow": {3, 5}}, []string{"up", "down"}},
		{"pike", marks{"shoulder": {5, 5}, "hip": {0, 0}, "ankle": {8, 0}}, []string{"left", "right", "up", "down"}},
		{"knee-bend", marks{"hip": {0, 8}, "knee": {0, 4}, "ankle": {0, 0}}, []string{"left", "right"}},
		{"leg-separation", marks{"hip": {0, 8}, "left-ankle": {4, 0}, "right-ankle": {0, 0}}, []string{"camera", "away"}},
	} {
		e := refuse[*geometry.OptionError](t, c.measure, c.at, geometry.Options{})
		assert.Equal(t, "facing", e.Option)
		assert.Equal(t, c.choices, e.Choices, c.measure)
		assert.Contains(t, e.Error(), "needs facing")
	}
}

// Whichever way the trunk points, at least one pair of facings decides; those named
// in the hint are accepted and the others are not.
func TestFacingThatDecidesIsNamed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trunk := along(rapid.Float64Range(-180, 180).Draw(t, "trunk"), 5)
		at := marks{"hip": {0, 0}, "shoulder": {real(trunk), imag(trunk)}, "elbow": {9, 9}}
		e := refuse[*geometry.OptionError](t, "shoulder-flexion", at, geometry.Options{})
		require.GreaterOrEqual(t, len(e.Choices), 2)
		m, _ := geometry.Lookup("shoulder-flexion")
		for _, f := range []geometry.Facing{"left", "right", "up", "down", "camera", "away"} {
			_, err := m.Bind(at, geometry.Options{Facing: f})
			require.Equal(t, slices.Contains(e.Choices, string(f)), err == nil, "%s: %v", f, err)
		}
	})
}

func TestFacingUndecided(t *testing.T) {
	lying := marks{"hip": {0, 0}, "shoulder": {5, 1}, "elbow": {9, 0}}
	e := refuse[*geometry.OptionError](t, "shoulder-flexion", lying, geometry.Options{Facing: geometry.FacingRight})
	assert.Contains(t, e.Error(), "trunk")
	assert.Equal(t, "give facing as up or down", e.Hint())

	noTrunk := marks{"hip": {8, 0}, "knee": {4, 0}, "ankle": {0, 0}}
	e = refuse[*geometry.OptionError](t, "knee-bend", noTrunk, geometry.Options{Facing: geometry.FacingUp})
	assert.Contains(t, e.Hint(), "mark hip and shoulder")

	e = refuse[*geometry.OptionError](t, "pike", marks{"hip": {0, 0}, "shoulder": {0, 5}, "ankle": {8, 0}}, geometry.Options{Facing: geometry.FacingCamera})
	assert.Contains(t, e.Error(), "from the side")
}

func TestUnknownOptions(t *testing.T) {
	at := marks{"hip": {0, 0}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}
	m, _ := geometry.Lookup("hip-split")
	for option, opt := range map[string]geometry.Options{
		"leg": {Leg: "shin"}, "side": {Side: "near"}, "facing": {Facing: "north"},
	} {
		_, err := m.Bind(at, opt)
		var e *geometry.OptionError
		require.ErrorAs(t, err, &e)
		assert.Equal(t, option, e.Option)
		assert.Contains(t, e.Error(), `"`+e.Value+`"`)
		assert.Contains(t, e.Hint(), e.Choices[0])
	}
}

func TestMarksThatMakeNoLine(t *testing.T) {
	good := func() marks {
		return marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {8, 0}, "back-ankle": {-8, 0}}
	}
	for _, c := range []struct {
		name  string
		spoil func(marks)
		named []string
		word  string
	}{
		{"two on one spot", func(m marks) { m["front-ankle"] = m["hip"] }, []string{"hip", "front-ankle"}, "same spot"},
		{"a decider on one spot", func(m marks) { m["shoulder"] = m["hip"] }, []string{"hip", "shoulder"}, "same spot"},
		{"not a number", func(m marks) { m["back-ankle"] = geometry.Point{X: math.NaN()} }, []string{"back-ankle"}, "finite"},
		{"infinite", func(m marks) { m["hip"] = geometry.Point{Y: math.Inf(-1)} }, []string{"hip"}, "finite"},
		{"a decider not a number", func(m marks) { m["shoulder"] = geometry.Point{X: math.NaN()} }, []string{"shoulder"}, "finite"},
		{"absurdly far", func(m marks) { m["back-ankle"] = geometry.Point{X: 1e300} }, []string{"hip", "back-ankle"}, "too far"},
	} {
		at := good()
		c.spoil(at)
		e := refuse[*geometry.MarkError](t, "hip-split", at, geometry.Options{})
		assert.Equal(t, c.named, e.Landmarks, c.name)
		for _, n := range c.named {
			assert.Contains(t, e.Error(), `"`+n+`"`, c.name)
		}
		assert.Contains(t, e.Error(), c.word, c.name)
	}
	at := good()
	at["wrist"] = geometry.Point{X: math.NaN()}
	_, b := read(t, "hip-split", at, geometry.Options{})
	assert.NotContains(t, b.Landmarks(), "wrist", "a mark that is not used does not matter")
}

func TestLeftAndRightExchanged(t *testing.T) {
	at := marks{"right-hip": {-1, 0}, "left-hip": {1, 0}, "right-ankle": {-9, -8}, "left-ankle": {9, -8}}
	e := refuse[*geometry.MarkError](t, "leg-separation", at, geometry.Options{Facing: geometry.FacingAway})
	assert.Contains(t, e.Hint(), "exchange left and right")
	_, _ = read(t, "leg-separation", at, geometry.Options{Facing: geometry.FacingCamera})
}

// From the side the two hips lie one behind the other, or along the trunk: they do
// not tell left from right, so facing is needed.
func TestHipsInLineDoNotDecide(t *testing.T) {
	at := marks{"right-hip": {0, 0}, "left-hip": {0.1, 1}, "right-ankle": {-4, -8}, "left-ankle": {4, -7}}
	e := refuse[*geometry.OptionError](t, "leg-separation", at, geometry.Options{})
	assert.Equal(t, "facing", e.Option)
	got, _ := read(t, "leg-separation", at, geometry.Options{Facing: geometry.FacingCamera})
	assert.Positive(t, got)
}

// If the trunk lies along a leg, the side of the angle is undecided: the error states
// both angles and asks for facing.
func TestTrunkAlongALeg(t *testing.T) {
	needle := marks{"hip": {0, 0}, "shoulder": {0, 5}, "front-ankle": {-8 * tan(10), 8}, "back-ankle": {0, -8}}
	e := refuse[*geometry.OptionError](t, "hip-split", needle, geometry.Options{})
	assert.Equal(t, "facing", e.Option)
	assert.Contains(t, e.Error(), "the line to front-ankle, so it is 170 degrees facing left and 190 degrees facing right")
	sides := marks{"hip": needle["hip"], "shoulder": needle["shoulder"], "left-ankle": needle["front-ankle"], "right-ankle": needle["back-ankle"]}
	assert.Contains(t, refuse[*geometry.MarkError](t, "hip-split", sides, geometry.Options{Facing: geometry.FacingRight}).Hint(), "front- and back-")
	delete(needle, "shoulder")
	assert.Contains(t, refuse[*geometry.OptionError](t, "hip-split", needle, geometry.Options{}).Hint(), "mark the shoulder")
	needle["shoulder"] = geometry.Point{Y: 5}

	// a toe near the shin's line may be short of it or past it
	foot := marks{"knee": {0, 10}, "ankle": {0, 0}, "toe": {tan(10), -1}}
	assert.Contains(t, refuse[*geometry.OptionError](t, "foot-point", foot, geometry.Options{}).Error(), "170 degrees")

	got, b := read(t, "hip-split", needle, geometry.Options{Facing: geometry.FacingRight})
	assert.InDelta(t, 190, got.Degrees(), poseTolerance)
	assert.Empty(t, b.Assumptions())
}

// Proportions equal the ratios of the drawn lengths, and need all of their marks.
func TestProportions(t *testing.T) {
	at := marks{"left-shoulder": {2, 9}, "right-shoulder": {-2, 9}, "left-ankle": {3, 0}, "right-ankle": {-3, 0}}
	ratio := func(p geometry.Proportion, at marks) (float64, error) {
		b, err := p.Lines.Bind(at, geometry.Options{})
		return b.LengthRatio(points(&b, at)), err
	}
	apart, err := ratio(geometry.LegsApart(), at)
	require.NoError(t, err)
	assert.Equal(t, 1.5, apart) // 6 over 4, exact in binary
	for name, was := range at {
		delete(at, name)
		_, err := geometry.LegsApart().Lines.Bind(at, geometry.Options{})
		assert.Error(t, err, name)
		at[name] = was
	}
	at["left-shoulder"] = at["right-shoulder"]
	_, err = geometry.LegsApart().Lines.Bind(at, geometry.Options{})
	assert.Error(t, err)

	body := marks{"shoulder": {0, 5}, "hip": {0, 0}, "ankle": {8, 0}, "knee": {4, 0}, "wrist": {0, 11}, "elbow": {0, 8}}
	want := map[string]float64{"arm-to-leg": 6.0 / 8, "arm-to-trunk": 6.0 / 5, "trunk-to-leg": 5.0 / 8, "thigh-to-leg": 0.5, "upper-arm-to-arm": 0.5}
	for _, p := range geometry.Proportions() {
		got, err := ratio(p, body)
		require.NoError(t, err, p.Name)
		assert.InDelta(t, want[p.Name], got, 1e-15, p.Name)
		delete(want, p.Name)
	}
	assert.Empty(t, want)
}

func TestLandmarks(t *testing.T) {
	names := geometry.Landmarks()
	assert.Len(t, names, 8*5)
	for _, n := range []string{"hip", "left-hip", "back-toe", "front-knee", "right-wrist"} {
		assert.Contains(t, names, n)
	}
}

// Marks of the requested side take precedence over plain ones; without a requested
// side, plain marks do.
func TestSideGoesBeforePlain(t *testing.T) {
	at := marks{"hip": {0, 0}, "ankle": {8, 0}, "left-ankle": {8, 8}}
	got, _ := read(t, "leg-rise", at, geometry.Options{})
	assert.InDelta(t, 0, got.Degrees(), poseTolerance)
	got, b := read(t, "leg-rise", at, geometry.Options{Side: geometry.Left})
	assert.InDelta(t, 45, got.Degrees(), poseTolerance)
	assert.Equal(t, []string{"hip", "left-ankle"}, b.Landmarks())
}

// If two shoulders are marked, the trunk runs to their midpoint, here (4, 5). The trunk
// to the one at (-1, 5) alone would lie along the leg.
func TestTrunkRunsToTheMiddleOfTheShoulders(t *testing.T) {
	for _, names := range [][2]string{{"left-shoulder", "right-shoulder"}, {"right-shoulder", "left-shoulder"}} {
		at := marks{"hip": {0, 0}, names[0]: {-1, 5}, names[1]: {9, 5}, "front-ankle": {0, 8}, "back-ankle": {-8, 0}}
		got, b := read(t, "hip-split", at, geometry.Options{})
		assert.InDelta(t, 90, got.Degrees(), poseTolerance)
		assert.Empty(t, b.Assumptions())
		delete(at, names[1]) // along the leg within 20 degrees
		assert.Contains(t, refuse[*geometry.OptionError](t, "hip-split", at, geometry.Options{}).Error(), "90 degrees facing left and 270 degrees facing right")
	}
}

// With no trunk and the legs in one line, the hips tell left from right only if the body
// is assumed upright: a given facing takes precedence, as in a handstand straddle.
func TestFacingGoesBeforeGravity(t *testing.T) {
	at := marks{"right-hip": {1, 0}, "left-hip": {-1, 0}, "right-ankle": {9, 8 * tan(2)}, "left-ankle": {-9, 8 * tan(2)}}
	got, b := read(t, "leg-separation", at, geometry.Options{Facing: geometry.FacingCamera})
	assert.InDelta(t, 176, got.Degrees(), poseTolerance)
	assert.Empty(t, b.Assumptions())
}
