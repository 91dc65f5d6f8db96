package reading

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/geometry/uncertainty"
)

// Request holds everything that a reading depends on. Zero values mean the defaults.
type Request struct {
	Take    Take
	Still   bool // a single picture, not a frame of a clip
	Marks   *Marks
	Measure geometry.Measure
	Skill   *Skill // nil: no verdict
	Options geometry.Options
	Priors  *Priors // nil: the built-in ones

	Found      HowFound     // how landmarks were found, for marks that do not say it; NotSaid: as the marks file says
	Camera     string       // "squared", "by-eye" or "unknown" (default)
	ObliqueDeg float64      // above 0: the standard deviation of yaw and pitch, in place of Camera
	StatureMm  float64      // above 0: how tall the athlete is
	DistanceM  float64      // above 0: from the camera to the athlete
	FocalMm    float64      // above 0: focal length, 35 mm equivalent
	Lens       *camera.Lens // nil: unknown
	Movement   *Movement    // nil: the frame by itself
	Moment     *Moment      // what the frame missed of the movement, from the frames around it; nil: as the priors say
	Beyond     bool         // accept an angle outside the range that bodies reach
	Confidence float64      // probability required for a decision; default 0.95
	Coverage   float64      // of the interval; default 0.95
	Seed       uint64
	MaxDraws   int
}

// tolerance is the required stability of both ends of the interval, degrees.
const tolerance = 0.05

// Read measures the angle. Errors in the input have a Hint.
func Read(q Request) (*Reading, error) {
	m, measured, err := q.prepare()
	if err != nil {
		return nil, err
	}
	if err := q.checkBodies(m); err != nil {
		return nil, err
	}
	d, err := m.draw(&q)
	if err != nil {
		return nil, err
	}
	rows, err := uncertainty.Budget(m.blocks, m.degrees, d, q.Seed)
	if err != nil {
		return nil, unbounded(err)
	}
	r := &Reading{
		Schema: Schema, Take: q.Take, Measure: q.Measure.Name,
		AngleDeg: d.Mean, StandardUncertaintyDeg: d.SD, ExpandedUncertaintyDeg: (d.High - d.Low) / 2,
		Coverage: q.Coverage, IntervalDeg: [2]float64{d.Low, d.High}, Draws: len(d.Values),
		PictureAngleDeg: m.picture(q.Measure).Degrees(),
		NotIncluded:     q.notIncluded(m),
		Moment:          q.moment(),
		Density:         density(d),
	}
	r.FirstOrder = m.firstOrder(d)
	for _, row := range rows {
		if row.Standard != 0 {
			r.Budget = append(r.Budget, BudgetRow{row.Source, row.Standard, row.Share, m.how[row.Source]})
		}
	}
	if r.Proposed = q.proposed(m); q.Skill.asksAngle() && !r.Proposed {
		r.Skill = q.Skill.ref()
		r.Verdict = judge(q.Skill, r.Skill, d, q.Confidence)
	}
	r.place(m, measured)
	if r.Knees, r.Thigh, err = q.bends(&m.bound); err != nil {
		return nil, err
	}
	if r.Beside, err = q.beside(&m.bound); err != nil {
		return nil, err
	}
	if r.Proportions, r.Positions, err = q.proportions(); err != nil {
		return nil, err
	}
	if r.LegsApart, r.KneesApart, err = q.apart(); err != nil {
		return nil, err
	}
	if r.Hips, err = q.hips(); err != nil {
		return nil, err
	}
	if r.Skill != nil && len(r.Knees) > 0 {
		r.Straight = q.Skill.StraightLegs
	}
	if out := q.kneesUnmarked(&m.bound, r.Knees); out != "" {
		r.NotIncluded = append(r.NotIncluded, out)
	}
	if slices.Contains(q.Measure.Optional, "ribs") && r.besideOf("trunk-arch", "") == nil {
		r.NotIncluded = append(r.NotIncluded, "an arch of the back, which counts in this angle: mark ribs")
	}
	if out := q.hipsUnmarked(r); out != "" {
		r.NotIncluded = append(r.NotIncluded, out)
	}
	r.Notes = q.notes(m, d)
	if r.Proposed {
		r.Notes = append([]string{ProposedNote}, r.Notes...)
	}
	r.Advice = q.advise(m, r)
	if r.Proposed {
		r.Advice = append([]string{ProposedAdvice}, r.Advice...)
	}
	r.Cautions = cautions(q.Measure, q.Skill)
	if c := q.Take.DamageCaution(q.Movement != nil); c != "" {
		r.Cautions = append(r.Cautions, c)
	}
	return r, nil
}

