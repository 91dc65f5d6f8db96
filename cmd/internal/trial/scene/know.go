package scene

import "math"

// Truth says what is true in a frame, without drawing it.
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
	out.Facing, out.Front, out.Reach, out.Near = j.FacingName(), j.Front.String(), j.reach.String(), j.Near().String()
	out.Angles = j.Angles()
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
