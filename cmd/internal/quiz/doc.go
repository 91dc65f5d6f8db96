// Package quiz is practice for judges: frames whose bands a trainee names, and
// the score of the answers against the probabilities that the readings give.
//
// What the right band is, a picture often cannot decide, so an answer is not
// right or wrong: it is a forecast, scored by what it can be expected to cost if
// the band is drawn with the reading's probabilities. The score is the ranked
// probability score of E. S. Epstein, "A scoring system for probability forecasts
// of ranked categories", J. Appl. Meteorol. 8 (1969) 985-987, in the form of A. H.
// Murphy, J. Appl. Meteorol. 10 (1971) 155-156: of K bands in their order,
//
//	S(f, k) = 1/(K-1) sum over m = 1 .. K-1 of (F_m - [k <= m])^2
//
// where F_m is the forecast's probability of the first m bands and k the band.
// It runs from 0, sure and right, to 1, sure of one end where it is the other.
// It is strictly proper: in expectation nothing does better than to answer with
// the probabilities themselves (T. Gneiting and A. E. Raftery, J. Am. Stat. Assoc.
// 102 (2007) 359-378).
package quiz
