// Package sticker finds the coloured stickers that somebody pointed at in one frame of a clip, and follows
// them through it, both ways in time. It answers for each frame and sticker: seen at this place, with
// this covariance; or expected there, for a tenth of a second; or lost. Lost is always an answer, and a place that may
// be another thing's is lost.
//
// # In each frame, by itself
//
// The sticker's ink is what colours it may show: its own as the seed's frame has it, with noise, with the light
// that differs over a hall, and mixed with up to half of its ground (ink.go, point.go). Every few pixels are looked up in one
// table that knows all inks; what hangs together is a blob (blobs.go). Each blob of a possible size is measured at full
// resolution: by its colour, every pixel has a share of sticker, between the ground at that pixel, as it is on the four sides of the
// blob, and the ink, along the axis of colour that tells the two apart best; the centre is the centroid of the shares (measure.go). What
// comes out is a candidate: centre, area, shape and colour. No picture is kept: all that follows works on candidates.
//
// # From frame to frame
//
// A sticker goes on from its seed, forwards and backwards (track.go). A candidate is weighed by the logarithm of odds: how much likelier
// would this sticker show it than something new of that ink? It has three parts: its place, against where the motion so far
// points, with heavy tails (thread.go); its area, shape and colour, against what this sticker has shown so far and by how much that
// varied, so that a tag or a ball in a bag is as good as a disc (look.go); and how many new things of its look a frame
// shows. Things that were there before are followed in the same way, each with its look: what was seen beside the sticker is not the
// sticker. So a leaf among hundreds does not count against a
// sticker that moves before them, and is not taken for it.
//
// The sticker is seen where a candidate is twenty times likelier to be it than not, and where every other way to share
// out the candidates is twenty times less likely. Otherwise it is lost in that frame. A thing where the sticker is expected that does not look like it may be
// a part of it; then nothing farther off is taken. A thing with arms or holes is no sticker, neither in a frame nor where somebody
// pointed. A thing that is larger than the sticker by another one that was seen there and is gone is both: the sticker is lost.
//
// # When it was lost
//
// Whatever comes in is followed, and what goes on for four frames is judged (comeback.go). Its likeness is hardly evidence, since a twin may have been hidden too: one is taken to
// come out in five frames where pictures showed more twins of it than are followed, and the more seldom the more pictures showed none. Its place must tell, against the area in which
// the sticker may be by then, its next step, against the velocity that a smooth motion over the gap ends with, and the frames in which nothing else
// comes back. A limb turns while it is hidden: it may have turned in the gap as much as what comes back does after it, and the step is weighed with the scale that the place
// has shown. Together they must be twenty times likelier if it is the sticker, and twenty times likelier than of any other thing that goes on. It may have come back in any frame
// since it is followed, a later one being less likely: what comes out from behind something has its centre elsewhere at first. None of its frames counts before it went on for four,
// and no run of fewer than four counts, nor fewer than four frames after a jump that end in a loss. Where two things may be it, it is neither, unless one was seen in every frame
// since it was seen beside the sticker.
// The run of frames beside the seed's must be as long, both ways together. Each new thing counts by how much likelier the sticker is to look like
// it than something else: a twin of the sticker counts as about a hundred.
// While the sticker is lost, no other thing goes on where part of the sticker may be,
// and no other thing of its look is forgotten, since one of them may come back in its place. Where another
// sticker of the clip has its look, it stays lost after that until both are seen, unless its place tells which of the two it is.
//
// # What is handed out
//
// The covariance adds up what the ground's scatter does to the centroid, how its places scatter about a smooth
// motion (their third or fifth differences), where colour samples may lie, and how far the centre may be off where the area is not
// that of the whole sticker (handout.go). A place that is known less well than the sticker is wide is
// lost: so is one that jumps. Frames are handed out a few frames after they were decoded.
package sticker
