// Package take opens stills and clips, puts them upright in square pixels, and hands out exact
// frames.
//
// Frame i of a clip is the i-th picture of a straight decode from the start, counted from 0: the
// same samples and the same time stamp, for every i in any order. Three things make it so.
//
//   - On opening, the packets of the video stream are read once without decoding them. Their
//     time stamps, in the order of showing and without those that an edit list hides, number
//     the frames.
//   - A seek goes to a packet after which decoding starts clean, as the coded bytes say, not
//     only the container. The picture that comes out is taken only if its stored integer time
//     stamp is the one wanted; if it does not come, the seek goes further back, at last to the
//     start of the file.
//   - Where time stamps are missing or double (bare streams, AVI), or pictures are stored as
//     fields, the clip is decoded once on opening and frames are counted.
//
// So the time stamp says which frame a picture is. A packet that cannot be decoded leaves a gap
// at its own number and shifts no other.
//
// # Times
//
// Time stamps are those stored in the file, from the first frame on, as a player shows them.
// Some phones store slow motion stretched: taken at 240 frames a second, stamped at 30. Where the
// file is tagged so (com.android.capture.fps), TrueInterval and Info.TrueRate undo it, and Time
// stays as stored. Where the time stamps are true already, the two agree.
//
// # Pictures
//
// Orientation comes from EXIF (JPEG, PNG, WebP), from the file's own properties (HEIC), or from
// the display matrix (clips), mirrored ones among them. Pixels that are not square are made so,
// since an angle depends on it. Colours are converted with the matrix and range that the file
// names, to eight bits; PQ and HLG pictures are converted plainly, without tone mapping, and an
// embedded colour profile is not applied. Transparent parts of a still are shown on white. Of a
// HEIC still of another kind than phones write, the decoding library loses the brightness of the
// first 24 pixels of the top row; it is filled in from the row below.
//
// Where a file says where it was taken, that is not read.
package take
