package scene

import (
	"encoding/json"
	"math"
	"strings"
)

// TruthSchema names the form of a truth file.
const TruthSchema = "ecart/truth/1"

// Truth is what is true in one frame. Positions are metres in the world's axes,
// pixels are continuous with the centre of the top-left pixel at (0, 0).
type Truth struct {
	Frame int     `json:"frame"`
	TimeS float64 `json:"time_s"` // middle of the exposure of the middle row

	Facing string `json:"facing"` // left or right, once stood upright by turning in the plane of motion
	Front  string `json:"front"`  // the leg in front: left or right
	Reach  string `json:"front_arm"`
	Near   string `json:"near"` // the side nearer to the camera: that of a bare landmark name

	Marks    []TruthMark        `json:"marks"`
	Stickers []TruthSticker     `json:"stickers"`
	Angles   map[string]float64 `json:"angles_deg"` // at TimeS; see [Joints.Angles]
	Camera   CameraTruth        `json:"camera"`
}

// TruthMark is one landmark: the joint's axis, and the skin over it on the
// side towards the camera.
type TruthMark struct {
	Landmark  string     `json:"landmark"`
	World     [3]float64 `json:"world_m"`
	Pixel     [2]float64 `json:"pixel"`
	Skin      [3]float64 `json:"skin_m"`
	SkinPixel [2]float64 `json:"skin_pixel"`
	Visible   bool       `json:"visible"` // the skin point: in the picture and nothing before it
}

// TruthSticker is one sticker: the middle of its disc.
type TruthSticker struct {
	Landmark string     `json:"landmark"`
	Colour   string     `json:"colour"` // #rrggbb before light falls on it
	RadiusMM float64    `json:"radius_mm"`
	World    [3]float64 `json:"world_m"`
	Pixel    [2]float64 `json:"pixel"` // where the middle of the disc shows, at mid-exposure of its row
	RadiusPx float64    `json:"radius_px"`
	Visible  float64    `json:"visible"` // share of the disc seen in the picture, 0 to 1
}

// CameraTruth is the camera at one moment.
type CameraTruth struct {
	Position [3]float64 `json:"position_m"`
	YawDeg   float64    `json:"yaw_deg"`
	PitchDeg float64    `json:"pitch_deg"`
	RollDeg  float64    `json:"roll_deg"`
}

// ClipTruth is what is true of a whole clip; its JSON stands beside the clip.
type ClipTruth struct {
	Schema   string  `json:"schema"`
	Scene    string  `json:"scene"`
	Seed     uint64  `json:"seed"`
	Width    int     `json:"width_px"`
	Height   int     `json:"height_px"`
	FPS      float64 `json:"fps"`
	Frames   int     `json:"frames"`
	ShutterS float64 `json:"shutter_s"`
	ReadoutS float64 `json:"readout_s"`

	FocalPx   float64    `json:"focal_px"`
	Principal [2]float64 `json:"principal_px"`
	Lens      Lens       `json:"lens"` // k1 k2 p1 p2 k3
	DistanceM float64    `json:"distance_m"`
	YawDeg    float64    `json:"yaw_deg"`
	PitchDeg  float64    `json:"pitch_deg"`
	RollDeg   float64    `json:"roll_deg"`

	Measure   string   `json:"measure"`
	PeakDeg   *float64 `json:"peak_deg"` // null where the take is about no measure
	PeakS     *float64 `json:"peak_s"`   // between frames
	PeakFrame int      `json:"peak_frame"`

	Truths []Truth `json:"truths"`
}