// notIncluded lists, in words, sources that may matter and are not in the interval.
func (q *Request) notIncluded(m *model) []string {
	out := []string{SourceTiming}
	if q.Movement != nil {
		out = append([]string{}, q.Movement.Unseen...)
		if d := q.Take.damage(); d != "" {
			out = append(out, "what "+d+" show: the file is damaged there")
		}
	}
	if q.Take.Unjudged {
		out = append(out, UnnoticedDamage)
	}
	if m.plane != nil {
		out = append(out, "the error of the rectangle's size, which is taken as given")
	}
	if l := m.bound.Lines(); q.Marks.Level != nil && (l[0].To < 0 || l[1].To < 0) {
		out = append(out, "how level or plumb the marked line is, which is taken as exact")
	}
	return out
}

// Quick returns only the angle at the marks, degrees, without Monte Carlo draws: for display while a
// mark is dragged.
func Quick(q Request) (angleDeg float64, err error) {
	m, _, err := q.prepare()
	if err != nil {
		return 0, err
	}
	return m.about.Degrees(), nil
}

// Sketch returns a first-order reading without Monte Carlo draws: angle, interval, marks and lines, for
// pictures in quick succession. It has no budget, verdict or advice.
func Sketch(q Request) (*Reading, error) {
	m, measured, err := q.prepare()
	if err != nil {
		return nil, err
	}
	p := uncertainty.FirstOrder(m.about.Degrees(), m.blocks, m.gradient(), q.Coverage)
	r := &Reading{Schema: Schema, Take: q.Take, Measure: q.Measure.Name,
		AngleDeg: p.Value, StandardUncertaintyDeg: p.Standard, ExpandedUncertaintyDeg: p.Expanded, Coverage: q.Coverage,
		IntervalDeg: [2]float64{p.Value - p.Expanded, p.Value + p.Expanded}, PictureAngleDeg: m.picture(q.Measure).Degrees()}
	if r.Proposed = q.proposed(m); q.Skill.asksAngle() && !r.Proposed {
		r.Skill = q.Skill.ref()
	}
	r.place(m, measured)
	return r, nil
}

// prepare checks the request, binds the measure and builds the model.
func (q *Request) prepare() (*model, map[string]placed, error) {
	if q.Priors == nil {
		q.Priors = usual()
	}
	if q.Confidence == 0 {
		q.Confidence = 0.95
	}
	if q.Coverage == 0 {
		q.Coverage = 0.95
	}
	if q.Camera == "" {
		q.Camera = "unknown"
	}
	if err := q.check(); err != nil {
		return nil, nil, err
	}
	if err := q.Marks.Fit(q.Take.WidthPx, q.Take.HeightPx); err != nil {
		return nil, nil, err
	}
	s, err := q.setup()
	if err != nil {
		return nil, nil, err
	}
	measured := gather(q.Marks, q.click())
	bound, err := q.bind(s, measured)
	if err != nil {
		return nil, nil, err
	}
	m, err := build(s, bound, measured, q.Measure, q)
	return m, measured, err
}

