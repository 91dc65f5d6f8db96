package pose

import (
	"context"
	"math"
	"time"

	"ecart/geometry"
	"ecart/vision/take"
)

// Options are the settings of a search in a take.
type Options struct {
	// Angle returns the angle whose widest moment is looked for, degrees; NaN where it is not
	// known for that body.
	Angle func(*Body) float64
	// Seen is called with the bodies in a clip, in order of time, before Angle is; it may be nil.
	Seen func([]*Body)
	// Athlete is a place on the person meant, px, in frame AthleteFrame; nil for the person who
	// moves most.
	Athlete      *geometry.Point
	AthleteFrame int
	// From and To are the frames that are looked at, both included; To 0 is the last one.
	From, To int
	// OwnHips: the legs open to the sides, as seen from the front. Each leg's axis then runs through its own hip.
	OwnHips bool
	// Progress is called with the part of the work that is done, 0 to 1; it may be nil.
	Progress func(part float64)
}

// Moment is a frame that was looked at.
type Moment struct {
	Frame int
	Time  time.Duration // true time from the first frame, slow motion undone
	Body  *Body         // nil: nobody is seen

	support  float64      // share of the legs that lies on the foreground (supportOf), 0 to 1; 1: not known
	tried    bool         // a peak was searched for near it
	lost     bool         // too few of the moments about it have support: the smoothed places are unreliable
	fine     bool         // taken from the frame in full resolution, not from a reduced picture
	picture  *reduced     // of a fine moment
	pending  *pendingLook // of a fine moment at which the network has not looked
	network  *Body        // the network's bodies, smoothed over the moments about this one
	smooth   *Body        // the same with the legs on the axes of their outlines
	legs     [2]*Axis     // left and right, by the outlines in this frame; nil: not found
	axes     [2]*Axis     // legs, smoothed over the moments about this one
	shanks   [2]bool      // the ankle lies on the axis of the shank's outline
	followed bool         // hips and shoulders of network and smooth move as their pixels do (motion.go)
	arms     [2]bool      // elbow and wrist do too
}

// Best returns the smoothed body where there is one, otherwise the body of this frame alone.
func (m *Moment) Best() *Body {
	if m.smooth != nil {
		return m.smooth
	}
	return m.Body
}

// Found is the result of a search in a clip.
type Found struct {
	Moments []Moment // in order of time
	Peak    *Peak
	// Still reports that the ground stands still, so that outlines can be used.
	Still  bool
	ground *reduced

	ownHips bool // Options.OwnHips
}

// Steps and limits of a search in a clip. With a step of an eighth of a second, a movement of half a second
// is seen in four pictures.
const (
	coarseStep  = 0.125 // s, true time
	mostMoments = 240   // at coarseStep: half a minute of clip
	keptBytes   = 240 << 20
	searches    = 2 // limit of further searches in one clip after the first; each takes some ten looks
)

// kept is a reduced picture of one frame of a clip.
type kept struct {
	frame   int
	picture *reduced
	movers  []mover
	changed float64 // share of the picture that differs from the ground
}

// Clip searches a clip for the athlete, and for the widest moment unless Options.Angle is nil. The error is an
// *Error, or that of the child program, of the take, or of ctx. Clip ends at once when ctx is done.
func (f *Finder) Clip(ctx context.Context, t *take.Take, o Options) (*Found, error) {
	out, err := f.lookCoarsely(ctx, t, o)
	if err != nil || o.Angle == nil {
		return out, err
	}
	return out, f.findPeak(ctx, t, out, o)
}

// report calls Progress, if there is one, with the part of the work that is done.
func (o *Options) report(part float64) {
	if o.Progress != nil {
		o.Progress(part)
	}
}

// span returns the first and the last frame to be searched.
func (o *Options) span(t *take.Take) (from, to int) {
	if to = t.Info().Frames - 1; o.To > 0 {
		to = min(to, o.To)
	}
	return o.From, to
}

// lookCoarsely looks for the person in reduced pictures, one each coarseStep.
func (f *Finder) lookCoarsely(ctx context.Context, t *take.Take, o Options) (*Found, error) {
	f.pointedAt, f.unsure = o.Athlete != nil, false
	from, to := o.span(t)
	step := stepOf(t)
	if (to-from)/step+1 > mostMoments {
		return nil, &Error{Problem: TooLong}
	}
	pictures, err := keep(ctx, t, from, to, step, keptSide, func(i int) { o.report(0.2 * float64(i-from+1) / float64(to-from+1)) })
	if err != nil {
		return nil, err
	}
	if len(pictures) == 0 {
		return nil, &Error{Problem: NoPerson}
	}
	out := &Found{ownHips: o.OwnHips}
	var all []*reduced
	for _, k := range pictures {
		all = append(all, k.picture)
	}
	out.ground = medianOf(all)
	changed := findMovers(pictures, out.ground)
	out.Still = len(pictures) >= 5 && changed < stillGround

	w := &walk{f: f, found: out, o: o, pictures: pictures, bodies: make([]*Body, len(pictures)), looked: make([]bool, len(pictures)), still: out.Still, searchesLeft: searches}
	w.report = func() {
		w.done++
		o.report(0.3 + 0.45*math.Min(1, float64(w.done)/float64(len(pictures))))
	}
	if err := w.run(ctx); err != nil {
		return nil, err
	}
	for i, k := range pictures {
		if !w.looked[i] {
			continue
		}
		m := Moment{Frame: k.frame, Time: t.TrueTime(k.frame), Body: w.bodies[i]}
		m.support = out.supportOf(m.Body, k.picture)
		out.Moments = append(out.Moments, m)
	}
	out.keepSides()
	return out, nil
}

// keep decodes the frames from..to once, and keeps every step-th as a reduced picture. Its longer side has at most side
// pixels, fewer where all pictures together would take more than keptBytes.
func keep(ctx context.Context, t *take.Take, from, to, step int, side float64, progress func(i int)) (out []kept, err error) {
	info := t.Info()
	number := (to-from)/step + 1
	if share := float64(min(info.Width, info.Height)) / float64(max(info.Width, info.Height)); 3*side*side*share*float64(number) > keptBytes {
		side = math.Sqrt(keptBytes / (3 * share * float64(number)))
	}
	by := max(1, int(math.Ceil(float64(max(info.Width, info.Height))/side)))
	err = t.Span(ctx, from, to, func(f *take.Frame) error {
		if (f.Index-from)%step == 0 && !f.Damaged {
			out = append(out, kept{frame: f.Index, picture: shrink(f, f.Bounds(), by)})
		}
		progress(f.Index)
		return nil
	})
	return out, err
}

// findMovers sets the movers of each picture, and returns the median share of the pictures
// that differs from the ground.
func findMovers(pictures []kept, ground *reduced) float64 {
	by := max(1, int(math.Ceil(float64(max(ground.width, ground.height))/moverSide)))
	small := ground.smaller(by)
	var shares []float64
	for i := range pictures {
		pictures[i].movers, pictures[i].changed = movers(pictures[i].picture.smaller(by), small)
		shares = append(shares, pictures[i].changed)
	}
	return median(shares)
}

// keepSides assigns left and right over all moments together.
func (f *Found) keepSides() {
	var bodies []*Body
	for _, m := range f.Moments {
		if m.Body != nil {
			bodies = append(bodies, m.Body)
		}
	}
	keepSides(bodies)
}
