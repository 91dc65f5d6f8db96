package sheet_test

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/geometry/uncertainty"
)

// readingsOn are made-up readings, 14 days apart, since only the page is tested.
func readingsOn(side, state, condition string, from int, degs []float64, u float64) []change.Reading {
	var out []change.Reading
	ask := 180.0
	for i, deg := range degs {
		out = append(out, change.Reading{
			ID: int64(1000*from + i), Day: time.Date(2026, 1, 1+from+14*i, 0, 0, 0, 0, time.UTC), Session: fmt.Sprint(from + 14*i), Measure: "hip-split",
			Definition: "hip-ankle and hip-ankle", Side: side, State: state, Condition: condition, AngleDeg: deg, StandardDeg: u, AskedDeg: &ask,
		})
	}
	return out
}

func trendOf(t testing.TB, rs []change.Reading) *change.Trend {
	t.Helper()
	out, err := change.NewTrend(rs, change.Options{})
	require.NoError(t, err)
	return out
}

var rising = []float64{158.1, 159.8, 161.2, 160.9, 163.4, 164.2, 166.9, 165.8, 168.2, 167.6, 169.3, 170.1, 171.2, 171.9, 172.4, 173.8}

// monthsOf is an athlete's months, of one side or of two, with sessions.
func monthsOf(t testing.TB, sides int, degs []float64) sheet.MonthsInput {
	t.Helper()
	in := sheet.MonthsInput{Who: "Wren", Measure: "hip-split",
		Notes:    []string{"the last reading is of 4 February 2026, 70 days ago: what came after it is not known"},
		Cautions: []string{"this measures; it finds no cause and prescribes nothing: a person qualified for it decides what is trained", "never through pain: pain means stop"}}
	if sides == 1 {
		in.Readings = append(readingsOn("", "warm", "active", 60, degs, 1.3), readingsOn("", "cold", "active", 60, []float64{154, 155.5, 157.2, 158.3, 159.1, 160.4, 161.7, 162.1}[:len(degs)/2], 1.4)...)
		in.Trends = []*change.Trend{trendOf(t, in.Readings)}
	} else {
		left, right := readingsOn("left", "warm", "", 60, degs, 1.3), readingsOn("right", "warm", "", 60, []float64{165.1, 164.2, 166.0, 165.4, 166.3, 165.0, 166.8, 165.9, 166.4}, 1.3)
		in.Readings = append(left, right...)
		in.Trends = []*change.Trend{trendOf(t, left), trendOf(t, right)}
		var err error
		in.Sides, err = change.Sides(in.Readings, 0.95)
		require.NoError(t, err)
	}
	var err error
	for i, r := range in.Trends[0].Days {
		in.Statures = append(in.Statures, chart.Stature{Day: r.Day, Cm: 148 + float64(i/4)/2})
	}
	in.Sessions, err = change.Steps(in.Readings, 0.95)
	require.NoError(t, err)
	in.WarmUp, err = change.NewWarmUp(in.Readings, 0.95)
	require.NoError(t, err)
	return in
}

// kindsOfPages are the pages without a picture of a take, at their longest.
func kindsOfPages(t testing.TB) map[string]func(io.Writer, sheet.Options) error {
	out := map[string]func(io.Writer, sheet.Options) error{}
	for name, in := range map[string]sheet.MonthsInput{
		"months": monthsOf(t, 1, rising), "months-sides": monthsOf(t, 2, rising), "months-one": monthsOf(t, 1, rising[:1]), "months-two": monthsOf(t, 1, rising[:2]),
	} {
		out[name] = func(w io.Writer, opt sheet.Options) error { return sheet.WriteMonths(w, in, opt) }
	}
	for name, in := range map[string]sheet.ScreenInput{
		"screen":       {Measure: "hip-split", Screens: []sheet.SideScreen{{Screen: screenOf(t, 176.1, 164.9, 158.2)}}, Notes: []string{"2 readings of which the side was not said, left out: no gap is known of one condition"}},
		"screen-sides": {Measure: "hip-split", Screens: []sheet.SideScreen{{"left", screenOf(t, 183, 161, 155)}, {"right", screenOf(t, 170, 167, 151)}}},
		"screen-two":   {Measure: "shoulder-flexion", Screens: []sheet.SideScreen{{Screen: screenOf(t, 176.1, math.NaN(), 170)}}},
	} {
		in.Who = "Plover"
		out[name] = func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreen(w, in, opt) }
	}
	out["squad"] = func(w io.Writer, opt sheet.Options) error {
		return sheet.WriteSquad(w, sessionOf(t, chart.PageRows), opt)
	}
	return out
}

