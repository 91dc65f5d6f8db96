package take

import (
	"context"
	"errors"
	"io"
	"math"

	"ecart/vision/internal/av"
)

// openClip indexes the clip and decodes its first picture, which sets the size of the take.
func (t *Take) openClip(ctx context.Context) error {
	if err := checkTables(ctx, t.info.Name, t.path); err != nil {
		return err
	}
	clip, err := av.Open(ctx, t.path, maxPixels, nil)
	if ctx.Err() != nil {
		if err == nil {
			clip.Close()
		}
		return ctx.Err()
	}
	if err != nil {
		return t.unreadable(err)
	}
	t.known = clip.Known()
	others := clip.Others()
	r := &reader{path: t.path, known: t.known, clip: clip}
	defer func() {
		if t.index == nil { // opening failed
			r.close()
		}
	}()
	stream := clip.Stream()
	if stream.Width > 0 || stream.Height > 0 {
		if err := checkSize(t.info.Name, stream.Width, stream.Height); err != nil {
			return err
		}
	}
	t.frameThreads = threads(stream.Width, stream.Height, stream.Bits, frameMemory)
	t.streamThreads = threads(stream.Width, stream.Height, stream.Bits, streamMemory)
	r.threads = t.frameThreads
	t.clock = clock{stream.TimeNum, stream.TimeDen}
	t.info.Codec, t.info.BitDepth, t.info.HDR = stream.Codec, stream.Bits, stream.HDR

	x, err := readIndex(ctx, t.info.Name, clip)
	if err != nil {
		return err
	}
	if x.packets == 0 {
		return newError(formatsHint, "%q has a video stream without a single picture", t.info.Name)
	}
	r.index, r.until = x, x.packets-1
	r.judge = x.judge(clip)
	t.info.Unjudged = stream.Codec == "hevc" && !x.judged
	if err := t.decodeFirst(ctx, r, stream); err != nil {
		if errors.Is(err, errTooLarge) {
			return t.tooLarge(r.clip.TooLarge())
		}
		return err
	}
	t.describe(stream, r.clip, x)
	t.warnOfOthers(others)
	t.index = x
	t.release(r)
	return nil
}

// decodeFirst decodes the first picture and sets the size, orientation and bit depth of the take.
func (t *Take) decodeFirst(ctx context.Context, r *reader, stream av.Stream) error {
	if err := r.clip.Start(r.threads); err != nil {
		return t.unreadable(err)
	}
	s, err := r.decodeAlone(ctx)
	if errors.Is(err, errMissing) {
		if err := r.toStart(ctx); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return t.unreadable(err)
		}
		r.expected = math.MaxInt // the first picture decoded becomes the first frame
		s, err = r.next(ctx)
	}
	for !r.index.counted && err == nil && r.shown < 0 {
		s, err = r.next(ctx)
	}
	if errors.Is(err, io.EOF) {
		return newError("record or copy it again; frames can be read only where a picture starts clean",
			"no picture of %q can be decoded: the file is damaged", t.info.Name)
	}
	if err != nil {
		return err
	}
	p, err := r.clip.Take()
	if err != nil {
		return t.unreadable(err)
	}
	defer p.Release()
	o, exact := av.Orientation(1), true
	if stream.Matrix != nil {
		o, exact = av.FromMatrix(*stream.Matrix)
	}
	if !exact {
		t.warn("the file asks to turn the picture by other than a multiple of 90 degrees; the nearest one is used")
	}
	t.info.Orientation = int(o)
	t.info.Width, t.info.Height = p.Upright(o).Dx(), p.Upright(o).Dy()
	t.info.BitDepth = max(p.Depth, stream.Bits)
	if stream.Bits > 0 {
		t.info.BitDepth = stream.Bits
	}
	t.info.PixelAspect = float64(p.Width) / float64(p.StoredWidth) * float64(p.StoredHeight) / float64(p.Height)
	if err := checkSize(t.info.Name, t.info.Width, t.info.Height); err != nil {
		return err
	}
	if r.index.counted {
		return t.countFrames(ctx, r, s, stream)
	}
	if n := r.index.startAt(s.PTS); n > 0 {
		t.warn("what the clip begins with cannot be decoded (%s): frames and times count from the first one that can", plural(n))
	}
	r.shown, r.expected = 0, 1
	return nil
}