func (q *Request) check() error {
	open := func(v float64) bool { return v > 0.5 && v < 1 }
	if err := checkFound(q.Found, "the reading"); err != nil {
		return err
	}
	switch {
	case q.Marks == nil || len(q.Marks.Marks) == 0:
		return fault.New("there are no marks", "place a mark for each landmark of the measure")
	case !open(q.Confidence):
		return fault.New(fmt.Sprintf("the confidence %g is not between 0.5 and 1", q.Confidence), "0.95 is usual")
	case !open(q.Coverage):
		return fault.New(fmt.Sprintf("the coverage %g is not between 0.5 and 1", q.Coverage), "0.95 is usual")
	case !(q.ObliqueDeg >= 0 && q.ObliqueDeg <= 45):
		return fault.New(fmt.Sprintf("the camera cannot be %g degrees oblique", q.ObliqueDeg), "give up to 45 degrees, or take the picture from the side")
	case q.StatureMm != 0 && !(q.StatureMm >= 700 && q.StatureMm <= 2500):
		return fault.New(fmt.Sprintf("a stature of %g mm is not a person's", q.StatureMm), "give it as 152cm or 1.52m")
	case q.DistanceM != 0 && !(q.DistanceM >= 0.5 && q.DistanceM <= 200):
		return fault.New(fmt.Sprintf("a distance of %g m does not fit a phone's picture of a person", q.DistanceM), "give it as 5m")
	case q.FocalMm != 0 && !(q.FocalMm >= 8 && q.FocalMm <= 1000):
		return fault.New(fmt.Sprintf("a focal length of %g mm is no phone's", q.FocalMm), "give the 35 mm equivalent, as 26mm")
	case q.Skill != nil && q.Skill.Measure != q.Measure.Name:
		return fault.New(fmt.Sprintf("the skill %q is about %s and not %s", q.Skill.Name, q.Skill.Measure, q.Measure.Name), "leave "+fault.Option("measure")+" out, or leave "+fault.Option("skill")+" out")
	}
	if _, ok := q.Priors.Oblique.YawDeg[q.Camera]; !ok {
		return fault.New(fmt.Sprintf("the camera set-up %q is not known", q.Camera), "it is squared, by-eye or unknown; or give "+fault.Option("oblique")+" in degrees")
	}
	return nil
}

// bind matches the measure with the marks, corrected for lens, corners and level.
func (q *Request) bind(s *setup, measured map[string]placed) (geometry.Bound, error) {
	mapper := camera.View{Roll: geometry.Angle(s.roll.Mean[0])}.Mapper()
	at := map[string]geometry.Point{}
	for _, name := range slices.Sorted(maps.Keys(measured)) { // of several faults, the same one each time
		p, err := s.image(measured[name].at)
		if err != nil {
			return geometry.Bound{}, err
		}
		at[name] = mapper.Plane(p, 0)
	}
	opt := q.Options
	if opt.Facing == "" {
		opt.Facing = geometry.Facing(q.Marks.Facing)
	}
	return q.Measure.Bind(at, opt)
}

func (m *model) draw(q *Request) (uncertainty.Distribution, error) { return m.drawOf(q, m.degrees) }

// drawOf returns the distribution of f, a function of the model's inputs.
func (m *model) drawOf(q *Request, f uncertainty.Model) (uncertainty.Distribution, error) {
	d, err := uncertainty.MonteCarlo(m.blocks, f, uncertainty.Options{
		Seed: q.Seed, Coverage: q.Coverage, Tolerance: tolerance, MaxDraws: q.MaxDraws})
	return d, unbounded(err)
}

// unbounded adds the hint to an error of the Monte Carlo run; nil for nil.
func unbounded(err error) error {
	if err == nil {
		return nil
	}
	return fault.New(err.Error(), "a line is about as short as its marks are uncertain; use marks farther apart or a larger picture")
}

// picture is the angle between the marks in the picture, without any correction.
func (m *model) picture(measure geometry.Measure) geometry.Angle {
	var pts [maxPoints]geometry.Point
	x := uncertainty.Means(m.blocks)
	for i := range m.names {
		pts[i] = geometry.Point{X: x[perPoint*i], Y: -x[perPoint*i+1]}
	}
	a := m.bound.Near(pts[:len(m.names)], m.about)
	if measure.Magnitude && a < 0 {
		return -a
	}
	return a
}

func (m *model) firstOrder(d uncertainty.Distribution) *FirstOrder {
	p := uncertainty.FirstOrder(m.degrees(uncertainty.Means(m.blocks)), m.blocks, m.gradient(), d.Coverage)
	f := &FirstOrder{AngleDeg: p.Value, StandardUncertaintyDeg: p.Standard,
		IntervalDeg: [2]float64{p.Value - p.Expanded, p.Value + p.Expanded}, Valid: p.Agrees(d)}
	if !math.IsInf(p.Freedom, 1) {
		f.DegreesOfFreedom = &p.Freedom
	}
	return f
}

