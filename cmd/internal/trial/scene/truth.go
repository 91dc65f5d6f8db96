package scene

import (
	"encoding/json"
	"math"
	"strings"
)

// truthSchema names the form of a truth file.
const truthSchema = "ecart/truth/1"

// Truth is what is true in one frame. Positions are metres in the world's axes,
// pixels are continuous with the centre of the top-left pixel at (0, 0).
type Truth struct {
	Frame int     `json:"frame"`
	TimeS float64 `json:"time_s"` // middle of the exposure of the middle row

	Facing string `json:"facing"` // where the front looks: right, left, up, down, camera or away
	Front  string `json:"front"`  // the leg in front: left or right
	Reach  string `json:"front_arm"`
	Near   string `json:"near"` // the side nearer to the camera: that of a bare landmark name

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

// cameraTruth is the camera at one moment.
type cameraTruth struct {
	Position [3]float64 `json:"position_m"`
	YawDeg   float64    `json:"yaw_deg"`
	PitchDeg float64    `json:"pitch_deg"`
	RollDeg  float64    `json:"roll_deg"`
}

// ClipTruth is what is true of a whole clip; its JSON stands beside the clip.
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

// clip gathers the truth of every frame.
func (s *Scene) clip() ClipTruth {
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

// PeakFrame is the frame in which the scene's measure is widest; 0 where the
// scene has no such measure.
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
