package take

import "time"

// Info describes a take. Frames and pixels are upright and square.
type Info struct {
	Name  string // base name of the file
	Size  int64  // bytes
	Still bool

	Width, Height int     // pixels, upright and square
	PixelAspect   float64 // width of a stored pixel over its height; where it is not 1 the pictures are scaled to square pixels
	Orientation   int     // as stored, EXIF numbering 1 to 8; already applied

	Frames      int           // 1 for a still
	Duration    time.Duration // from the first frame to the end of the last, as stored; 0 for a still
	NominalRate float64       // frames per second from the usual interval of the stored time stamps; 0 for a still or if unknown
	TrueRate    float64       // frames per second as taken; differs from NominalRate for tagged slow motion
	Variable    bool          // an interval differs from the usual one by more than a tenth

	Codec    string // "h264", "hevc", "jpeg", ...
	BitDepth int    // bits per sample as stored
	Unjudged bool   // an HEVC clip of a kind whose coded pictures cannot be judged: its decoder does not notice all damage
	HDR      bool   // PQ or HLG, converted without tone mapping

	Captured      time.Time // when it was taken, zero unknown; UTC where the file names no zone
	FocalLength35 float64   // focal length for a 35 mm film frame, mm; 0 unknown
	Make, Model   string    // of the camera, "" unknown

	Warnings []string // what a user should know before trusting the take
}