// Mark returns a landmark of the frame by its name, with or without a side or
// role (see [Joints.At]); false where there is none.
func (t Truth) Mark(name string) (TruthMark, bool) {
	role, bare, has := strings.Cut(name, "-")
	if !has {
		role, bare = "", name
	}
	front := t.Front
	if bare == "shoulder" || bare == "elbow" || bare == "wrist" {
		front = t.Reach
	}
	switch {
	case role == "":
		role = t.Near
	case role == "front":
		role = front
	case role == "back" && front == "left":
		role = "right"
	case role == "back":
		role = "left"
	}
	for _, m := range t.Marks {
		if m.Landmark == role+"-"+bare {
			return m, true
		}
	}
	return TruthMark{}, false
}

// Sticker returns the sticker over a landmark; false where there is none.
func (t Truth) Sticker(landmark string) (TruthSticker, bool) {
	for _, k := range t.Stickers {
		if k.Landmark == landmark {
			return k, true
		}
	}
	return TruthSticker{}, false
}

// Truth says what is true in a frame, without drawing it.
func (s *Scene) Truth(i int) Truth {
	t := s.Time(i)
	pose := s.Motion.At(t)
	j := s.Body.Joints(pose)
	cam := s.cameraAt(t)
	out := Truth{
		Frame: i, TimeS: t, Facing: j.FacingName(), Front: j.Front.String(), Reach: j.reach.String(), Near: j.Near().String(),
		Angles: j.Angles(), Stickers: []TruthSticker{},
		Camera: CameraTruth{Position: triple(cam.Position()), YawDeg: cam.Yaw / degree, PitchDeg: cam.Pitch / degree, RollDeg: cam.Roll / degree},
	}
	now := s.moment(t)
	for _, name := range sidedNames() {
		m := TruthMark{Landmark: name}
		side, kind, ok := j.find(name)
		if !ok {
			continue
		}
		// each in its row's own time
		at, x, y := s.settle(i, now, func(mo *moment) Vec { return mo.joints.at[side][kind] })
		m.World, m.Pixel = triple(at.joints.at[side][kind]), [2]float64{x, y}
		at, x, y = s.settle(i, now, func(mo *moment) Vec { p, _ := mo.skin(side, kind); return p })
		p, n := at.skin(side, kind)
		m.Skin, m.SkinPixel = triple(p), [2]float64{x, y}
		m.Visible = s.inside(x, y) && at.clear(p.Add(n.Mul(0.003)), n)
		out.Marks = append(out.Marks, m)
	}
	for k, st := range s.Stickers {
		at, x, y := s.settle(i, now, func(mo *moment) Vec { return mo.rig.discs[k].at })
		d := at.rig.discs[k]
		depth := -at.rig.view.r[2].Dot(d.at.Sub(at.rig.view.from))
		out.Stickers = append(out.Stickers, TruthSticker{
			Landmark: st.Landmark, Colour: hexColour(st.Colour), RadiusMM: 1000 * d.r, World: triple(d.at),
			Pixel: [2]float64{x, y}, RadiusPx: s.Camera.Focal * d.r / depth, Visible: at.share(s, k),
		})
	}
	return out
}

// moment is a rig with the skeleton it was made from.
type moment struct {
	rig    *rig
	sk     skeleton
	joints Joints
	list   []active
}

func (s *Scene) moment(t float64) *moment {
	p := s.Motion.At(t)
	sk := s.Body.skeleton(p)
	m := &moment{rig: s.pose(t), sk: sk, joints: joints(sk, p)}
	m.list = m.rig.whole()
	return m
}

func (m *moment) skin(side Side, kind int) (Vec, Vec) {
	return skin(&m.sk, m.rig.solids[:m.rig.own], m.joints.at[side][kind], side, kind)
}

// settle finds the pixel of a moving point where rows have times of their own:
// the row decides the time, and the time the row.
func (s *Scene) settle(i int, now *moment, of func(*moment) Vec) (at *moment, x, y float64) {
	at = now
	x, y, _ = at.rig.view.project(of(at))
	if s.Readout == 0 {
		return at, x, y
	}
	for range 6 {
		before := y
		at = s.moment(s.rowTime(i, y))
		x, y, _ = at.rig.view.project(of(at))
		if math.Abs(y-before) < 1e-6 {
			break
		}
	}
	return at, x, y
}

