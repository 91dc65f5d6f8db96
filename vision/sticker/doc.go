// Package sticker finds coloured stickers that a user pointed at in one frame of a clip, and follows
// them in both directions of time. For each frame and sticker the answer is one of three: seen at a place, with a
// covariance; predicted at a place, for a tenth of a second; or lost. A place that may be another thing's is lost.
//
// # Within a frame
//
// The ink of a sticker is the model of the colours that it may show: its own colour in the seed's frame, with noise, with
// the differences of light over a hall, and mixed with up to half of its ground (ink.go, point.go). A picture is
// subsampled, and each sample is looked up in a table of all inks; connected samples are a blob (scan.go). Each blob
// of a possible size is measured at full resolution (measure.go): the share of the sticker in every pixel follows from the
// pixel's colour along the axis that separates ink and ground best, with the ground interpolated at that pixel from the four sides.
// The centre is the centroid of the shares, down to a third of the sticker's own. The result is a candidate: centre, area, shape and colour.
// No picture is kept; all later steps work on candidates.
//
// # From frame to frame
//
// All stickers are followed together from their seeds, backwards and then forwards (follow.go, track.go); what the frames before a seed show of its motion, look
// and rivals counts forwards too.
// Each candidate gets log odds: for the sticker against something new of that ink. They have three parts:
//
//   - the place, against the one expected from the motion so far, with heavy tails (thread.go);
//   - area, shape and colour, against those of this sticker so far and their variation, so that a tag or a ball in a bag
//     can be followed as well as a disc (thread.go);
//   - the number of new things of its look in a frame, and of twins of it that were hidden and come out.
//
// Other things of the ink, the rivals, are followed in the same way, each with its look. A thing that was seen in one frame with the
// sticker is not the sticker. So hundreds of leaves behind a moving sticker do not count against it, and are not taken for it.
//
// The sticker is seen if a candidate is twenty times likelier to be it than not, and if every other assignment of
// candidates is twenty times less likely. Otherwise it is lost in that frame. A thing at the expected place that does not look
// like the sticker may be a part of it; then nothing farther off is taken. A thing with arms or holes is no
// sticker, neither in a frame nor at a seed. If a candidate is larger than the sticker by a rival that was seen there and is gone, the two are
// merged, and the sticker is lost.
//
// # After a loss
//
// Whatever appears is followed, and judged once it has been followed for four frames (comeback.go). Its look over these frames must favour the sticker, but is
// hardly evidence beyond that, since a twin may have been hidden too. The rate of hidden twins is estimated from how often the pictures so far showed more things of the sticker's look
// than are followed. The evidence is
//
//   - the place, against the area in which the sticker may be by then;
//   - the next step, against the velocity at the end of a smooth motion over the gap;
//   - the number of frames in which nothing else comes back, beside those for which a thing mostly stays hidden.
//
// A limb may turn while it is hidden as much as it does afterwards, so that the scale of the motion in the gap is at least that of the turns of what
// comes back. The step is weighed with the scale that the place has shown. Together the odds must be twenty to one for the
// sticker, and twenty times those of any other thing that is followed. The sticker may have come back in any frame of the path, with later ones
// less likely, since at first only a part of it may be visible. No run of fewer than four frames counts, nor fewer than four frames
// after a jump that end in a loss. If two things may be the sticker, neither is, unless one of the two was seen in
// every frame since it was seen beside the sticker. The run of frames next to the seed's must be four frames long too, both directions together.
// A shorter one may be another thing's: what comes back after it must be the sticker's whether the run counts or not.
//
// While the sticker is lost, no rival is followed onto a place where a part of the sticker may be, and no rival of its
// look is dropped, since one of them may come back in its place.
//
// Stickers and rivals may have one look (alike.go). What comes back must be twenty times likelier the sticker, by place and next step, than any hidden thing of its look that
// may have turned, stopped or gone anywhere; if two stickers come back at once, each in its place is compared with the two exchanged. A sticker that jumps while another
// one of its look is lost is lost too.
//
// # Several places
//
// A sticker may be pointed at in several frames. It is followed from each of them both ways. A frame between two of them has the place that both ways give, or the one that
// one way gives while the other has lost it. Where the two are apart it is lost, and a way that is elsewhere in the frame of the other place does not count.
//
// # Covariance
//
// The covariance of a place is the sum of several parts (handout.go): the scatter of the ground's pixels in the centroid, the scatter of places about
// a smooth motion (their third or fifth differences), the siting of chroma samples, an encoder's errors on the rim, and the uncertainty of the centre where the area
// is not that of the whole sticker. A place with a standard deviation above twice the radius is lost, as one that jumps, and as the last
// one before a loss that is off the motion so far.
// Frames are handed out a few frames after they were decoded.
package sticker
