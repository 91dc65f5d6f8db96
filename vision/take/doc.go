// Package take opens stills and clips, puts them upright in square pixels, and hands out exact
// frames.
//
// Frame i of a clip is the i-th picture, counted from 0, of a decode that starts at the beginning and
// never seeks. Frame returns the same samples and time stamp for it, in whatever order frames are
// requested. Three rules ensure this.
//
//   - On opening, the packets of the video stream are read once without decoding them. Their
//     time stamps, in the order of showing and without those that an edit list hides, number
//     the frames.
//   - A seek goes to a packet at which decoding can start clean. For H.264 and HEVC the coded bytes
//     decide this, not only the container's flag. A decoded picture is used only if its stored
//     integer time stamp is the one requested. If it does not appear, the seek goes further back,
//     in the end to the start of the file.
//   - If time stamps are missing or occur twice (bare streams, AVI), or pictures are stored as
//     fields, the clip is decoded once on opening and frames are counted.
//
// A frame is therefore identified by its time stamp. A packet that cannot be decoded leaves its own
// frame number empty and shifts no other frame.
//
// # Times
//
// Time is the time stamp stored in the file, relative to the first frame, as a player shows it.
// Some phones stretch slow motion: recorded at 240 frames a second, stamped at 30. If the file has
// a tag for the rate of recording (com.android.capture.fps), TrueInterval and Info.TrueRate undo the
// stretching; Time stays as stored. If the stored time stamps are true, both agree.
//
// # Pictures
//
// Orientation comes from EXIF (JPEG, PNG, WebP), from the file's own properties (HEIC), or from
// the display matrix (clips), including mirroring. Pictures with pixels that are not square are
// scaled to square pixels, since angles depend on it. Colours are converted with the matrix and range that the file
// names, to eight bits. PQ and HLG pictures are converted without tone mapping, and an embedded
// colour profile is not applied. Transparent parts of a still are shown on white. For HEIC stills of
// a kind that phones do not write, the decoding library overwrites the luma of the first 24 pixels of
// the top row; it is filled in from the row below.
//
// The place where a picture was taken is never read from a file.
package take
