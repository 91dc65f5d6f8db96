// Package uncertainty says what a number computed from uncertain inputs is
// worth.
//
// The inputs of a model stand in a flat vector x, cut into blocks: a [Block] is
// one or more values that vary together and carry the name of the source they
// stand for. [FirstOrder] is the law of propagation (JCGM 100:2008, clause 5),
// [MonteCarlo] the propagation of distributions (JCGM 101:2008, clause 7),
// [Budget] takes the sources one at a time, and [Probability] and [Decide]
// are the conformity rules of JCGM 106:2008. The package knows nothing of
// angles: units are those of the model.
package uncertainty