// groupOf is the change of a number of athletes.
func groupOf(t testing.TB, athletes int) sheet.GroupInput {
	t.Helper()
	var rs []change.Reading
	for k := range athletes {
		degs := make([]float64, 4)
		for i := range degs {
			degs[i] = 160 + float64(i*(k%7-2)) + float64(k*i%3)
		}
		for _, r := range readingsOn("", "warm", "active", 60+k%5, degs, 1.3) {
			r.Athlete, r.ID = athleteNames[k%len(athleteNames)]+fmt.Sprint(k/len(athleteNames)), int64(len(rs)+1)
			rs = append(rs, r)
		}
	}
	g, err := change.NewGroup(rs, change.GroupOptions{})
	require.NoError(t, err)
	in := sheet.GroupInput{Title: "monday", Group: g, Cautions: []string{"this measures; it finds no cause and prescribes nothing: a person qualified for it decides what is trained", "never through pain: pain means stop"}}
	for _, class := range change.Classes {
		if members := g.InClass(class); len(members) > 0 {
			var names []string
			for _, m := range members {
				names = append(names, m.Athlete)
			}
			in.Ways = append(in.Ways, sheet.WayLine{Way: change.ClassWords[class], Means: g.ClassMeaning(class), Who: strings.Join(names, ", ")})
		}
	}
	return in
}

// athleteNames are the athletes of a session.
var athleteNames = []string{"Wren", "Merlin", "Plover", "Siskin", "Dunlin", "Whimbrel of the far northern marsh & moor <b>", "Knot", "Linnet", "Brambling", "Redpoll", "Serin", "Twite", "Dipper", "Rail", "Sanderling", "Curlew", "Avocet"}

// sessionOf is a session of n athletes, of whom the last was not read.
func sessionOf(t testing.TB, n int) sheet.SquadInput {
	t.Helper()
	leap := readPose(t, "hip-split", skill(t, "fig-women/split-leap"), false).Reading
	in := sheet.SquadInput{Day: "4 March 2026", Short: athleteNames[:n-1], Gaps: map[string][]string{"control": athleteNames[1:4], "use": athleteNames[:1]},
		Notes:    []string{"no distance was given: 5 m is taken", "Wren: the focal length is taken to be 26 mm", "a third thing that was taken for granted", "a fourth", "a fifth that has no room"},
		Cautions: []string{"it measures; it does not diagnose or prescribe: pain means stop", "over-splits only after a full passive split on the floor, and with a person qualified for it"}}
	for _, who := range athleteNames[:n-1] {
		in.Rows = append(in.Rows, chart.SquadRow{Who: who, Note: "in-skill, warm", Reading: leap, Gap: "use"})
	}
	in.Rows = append(in.Rows, chart.SquadRow{Who: athleteNames[n-1], Reason: "line 16 of the list could not be read"})
	in.Who = "Wren"
	in.Readings = []sheet.SquadReading{{Condition: "in-skill", Counts: true, Reading: leap},
		{Condition: "passive", Side: "left", Reading: readPose(t, "hip-split", skill(t, "common-practice/full-split"), false).Reading},
		{Condition: "", State: "warm", Counts: true, Reading: readPose(t, "shoulder-flexion", skill(t, "common-practice/shoulder-overhead"), false).Reading}}
	return in
}

