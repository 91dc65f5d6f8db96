package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"

	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// followedScenes are the scenes that following is held to.
var followedScenes = []string{"plain", "mats", "light", "passer", "crossing", "hidden", "hand", "bent"}

// clipCRF is the quality at which clips are coded: that of an encoder left to itself.
const clipCRF = 23

// clips says where rendered clips are kept, so that another run need not render them again.
type clips struct {
	keep     string // a folder; "" keeps none
	progress func(what string)
}

// clip renders one scene, or takes it from the folder.
func (c *clips) clip(ctx context.Context, folder, name string, seed uint64) (string, scene.ClipTruth, error) {
	var truth scene.ClipTruth
	if c.keep != "" {
		folder = c.keep
	}
	path := filepath.Join(folder, fmt.Sprintf("%s-%d.mp4", name, seed))
	beside := path[:len(path)-len(".mp4")] + ".truth.json"
	if data, err := os.ReadFile(beside); err == nil && c.keep != "" {
		return path, truth, json.Unmarshal(data, &truth)
	}
	s, err := scene.Variant(name, seed)
	if err != nil {
		return "", truth, err
	}
	truth, err = s.WriteClip(ctx, path, scene.ClipOptions{CRF: clipCRF, Truth: beside, Progress: func(done, of int) {
		c.progress(fmt.Sprintf("drawing %s, frame %d of %d", filepath.Base(path), done, of))
	}})
	return path, truth, err
}

// A sticker counts as visible from this share of it on, and as hidden below the other.
const (
	visible = 0.9
	hidden  = 0.02
)

// pointed is how far from the middle of a sticker somebody points, each axis, px.
const pointed = 2

// seedsOf points at every sticker in the frame nearest to the peak in which all are seen whole.
func seedsOf(t *scene.ClipTruth) ([]sticker.Seed, error) {
	best := -1
	for i := range t.Truths {
		all := true
		for _, s := range t.Truths[i].Stickers {
			all = all && s.Visible > 0.99
		}
		if all && (best < 0 || abs(i-t.PeakFrame) < abs(best-t.PeakFrame)) {
			best = i
		}
	}
	if best < 0 {
		return nil, fmt.Errorf("no frame of %q shows all stickers", t.Scene)
	}
	hand := rand.New(rand.NewPCG(t.Seed, 3))
	var out []sticker.Seed
	for _, s := range t.Truths[best].Stickers {
		at := geometry.Point{X: math.Round(s.Pixel[0] + pointed*hand.NormFloat64()), Y: math.Round(s.Pixel[1] + pointed*hand.NormFloat64())}
		out = append(out, sticker.Seed{Name: s.Landmark, At: at, Frame: best})
	}
	return out, nil
}

func abs(i int) int { return max(i, -i) }

// followed follows the seeds through a clip.
func followed(ctx context.Context, path string, seeds []sticker.Seed) ([]sticker.Frame, error) {
	t, err := recorded.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	var out []sticker.Frame
	err = sticker.Follow(ctx, sticker.Of(t), seeds, sticker.Options{}, func(f sticker.Frame) error {
		out = append(out, f)
		return nil
	})
	return out, err
}
