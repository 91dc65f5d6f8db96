package scene

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
)

// truthSchema is the name and version of the format of a truth file.
const truthSchema = "ecart/truth/1"

// Truth is the ground truth of one frame. Positions are metres in the world's axes,
// pixels are continuous with the centre of the top-left pixel at (0, 0).
type Truth struct {
	Frame int     `json:"frame"`
	TimeS float64 `json:"time_s"` // middle of the exposure of the middle row

	Facing   string `json:"facing"` // the direction the body faces: right, left, up, down, camera or away
	Front    string `json:"front"`  // the leg in front: left or right
	FrontArm string `json:"front_arm"`
	Near     string `json:"near"` // the side nearer to the camera: that of a landmark name without a prefix

	Marks    []TruthMark        `json:"marks"`
	Stickers []TruthSticker     `json:"stickers"`
	Boards   []TruthBoard       `json:"boards,omitempty"`
	Angles   map[string]float64 `json:"angles_deg"` // at TimeS; see [Joints.Angles]
	Camera   cameraTruth        `json:"camera"`
}

// TruthMark is one landmark: the joint's axis, and the skin over it on the
// side towards the camera.
type TruthMark struct {
	Landmark  string     `json:"landmark"`
	World     [3]float64 `json:"world_m"`
	Pixel     [2]float64 `json:"pixel"`
	Skin      [3]float64 `json:"skin_m"`
	SkinPixel [2]float64 `json:"skin_pixel"`
	Visible   bool       `json:"visible"` // the skin point is in the picture and not hidden
}

// TruthSticker is the middle of one sticker's disc, and its size.
type TruthSticker struct {
	Landmark string     `json:"landmark"`
	Colour   string     `json:"colour"` // #rrggbb before light falls on it
	RadiusMM float64    `json:"radius_mm"`
	World    [3]float64 `json:"world_m"`
	Pixel    [2]float64 `json:"pixel"` // of the middle, at mid-exposure of its row
	RadiusPx float64    `json:"radius_px"`
	Visible  float64    `json:"visible"` // share of the disc seen in the picture, 0 to 1
}

// cameraTruth is the camera at one moment.
type cameraTruth struct {
	Position [3]float64 `json:"position_m"`
	YawDeg   float64    `json:"yaw_deg"`
	PitchDeg float64    `json:"pitch_deg"`
	RollDeg  float64    `json:"roll_deg"`
}

// ClipTruth is the ground truth of a clip; its JSON is written beside the clip.
type ClipTruth struct {
	Schema   string  `json:"schema"`
	Scene    string  `json:"scene"`
	About    string  `json:"about,omitempty"`
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
	PeakDeg   *float64 `json:"peak_deg"` // null if the take has no measure
	PeakS     *float64 `json:"peak_s"`   // between frames
	PeakFrame int      `json:"peak_frame"`

	Truths []Truth `json:"truths"`
}