// A long session continues on a second page, and one athlete's page shows no other athlete.
func TestSessions(t *testing.T) {
	in := sessionOf(t, len(athleteNames))
	w := open(t, func(out io.Writer) error { return sheet.WriteSquad(out, in, sheet.Options{Locale: english}) })
	w.leavesFit("two pages")
	pages, _ := w.pdf("squad-long")
	assert.Equal(t, 2, pages)
	text := w.text()
	r := in.Rows[0].Reading
	v, u := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	for _, want := range append([]string{v + "°", "± " + u, r.Brief(), "Asked 180° by fig-women/split-leap, 2022-2024 and later, unconfirmed: from memory; not checked against the document in force.", "page 2 of 2", "line 16 of the list", "Control, reached with help and not alone: Merlin, Plover, Siskin."}, athleteNames[:4]...) {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "no room")
	assert.Zero(t, js[int](w, `document.querySelectorAll("b").length`), "a name stays a name")

	w.show(func(out io.Writer) error {
		return sheet.WriteSquad(out, in, sheet.Options{For: sheet.Parent, Locale: english})
	})
	text = w.text()
	assert.Contains(t, text, fmt.Sprintf("open to %.0f degrees, give or take ", r.AngleDeg))
	assert.Contains(t, text, "left, with help")
	for _, other := range athleteNames[1:] {
		assert.NotContains(t, text, other)
	}
	in.Who = ""
	assert.Error(t, sheet.WriteSquad(io.Discard, in, sheet.Options{For: sheet.Athlete}))
	assert.Error(t, sheet.WriteSquad(io.Discard, sheet.SquadInput{}, sheet.Options{}))
	assert.Error(t, sheet.WriteSquad(io.Discard, in, sheet.Options{For: sheet.Judge}))
}

// screenOf is a screen of the passive, active and in-skill angle; NaN was not read.
func screenOf(t testing.TB, degs ...float64) *change.Screen {
	t.Helper()
	var rs []change.Reading
	for i, c := range []string{"passive", "active", "in-skill"} {
		if !math.IsNaN(degs[i]) {
			rs = append(rs, readingsOn("", "warm", c, 60, degs[i:i+1], []float64{1.4, 1.6, 2.1}[i])...)
			rs[len(rs)-1].ID = int64(i + 1)
		}
	}
	k, err := change.NewScreen(rs, change.ScreenOptions{Seed: 1})
	require.NoError(t, err)
	return k
}

// Each page prints on one sheet of either paper, for each reader.
func TestKindsOnOnePage(t *testing.T) {
	axe := browsertest.Axe(t)
	w := blank(t)
	for name, write := range kindsOfPages(t) {
		for _, who := range sheet.CoachAudiences {
			for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
				w.show(func(out io.Writer) error {
					return write(out, sheet.Options{For: sheet.Audience(who), Paper: p, Locale: english})
				})
				w.leavesFit(fmt.Sprintf("%s for a %s on %s", name, who, p))
				pages, size := w.pdf(fmt.Sprintf("%s-%s-%s", name, who, p))
				assert.Equal(t, 1, pages)
				assert.Equal(t, paperPoints[p], size)
				if p == sheet.A4 {
					w.accessible(axe, name+" for a "+who)
				}
				w.alone()
			}
		}
	}
}

// The page of a group is for a coach only, and prints on one sheet.
func TestGroupOnOnePage(t *testing.T) {
	axe := browsertest.Axe(t)
	w := blank(t)
	for name, athletes := range map[string]int{"group": chart.PageRows, "group-two": 2, "group-many": 24} {
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			w.show(func(out io.Writer) error {
				return sheet.WriteGroup(out, groupOf(t, athletes), sheet.Options{Paper: p, Locale: english})
			})
			w.leavesFit(name + " on " + string(p))
			pages, size := w.pdf(name + "-" + string(p))
			assert.Equal(t, 1, pages)
			assert.Equal(t, paperPoints[p], size)
			if p == sheet.A4 {
				w.accessible(axe, name)
			}
			w.alone()
		}
	}
	assert.ErrorContains(t, sheet.WriteGroup(io.Discard, groupOf(t, 2), sheet.Options{For: sheet.Parent}), `there is no page of a group for "parent"`)
}