// place puts the marks and lines that were used into the reading.
func (r *Reading) place(m *model, measured map[string]placed) {
	perMm := m.pixelsPerMm()
	for i, name := range append(slices.Clone(m.names), m.bound.Deciders()...) {
		q := measured[name]
		mark := Mark{Landmark: name, X: q.at.X, Y: q.at.Y, Placements: q.n}
		for a := range 2 {
			for b := range 2 {
				mark.Covariance[a][b] = q.cov.At(a, b)
				if i < len(m.names) {
					mark.Covariance[a][b] += m.blocks[perMark*i+1].Covariance().At(a, b) * perMm * perMm
				}
			}
		}
		r.Marks = append(r.Marks, mark)
	}
	for i, l := range m.bound.Lines() {
		from := measured[m.names[l.From]].at
		line := Line{From: m.names[l.From], FromX: from.X, FromY: from.Y}
		if l.To >= 0 {
			to := measured[m.names[l.To]].at
			line.To = m.names[l.To]
			if l.Mirrored {
				to = m.mirrored(from, to)
				line.Fixed, line.To = true, "mirrored "+line.To
			}
			line.ToX, line.ToY = to.X, to.Y
		} else {
			// level and plumb as seen in the picture
			to := m.fixedEnd(from, l.Fixed)
			line.Fixed, line.To, line.ToX, line.ToY = true, "level", to.X, to.Y
			if l.Fixed.X == 0 {
				line.To = "plumb"
			}
		}
		r.Lines[i] = line
	}
	r.Turn = -m.bound.Turn() // seen with y down
}

// fixedEnd is the end of a level or plumb line that starts at a pixel.
func (m *model) fixedEnd(from geometry.Point, along geometry.Vec) geometry.Point {
	mapper := camera.View{Roll: geometry.Angle(m.roll.Mean[0])}.Mapper()
	to := mapper.Pixel(geometry.Point(along), 0)
	if m.plane == nil {
		return from.Add(geometry.Vec(to))
	}
	p := m.nominalPlane()
	at := p.At(from)
	return p.Pixel(at.Add(geometry.Vec{X: to.X, Y: -to.Y}.Scale(1 / m.scale)))
}

// mirrored is the mirror image of a pixel in the plumb line through from, as the picture shows plumb.
func (m *model) mirrored(from, to geometry.Point) geometry.Point {
	plumb := m.fixedEnd(from, geometry.Vec{Y: 1}).Sub(from).Unit()
	along := plumb.Scale(to.Sub(from).Dot(plumb))
	return from.Add(along.Scale(2).Sub(to.Sub(from)))
}

func (q *Request) notes(m *model, d uncertainty.Distribution) []string {
	notes := m.bound.Assumptions()
	if !m.saysFound(q) {
		notes = append(notes, FoundNotSaid)
	}
	if q.StatureMm == 0 && m.pxPerMm == 0 {
		notes = append(notes, fmt.Sprintf("the athlete is taken to be %.2f m tall, give or take %.2f", q.Priors.Stature.MeanMm/1000, q.Priors.Stature.SDMm/1000))
	}
	if q.Skill != nil && q.Skill.Ratio != "" {
		notes = append(notes, WidthsNote)
	}
	if q.Skill != nil && q.Skill.Note != "" {
		notes = append(notes, q.Skill.Note)
	}
	if !d.Stable {
		notes = append(notes, fmt.Sprintf("after %d draws the interval's ends still move by more than a twentieth of a degree", len(d.Values)))
	}
	return notes
}

// StudyApart returns the Monte Carlo result for the distance of the ankles in shoulder widths of a request for
// leg-separation, for studies.
func StudyApart(q Request) (uncertainty.Distribution, error) {
	m, then := q.modelFor(geometry.LegsApart().Lines, geometry.Options{})
	if m == nil {
		return uncertainty.Distribution{}, fault.New("ankles and shoulders are not all marked", "")
	}
	_, d, err := m.proportion(ShoulderWidths, then)
	return d, err
}

// Study returns Read's Monte Carlo result and the first-order result without the rest of a
// reading, for studies that make thousands.
func Study(q Request) (uncertainty.Distribution, *FirstOrder, error) {
	m, _, err := q.prepare()
	if err != nil {
		return uncertainty.Distribution{}, nil, err
	}
	d, err := m.draw(&q)
	if err != nil {
		return d, nil, err
	}
	return d, m.firstOrder(d), nil
}