// Mark returns a landmark of the frame by its name, with or without a prefix
// (see [Joints.At]); false if there is none.
func (t Truth) Mark(name string) (TruthMark, bool) {
	role, bare, has := strings.Cut(name, "-")
	if !has {
		role, bare = "", name
	}
	front := t.Front
	if bare == "shoulder" || bare == "elbow" || bare == "wrist" {
		front = t.FrontArm
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

// Sticker returns the sticker over a landmark; false if there is none.
func (t Truth) Sticker(landmark string) (TruthSticker, bool) {
	for _, k := range t.Stickers {
		if k.Landmark == landmark {
			return k, true
		}
	}
	return TruthSticker{}, false
}

// clipTruth returns the truth of the clip without that of its frames.
func (s *Scene) clipTruth() ClipTruth {
	c := s.Camera
	out := ClipTruth{
		Schema: truthSchema, Scene: s.Name, About: s.About, Seed: s.Seed, Width: c.Width, Height: c.Height,
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

// PeakFrame is the frame in which the angle of the scene's measure is largest; 0 if
// the scene has no such measure.
func (s *Scene) PeakFrame() int {
	best, at := math.Inf(-1), 0
	if s.Motion == nil {
		return 0
	}
	for i := range s.Frames {
		if a, ok := s.Body.Joints(s.Motion.At(s.Time(i))).Angles()[s.Measure]; ok && a > best {
			best, at = a, i
		}
	}
	return at
}

// MarshalJSON rounds pixels to 0.001 and metres to 0.000001, to keep a clip's truth
// small.
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

// Truth returns the ground truth of a frame without drawing it.
func (s *Scene) Truth(i int) Truth {
	t := s.Time(i)
	cam := s.cameraAt(t)
	out := Truth{
		Frame: i, TimeS: t, Stickers: []TruthSticker{}, Marks: []TruthMark{},
		Camera: cameraTruth{Position: triple(cam.Position()), YawDeg: cam.Yaw / degree, PitchDeg: cam.Pitch / degree, RollDeg: cam.Roll / degree},
	}
	for _, b := range s.Boards {
		out.Boards = append(out.Boards, s.truthBoard(i, b))
	}
	if s.Motion == nil {
		return out
	}
	j := s.Body.Joints(s.Motion.At(t))
	out.Facing, out.Front, out.FrontArm, out.Near = j.FacingName(), j.Front.String(), j.frontArm.String(), j.Near().String()
	out.Angles = j.Angles()
	now := s.moment(t)
	for _, name := range sidedNames() {
		m := TruthMark{Landmark: name}
		side, kind, ok := j.find(name)
		if !ok {
			continue
		}
		// each at the time of its own row
		at, x, y := s.projectAtRowTime(i, now, func(mo *moment) Vec { return mo.joints.at[side][kind] })
		m.World, m.Pixel = triple(at.joints.at[side][kind]), [2]float64{x, y}
		at, x, y = s.projectAtRowTime(i, now, func(mo *moment) Vec { p, _ := mo.skin(side, kind); return p })
		p, n := at.skin(side, kind)
		m.Skin, m.SkinPixel = triple(p), [2]float64{x, y}
		m.Visible = s.inside(x, y) && at.skinVisible(p.Add(n.Mul(0.003)), n)
		out.Marks = append(out.Marks, m)
	}
	for k, st := range s.Stickers {
		at, x, y := s.projectAtRowTime(i, now, func(mo *moment) Vec { return mo.rig.discs[k].at })
		d := at.rig.discs[k]
		depth := -at.rig.view.r[2].Dot(d.at.Sub(at.rig.view.from))
		out.Stickers = append(out.Stickers, TruthSticker{
			Landmark: st.Landmark, Colour: hexColour(st.Colour), RadiusMM: 1000 * d.r, World: triple(d.at),
			Pixel: [2]float64{x, y}, RadiusPx: s.Camera.Focal * d.r / depth, Visible: at.visibleShare(s, k),
		})
	}
	return out
}

// moment is a rig with its skeleton and joints.
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
	m.list = m.rig.allActive()
	return m
}

func (m *moment) skin(side Side, kind int) (Vec, Vec) {
	return skin(&m.sk, m.rig.solids[:m.rig.own], m.joints.at[side][kind], side, kind)
}

// projectAtRowTime finds the pixel of a moving point with a rolling shutter, by
// fixed-point iteration: the row gives the time, and the time gives the row. It
// returns the moment of that row too.
func (s *Scene) projectAtRowTime(i int, now *moment, of func(*moment) Vec) (at *moment, x, y float64) {
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

// skinVisible reports whether a point just over the skin with the normal n can be seen.
// Stickers do not hide it.
func (m *moment) skinVisible(p, n Vec) bool {
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

// visibleShare is the share of a sticker that can be seen, by rays to 240 points spread
// evenly over the disc (Fermat's spiral at the golden angle).
func (m *moment) visibleShare(s *Scene, k int) float64 {
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
		if m.rig.firstHit(m.rig.view.from, v.Unit(), 0, m.list).index == len(m.rig.solids)+k {
			got++
		}
	}
	return float64(got) / rays
}

func triple(v Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// writeTruth writes a clip's truth, one frame a line. A failed call leaves no file.
func writeTruth(path string, t ClipTruth) (err error) {
	part, err := os.CreateTemp(filepath.Dir(path), ".scene-*.json")
	if err != nil {
		return fmt.Errorf("scene: write %q: %w", path, err)
	}
	defer func() {
		_ = part.Close()
		_ = os.Remove(part.Name())
		if err != nil {
			err = fmt.Errorf("scene: write %q: %w", path, err)
		}
	}()
	truths := t.Truths
	t.Truths = nil
	head, err := json.MarshalIndent(t, "", " ")
	if err != nil {
		return err
	}
	const tail = "null\n}" // of the empty list of truths, which is the last key
	w := bufio.NewWriter(part)
	_, _ = w.Write(head[:len(head)-len(tail)])
	_, _ = w.WriteString("[\n")
	for i, f := range truths {
		line, err := json.Marshal(f)
		if err != nil {
			return err
		}
		_, _ = w.Write(line)
		if i < len(truths)-1 {
			_, _ = w.WriteString(",")
		}
		_, _ = w.WriteString("\n")
	}
	_, _ = w.WriteString("]\n}\n")
	if err := w.Flush(); err != nil {
		return err
	}
	if err := part.Chmod(0o644); err != nil {
		return err
	}
	if err := part.Close(); err != nil {
		return err
	}
	return os.Rename(part.Name(), path)
}