// A twelve-year-old can read these pages for an athlete and a parent, and they blame nobody.
func TestPlainKindsArePlain(t *testing.T) {
	const most = 7.0
	not := regexp.MustCompile(`(?i)\b(uncertainty|interval|probability|deviation|coverage|landmark|deduction|fail|failed|wrong|bad|poor|weak|weight|fat|thin|flexible|stiff|should have|must|trend|significant|control)\b`)
	tags := regexp.MustCompile(`(?s)<(?:p|li|h1|h2|text)[^>]*>(.*?)</(?:p|li|h1|h2|text)>`)
	for name, write := range kindsOfPages(t) {
		for _, who := range []sheet.Audience{sheet.Athlete, sheet.Parent} {
			var b strings.Builder
			require.NoError(t, write(&b, sheet.Options{For: who}))
			var lines []string
			for _, m := range tags.FindAllStringSubmatch(b.String(), -1) {
				line := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(m[1], "")
				assert.NotRegexp(t, not, line, "%s for the %s", name, who)
				if strings.Contains(line, " ") && regexp.MustCompile(`[.!?]$`).MatchString(line) {
					lines = append(lines, line)
				}
			}
			require.Greater(t, len(lines), 6, "%s for the %s", name, who)
			assert.LessOrEqual(t, grade(lines), most, "%s for the %s: %q", name, who, lines)
		}
	}
}

// The numbers of the months are those of the trend.
func TestMonthsHaveTheTrendsNumbers(t *testing.T) {
	in := monthsOf(t, 1, rising)
	one := in.Trends[0]
	w := open(t, func(out io.Writer) error { return sheet.WriteMonths(out, in, sheet.Options{Locale: english}) })
	text := w.text()
	change, _ := uncertainty.Format(one.ChangeDeg, one.SmallestDeg)
	_, smallest := uncertainty.Format(0, one.SmallestDeg)
	rate, per := uncertainty.Format(one.Line.SlopeDeg, one.Line.SlopeIntervalDeg[1]-one.Line.SlopeDeg)
	last := one.Days[len(one.Days)-1]
	v, u := uncertainty.Format(last.AngleDeg, last.IntervalDeg[1]-last.AngleDeg)
	for _, want := range []string{"\t+" + change + "°\t" + smallest + "°\t+" + rate + "° ± " + per + "° a month", last.Day.Format("2006-01-02") + "\t" + v + "° ± " + u + "°", "Up " + change + "° since"} {
		assert.Contains(t, text, want)
	}
	w.show(func(out io.Writer) error {
		return sheet.WriteMonths(out, in, sheet.Options{For: sheet.Parent, Locale: english})
	})
	text = w.text()
	assert.Contains(t, text, fmt.Sprintf("It went up by %.0f degrees, give or take %.0f.", one.ChangeDeg, math.Ceil(one.SmallestDeg)))
	assert.Contains(t, text, fmt.Sprintf("%.0f°", last.AngleDeg))
	assert.NotContains(t, text, "real")

	flat := monthsOf(t, 1, []float64{165.1, 164.2, 166.0, 165.4})
	w.show(func(out io.Writer) error {
		return sheet.WriteMonths(out, flat, sheet.Options{For: sheet.Athlete, Locale: english})
	})
	assert.Contains(t, w.text(), fmt.Sprintf("a change has to be %.0f degrees or more", math.Ceil(flat.Trends[0].SmallestDeg)))
	w.show(func(out io.Writer) error { return sheet.WriteMonths(out, in, sheet.Options{Locale: german}) })
	assert.NotRegexp(t, `\d\.\d`, w.text(), "no number with a point is left")
}

