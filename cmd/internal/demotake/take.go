// Package demotake holds the take that 'ecart demo' reads: Wren's split leap in Halle Nord,
// the scene "leap" of trial/scene, with its marks.
package demotake

import _ "embed" // the files

//go:embed leap.mp4
var clip []byte

//go:embed leap.marks.json
var marks []byte

// Name is the clip's file name.
const Name = "leap.mp4"

// Files returns the clip, H.264 in MP4, and its marks file (ecart/marks/1).
func Files() (video, marksFile []byte) { return clip, marks }
