package scene

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// demoName is what the clip of ecart demo is called.
const demoName = "leap.mp4"

// Of the demo's marks: how much a hand scatters about the true places, px, and what
// the marks file states of it.
const (
	demoScatter = 1.0
	demoStated  = 1.5
	demoCRF     = 18
)

type marksFile struct {
	Schema string      `json:"schema"`
	Frame  int         `json:"frame"`
	Facing string      `json:"facing"`
	Found  string      `json:"found"`
	Marks  []marksMark `json:"marks"`
}

type marksMark struct {
	Landmark string  `json:"landmark"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	SD       float64 `json:"sd_px"`
}

// demoMarksOf places the demo's marks by a hand: the true middles of the stickers (and
// the skin over the shoulder), scattered, to a tenth of a pixel.
func demoMarksOf(t Truth) (marksFile, error) {
	out := marksFile{Schema: "ecart/marks/1", Frame: t.Frame, Facing: t.Facing, Found: "sticker"}
	hand := rand.New(rand.NewPCG(1, 163))
	for _, name := range []string{"hip", "front-ankle", "back-ankle", "shoulder"} {
		var at [2]float64
		if k, ok := t.Sticker(name); ok {
			at = k.Pixel
		} else if m, ok := t.Mark(name); ok {
			at = m.SkinPixel
		} else {
			return out, fmt.Errorf("scene: no landmark %q in the demo", name)
		}
		out.Marks = append(out.Marks, marksMark{
			Landmark: name, SD: demoStated,
			X: math.Round(10*(at[0]+demoScatter*hand.NormFloat64())) / 10,
			Y: math.Round(10*(at[1]+demoScatter*hand.NormFloat64())) / 10,
		})
	}
	return out, nil
}

// WriteDemo writes the three files of a demo into a folder, the scene's clip, marks
// and truth: leap.mp4, leap.marks.json and leap.truth.json.
func (s *Scene) WriteDemo(ctx context.Context, folder string, progress func(done, of int)) error {
	truth, err := s.WriteClip(ctx, filepath.Join(folder, demoName), ClipOptions{
		CRF: demoCRF, Preset: "slow", Truth: filepath.Join(folder, "leap.truth.json"), Progress: progress,
	})
	if err != nil {
		return err
	}
	marks, err := demoMarksOf(truth.Truths[truth.PeakFrame])
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(marks, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, "leap.marks.json"), append(text, '\n'), 0o644)
}
