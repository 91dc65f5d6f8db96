package pose

import (
	"context"
	"math"
	"time"

	"ecart/geometry"
	"ecart/vision/take"
)

// Options say what is looked for.
type Options struct {
	// Angle is the angle whose widest moment is looked for, degrees; NaN where it is not
	// known of that body.
	Angle func(*Body) float64
	// Seen hears of the bodies in a clip before Angle is asked, in order of time; it may be nil.
	Seen func([]*Body)
	// Athlete is a place on the person meant, px, in frame AthleteFrame; nil for whoever
	// moves most.
	Athlete      *geometry.Point
	AthleteFrame int
	// From and To are the frames that are looked at, both included; To 0 is the last one.
	From, To int
	// OwnHips reports that the legs open to the sides, as seen from the front: each leg's axis runs through its own hip.
	OwnHips bool
	// Progress hears what part of the work is done, 0 to 1; it may be nil.
	Progress func(part float64)
}

// Moment is a frame that was looked at.
type Moment struct {
	Frame int
	Time  time.Duration // true time from the first frame, slow motion undone
	Body  *Body         // nil: nobody is seen

	support float64  // the share of the legs that lies on what stands before the ground; 1: not known
	tried   bool     // a peak was looked for near it
	lost    bool     // too few of the moments about it have support: its place is not known
	fine    bool     // looked at in the frame itself, not in a smaller picture of it
	picture *reduced // of a fine one where the ground stands still
	later   *unseen  // of a fine one that was not looked at
	network *Body    // smoothed over the moments about it
	smooth  *Body    // the same with the legs on the axes of their outlines
	legs    [2]*Axis // left and right, by the outlines in this frame; nil where none was found
	axes    [2]*Axis // the same through the moments about it
	shanks  [2]bool  // the ankle lies on the axis of the shank's outline
}

// Best is the body smoothed over the moments about it, where there is one.
func (m *Moment) Best() *Body {
	if m.smooth != nil {
		return m.smooth
	}
	return m.Body
}

// Found is what a clip shows.
type Found struct {
	Moments []Moment // in order of time
	Peak    *Peak
	// Still reports that the ground stands still, so that outlines can be used.
	Still  bool
	ground *reduced

	ownHips bool // Options.OwnHips
}

// The steps in time. At a tenth of a second, a movement of half a second shows its peak
// in three or four pictures.
const (
	coarse      = 0.125 // s, true time
	mostMoments = 240   // looked at: half a minute of clip
	keptBytes   = 240 << 20
	searches    = 2 // at most in one clip, beside the first: each takes some ten looks
)

// kept is a picture that was kept of a clip.
type kept struct {
	frame   int
	picture *reduced
	movers  []mover
	changed float64
}

// Clip looks through a clip. The error is an *Error, that of the child program, of the
// take, or of ctx, which ends it at once.
func (f *Finder) Clip(ctx context.Context, t *take.Take, o Options) (*Found, error) {
	out, err := f.coarse(ctx, t, o)
	if err != nil || o.Angle == nil {
		return out, err
	}
	return out, f.peak(ctx, t, out, o)
}

// tell passes on what part of the work is done.
func (o *Options) tell(part float64) {
	if o.Progress != nil {
		o.Progress(part)
	}
}

// span is the frames that are looked at.
func (o *Options) span(t *take.Take) (from, to int) {
	if to = t.Info().Frames - 1; o.To > 0 {
		to = min(to, o.To)
	}
	return o.From, to
}

// coarse looks at one picture each eighth of a second.
func (f *Finder) coarse(ctx context.Context, t *take.Take, o Options) (*Found, error) {
	f.pointedAt, f.unsure = o.Athlete != nil, false
	from, to := o.span(t)
	step := stepOf(t)
	if (to-from)/step+1 > mostMoments {
		return nil, &Error{Problem: TooLong}
	}
	pictures, err := keep(ctx, t, from, to, step, keptSide, func(i int) { o.tell(0.2 * float64(i-from+1) / float64(to-from+1)) })
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

	w := &walk{f: f, found: out, o: o, pictures: pictures, bodies: make([]*Body, len(pictures)), looked: make([]bool, len(pictures)), still: out.Still, left: searches}
	w.tell = func() {
		w.done++
		o.tell(0.3 + 0.45*math.Min(1, float64(w.done)/float64(len(pictures))))
	}
	if err := w.all(ctx); err != nil {
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

// keep decodes the frames from one to another once, and keeps each step-th as a picture of at most so many pixels on its
// longer side.
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

// findMovers finds what moves in each picture, and returns the median share of the picture
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

// keepSides decides left and right over all moments.
func (f *Found) keepSides() {
	var bodies []*Body
	for _, m := range f.Moments {
		if m.Body != nil {
			bodies = append(bodies, m.Body)
		}
	}
	keepSides(bodies)
}