// The page has the screen's numbers, and its plain words say where most is lost only if the screen does.
func TestScreenHasTheScreensNumbers(t *testing.T) {
	k := screenOf(t, 183, 161, 155)
	require.Equal(t, change.Control, k.Largest)
	in := sheet.ScreenInput{Who: "Merlin", Measure: "hip-split", Screens: []sheet.SideScreen{{Screen: k}}}
	w := open(t, func(out io.Writer) error { return sheet.WriteScreen(out, in, sheet.Options{Locale: english}) })
	text := w.text()
	for _, g := range k.Gaps {
		v, u := uncertainty.Format(g.Deg, (g.IntervalDeg[1]-g.IntervalDeg[0])/2)
		assert.Contains(t, text, fmt.Sprintf("%s\t%s to %s\t%s° ± %s°", g.Name, g.From, g.To, strings.Replace(v, "-", "−", 1), u))
	}
	for _, l := range k.LooksAt {
		assert.Contains(t, text, l.At[0])
	}
	assert.Contains(t, text, "Common practice in halls, with no source")
	plain := func(k *change.Screen) string {
		in.Screens[0].Screen = k
		w.show(func(out io.Writer) error {
			return sheet.WriteScreen(out, in, sheet.Options{For: sheet.Parent, Locale: english})
		})
		return w.text()
	}
	text = plain(k)
	assert.Contains(t, text, "these pictures show about 25 less, give or take")
	assert.Contains(t, text, "between “with help” and “without help”")
	for _, deg := range []string{"183°", "161°", "155°", "asked: 180°"} {
		assert.Contains(t, text, deg)
	}
	assert.Contains(t, plain(screenOf(t, 171, 164.9, 158.2)), "cannot tell where the largest part is")
	assert.Contains(t, plain(screenOf(t, 185, 182, 178.9)), "cannot tell if that is there yet")
	assert.Contains(t, plain(screenOf(t, 195, 192, 189)), "and that is reached")
}

// squadScreens are the screens of a number of athletes, two sides each, some undecided and some without a
// condition.
func squadScreens(t testing.TB, athletes int) sheet.ScreensInput {
	t.Helper()
	in := sheet.ScreensInput{Title: "hip split", List: "monday",
		Without:  []string{"Knot, right: only active on 2 May 2026", "Curlew: no reading"},
		Notes:    []string{"a screen compares takes of one day: of a day that is past, all conditions are taken again"},
		Cautions: screenOf(t, 171, 164.9, 158.2).Cautions}
	for k := range athletes {
		for i, side := range []string{"left", "right"} {
			degs := [][]float64{{183, 161, 155}, {171, 164.9, 158.2}, {180, 178.9, 177.5}, {195, 192, 189}, {176, 168, math.NaN()}}[(k+2*i)%5]
			in.Screens = append(in.Screens, sheet.AthleteScreen{Athlete: athleteNames[k%len(athleteNames)], Side: side, Screen: screenOf(t, degs...)})
		}
	}
	return in
}

// A plan of four set-ups prints on one page, and has every figure of its tables.
func TestPlanOnOnePage(t *testing.T) {
	in := sheet.PlanInput{Title: "shoulder flexion", Who: "Wren", By: time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), Change: 5, Chance: 0.8,
		Sentence: "5° by 1 March 2027: 3 takes a day, every 14 days, camera squared, 5 m off, stickers",
		// as record.Plan and change.NewPlan word them
		Notes: []string{"an athlete varies from day to day, here by 5.6° (one standard deviation), as published studies of such movements found it: more takes on one day do not average that out, more days do",
			"from take to take of one day by 2.3° (one standard deviation)", "one rater and one set-up throughout, both named, and the same side and state each time: what these add cancels in a change; else it takes more",
			"the change is taken to come about evenly from 30 November 2026 on; an athlete whose change slows down is found later", "of 100 athletes who change by exactly this much, 80 are found and 20 are missed",
			"how uncertain a take is comes from a typical picture of the movement (1920 by 1080 pixels, the athlete 480 pixels tall): a reading of a take of yours says it better",
			"such takes are of a limb that is held, or followed to their widest moment: frames that somebody picks out of a movement find less"},
		Cautions: []string{"this measures; it finds no cause and prescribes nothing"}}
	for _, setup := range []string{"camera as it stands, landmarks seen", "camera by eye, 5 m off, landmarks seen", "camera squared, 5 m off, landmarks felt", "camera squared, 5 m off, stickers"} {
		table := sheet.PlanTable{Setup: setup + " (one take ± 9.5°)", Says: "5 takes a day every 7 days would find it in 7 months", Every: []string{"every 30 days", "every 14 days", "every 7 days"}}
		for _, takes := range []string{"1", "2", "3", "5"} {
			table.Rows = append(table.Rows, sheet.PlanRow{Takes: takes, Cells: []sheet.PlanCell{{"12", false}, {"9", false}, {"5", true}}})
		}
		in.Tables = append(in.Tables, table)
	}
	var setups []change.Setup
	for k, table := range in.Tables {
		setups = append(setups, change.Setup{Name: strings.TrimSuffix(table.Setup, " (one take ± 9.5°)"), Reading: change.Reading{Measure: "shoulder-flexion", StandardDeg: 6 - float64(k), Sources: map[string]float64{"landmark": 2}}})
	}
	var err error
	in.Plan, err = change.NewPlan(setups, change.PlanOptions{ChangeDeg: 5, From: time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC), By: in.By})
	require.NoError(t, err)
	axe := browsertest.Axe(t)
	for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
		w := open(t, func(out io.Writer) error { return sheet.WritePlan(out, in, sheet.Options{Paper: p, Locale: english}) })
		w.leavesFit("the plan on " + string(p))
		pages, size := w.pdf("plan-" + string(p))
		assert.Equal(t, 1, pages)
		assert.Equal(t, paperPoints[p], size)
		if p == sheet.A4 {
			w.accessible(axe, "the plan")
			for _, want := range []string{"● 5", "1 take 1", "a change of 5° by 1 March 2027", "8 of 10 cases", "every 14 days"} {
				assert.Contains(t, w.text(), want)
			}
		}
		w.alone()
	}
	assert.ErrorContains(t, sheet.WritePlan(io.Discard, in, sheet.Options{For: sheet.Parent}), `for "parent"`)
	assert.ErrorContains(t, sheet.WritePlan(io.Discard, sheet.PlanInput{}, sheet.Options{}), "there is no plan")
}