func (s *Scene) inside(x, y float64) bool {
	return x >= -0.5 && y >= -0.5 && x < float64(s.Camera.Width)-0.5 && y < float64(s.Camera.Height)-0.5
}

// clear says whether a point just over the skin is seen, stickers aside.
func (m *moment) clear(p, n Vec) bool {
	v := p.Sub(m.rig.view.from)
	dist := v.Norm()
	dir := v.Mul(1 / dist)
	if n.Dot(dir) >= 0 {
		return false
	}
	for i := range m.rig.solids {
		if t, _, ok := m.rig.solids[i].hit(m.rig.view.from, dir); ok && t < dist {
			return false
		}
	}
	return true
}

// share is how much of a sticker is seen: rays to a few hundred places spread
// evenly over the disc (a sunflower's spiral).
func (m *moment) share(s *Scene, k int) float64 {
	const rays = 240
	d := &m.rig.discs[k]
	u := across(d.normal, Vec{X: 1})
	w := d.normal.Cross(u)
	got := 0
	for i := range rays {
		r := d.r * 0.999 * math.Sqrt((float64(i)+0.5)/rays)
		sa, ca := math.Sincos(float64(i) * 2.399963229728653) // the golden angle
		p := d.at.Add(u.Mul(r * ca)).Add(w.Mul(r * sa))
		x, y, ok := m.rig.view.project(p)
		if !ok || !s.inside(x, y) {
			continue
		}
		v := p.Sub(m.rig.view.from)
		if m.rig.first(m.rig.view.from, v.Unit(), 0, m.list).index == len(m.rig.solids)+k {
			got++
		}
	}
	return float64(got) / rays
}

func triple(v Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// String is "left" or "right".
func (s Side) String() string {
	if s == Left {
		return "left"
	}
	return "right"
}

// clip gathers the truth of every frame.
func (s *Scene) clip() ClipTruth {
	c := s.Camera
	out := ClipTruth{
		Schema: TruthSchema, Scene: s.Name, Seed: s.Seed, Width: c.Width, Height: c.Height,
		FPS: s.FPS, Frames: s.Frames, ShutterS: s.Shutter, ReadoutS: s.Readout,
		FocalPx: c.Focal, Principal: [2]float64{c.CX, c.CY}, Lens: c.Lens, DistanceM: c.Distance,
		YawDeg: c.Yaw / degree, PitchDeg: c.Pitch / degree, RollDeg: c.Roll / degree, Measure: s.Measure,
	}
	if at, deg := s.Peak(); !math.IsNaN(deg) {
		out.PeakS, out.PeakDeg = &at, &deg
		out.PeakFrame = s.PeakFrame()
	}
	return out
}

// PeakFrame is the frame in which the scene's measure is widest; 0 where the
// scene has no such measure.
func (s *Scene) PeakFrame() int {
	best, at := math.Inf(-1), 0
	for i := range s.Frames {
		if a, ok := s.Body.Joints(s.Motion.At(s.Time(i))).Angles()[s.Measure]; ok && a > best {
			best, at = a, i
		}
	}
	return at
}

// MarshalJSON writes pixels to a thousandth and metres to a micrometre, which is
// finer than anything drawn, and keeps a clip's truth small.
func (m TruthMark) MarshalJSON() ([]byte, error) {
	type bare TruthMark
	b := bare(m)
	for i := range 3 {
		b.World[i], b.Skin[i] = rounded(m.World[i], 1e6), rounded(m.Skin[i], 1e6)
	}
	for i := range 2 {
		b.Pixel[i], b.SkinPixel[i] = rounded(m.Pixel[i], 1e3), rounded(m.SkinPixel[i], 1e3)
	}
	return json.Marshal(b)
}

func rounded(v, per float64) float64 { return math.Round(v*per) / per }