// countFrames decodes the clip to its end and numbers the frames in decoded order. If the time stamps do
// not rise, the frames are spaced evenly at the rate stated in the file.
func (t *Take) countFrames(ctx context.Context, r *reader, s av.Shown, stream av.Stream) error {
	x, rising := r.index, !stream.NoTimes
	var err error
	for ; err == nil; s, err = r.next(ctx) {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		rising = rising && s.Best != av.NoTime && (len(x.frames) == 0 || s.Best > x.frames[len(x.frames)-1].pts)
		x.frames = append(x.frames, stamp{pts: s.Best})
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	if rising {
		return nil
	}
	const fallback = 25 // FFmpeg's own guess for a bare stream
	rate := stream.Rate
	if rate <= 0 {
		rate = fallback
	}
	t.clock = clock{1000, int64(math.Round(rate * 1000))}
	for i := range x.frames {
		x.frames[i].pts = int64(i)
	}
	x.last = 1
	t.warn("the file has no usable time stamps: times are counted at %.6g frames a second, which may not be the camera's rate", rate)
	return nil
}

// describe fills in the part of Info that comes from the time stamps and the metadata, with its warnings.
func (t *Take) describe(stream av.Stream, clip *av.Clip, x *index) {
	info := &t.info
	info.Frames = len(x.frames)
	ticks := make([]int64, len(x.frames))
	for i, f := range x.frames {
		ticks[i] = f.pts
	}
	t.usualInterval = usualInterval(ticks)
	if t.usualInterval == 0 { // a single frame
		t.usualInterval = float64(x.last)
	}
	if s := t.clock.seconds(t.usualInterval); s > 0 {
		info.NominalRate = 1 / s
	}
	info.Variable = varies(ticks, t.usualInterval)
	tags := clipTags(clip.Metadata)
	t.stretch = stretch(tags.captureRate, info.NominalRate)
	info.TrueRate = info.NominalRate * t.stretch
	info.Captured, info.Make, info.Model, info.FocalLength35 = tags.captured, tags.maker, tags.model, tags.focal35

	t.index = x // for Time below
	info.Duration = t.clock.duration(ticks[len(ticks)-1] - ticks[0])
	info.Duration += t.interval(len(ticks) - 1)

	switch {
	case t.stretch > 1:
		t.warn("slow motion: taken at %.4g frames a second and stored at %.4g; true intervals are %.4g times shorter than the stored ones",
			info.TrueRate, info.NominalRate, t.stretch)
	case t.stretch < 1:
		t.warn("time lapse: taken at %.4g frames a second and stored at %.4g; true intervals are %.4g times longer than the stored ones",
			info.TrueRate, info.NominalRate, 1/t.stretch)
	}
	if t.stretch != 1 && info.Variable {
		t.warn("its stored intervals vary, so that some true intervals may be wrong")
	}
	if x.torn {
		last := info.Frames - 1
		of := ""
		if x.listed > info.Frames {
			of = " of about " + plural(x.listed)
		}
		t.warn("the file breaks off: it ends at frame %d (%.3f s), %d%s can be used", last, t.Time(last).Seconds(), info.Frames, of)
	}
	if stream.Interlaced {
		t.warn("it is stored as fields: what moves shows combs, and a frame mixes two moments")
	}
	if info.HDR {
		t.warn("its tones are those of a high dynamic range screen and are not mapped: colours look flat")
	}
	if d := info.PixelAspect - 1; d > 1e-9 || d < -1e-9 {
		t.warn("its pixels are not square (%.4g wide to 1 high): the pictures are scaled to %d by %d", info.PixelAspect, info.Width, info.Height)
	}
}

// warnOfOthers names the video tracks that are not used.
func (t *Take) warnOfOthers(others []av.Track) {
	for _, o := range others {
		count := "an unknown number of frames"
		if o.Samples > 0 {
			count = plural(o.Samples)
		}
		t.warn("the file has another video track, of %d by %d pixels with %s; it is not used", o.Width, o.Height, count)
	}
}

// tooLarge is the error of a clip whose pictures, w by h pixels, take too much memory.
func (t *Take) tooLarge(w, h int) error {
	return newError("record it in 4K, or convert it to 4K or smaller, without changing its frames",
		"%q is too large: decoding its pictures of %d by %d pixels takes more than %d MB of memory at a time", t.info.Name, w, h, av.MostPictures/1_000_000)
}

// unreadable returns the error for the user after opening or decoding failed with err.
func (t *Take) unreadable(err error) error {
	switch {
	case errors.Is(err, av.ErrNoVideo):
		return newError("give a clip with pictures", "%q is a recording without video", t.info.Name)
	case errors.Is(err, av.ErrNoDecoder):
		return newError("convert it to H.264 in MP4, without changing its frames",
			"%q is coded in %s, which the installed FFmpeg cannot decode", t.info.Name, t.info.Codec)
	case missingMoov(t.path):
		return newError("copy it from the camera again; if it is the same there, the recording was not finished and cannot be read",
			"%q has no index (moov): its end is missing", t.info.Name)
	}
	return newError(formatsHint+"; if it is one, it is damaged: copy it again", "%q cannot be read as a clip", t.info.Name).withCause(err)
}