// The screens of fifteen athletes, two sides each, print on one page, and so does the list of all
// their takes: three conditions, three takes of each.
func TestSquadScreensOnOnePage(t *testing.T) {
	const athletes = 15
	screens := squadScreens(t, athletes)
	takes := sheet.TakesInput{Title: "hip split", List: "monday", Day: time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), Notes: append([]string{"6 more takes would not tell (largest): " + strings.Join(athleteNames[:athletes], ", ")}, screens.Notes...), Cautions: screens.Cautions}
	for _, c := range []string{"active", "passive", "in-skill"} {
		takesOf := sheet.TakesOf{Condition: c}
		for _, who := range athleteNames[:athletes] {
			takesOf.Athletes = append(takesOf.Athletes, sheet.TakesOfAthlete{Athlete: who, Sides: []sheet.TakesOfSide{{Side: "left", Takes: 3}, {Side: "right", Takes: 3}}})
		}
		takes.Conditions = append(takes.Conditions, takesOf)
	}
	axe := browsertest.Axe(t)
	for name, write := range map[string]func(io.Writer, sheet.Options) error{
		"screens": func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreens(w, screens, opt) },
		"takes":   func(w io.Writer, opt sheet.Options) error { return sheet.WriteTakes(w, takes, opt) },
	} {
		for _, p := range []sheet.Paper{sheet.A4, sheet.Letter} {
			w := open(t, func(out io.Writer) error { return write(out, sheet.Options{Paper: p, Locale: english}) })
			w.leavesFit(name + " on " + string(p))
			pages, size := w.pdf(name + "-" + string(p))
			assert.Equal(t, 1, pages, "%s on %s", name, p)
			assert.Equal(t, paperPoints[p], size)
			if p == sheet.A4 {
				w.accessible(axe, name)
			}
			w.alone()
		}
		assert.ErrorContains(t, write(io.Discard, sheet.Options{For: sheet.Parent}), `for "parent"`)
	}
	w := open(t, func(out io.Writer) error { return sheet.WriteScreens(out, screens, sheet.Options{Locale: english}) })
	g := screens.Screens[0].Screen.Gaps[1]
	v, u := uncertainty.Format(g.Deg, (g.IntervalDeg[1]-g.IntervalDeg[0])/2)
	for _, want := range []string{v + " ± " + u, "largest: control", "undecided", "nothing is missing", "Knot, right: only active on 2 May 2026"} {
		assert.Contains(t, w.text(), want)
	}
	assert.ErrorContains(t, sheet.WriteScreens(io.Discard, sheet.ScreensInput{}, sheet.Options{}), "there is no screen")
	assert.ErrorContains(t, sheet.WriteTakes(io.Discard, sheet.TakesInput{}, sheet.Options{}), "no take is missing")
}
