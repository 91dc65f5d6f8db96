package main

import (
	"context"

	"ecart/vision/sticker"
	recorded "ecart/vision/take"
)

// clipCRF is the quality at which clips are coded: that of an encoder left to itself.
const clipCRF = 23

// visible is the share of a sticker from which on it counts as visible.
const visible = 0.9

// pointed is how far from the middle of a sticker somebody points, each axis, px.
const pointed = 2

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
