// Package quiz is practice for judges: a trainee names the deduction bands of frames, and
// the answers are scored against the probabilities from the readings.
//
// A picture often cannot decide which band is right, so an answer is not right or wrong:
// it is a forecast, with the score expected if the band is drawn with the reading's
// probabilities. The score is the ranked
// probability score of E. S. Epstein, "A scoring system for probability forecasts
// of ranked categories", J. Appl. Meteorol. 8 (1969) 985-987, in the form of A. H.
// Murphy, J. Appl. Meteorol. 10 (1971) 155-156: of K bands in their order,
//
//	S(f, k) = 1/(K-1) sum over m = 1 .. K-1 of (F_m - [k <= m])^2
//
// where F_m is the forecast's probability of the first m bands and k the band.
// It runs from 0 (certain of the right band) to 1 (certain of one extreme band when the
// other is right). It is strictly proper: the best expected score comes from answering with
// the probabilities themselves (T. Gneiting and A. E. Raftery, J. Am. Stat. Assoc.
// 102 (2007) 359-378).
package quiz
