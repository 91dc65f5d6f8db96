// Package uncertainty computes the uncertainty of a number that a model computes from
// uncertain inputs.
//
// The inputs of a model form a flat vector x, divided into blocks: a [Block] is one or
// more values that vary together, with the name of their source of uncertainty.
//
//	FirstOrder                  law of propagation (JCGM 100:2008, clause 5)
//	MonteCarlo                  propagation of distributions (JCGM 101:2008, clause 7)
//	Budget                      each source alone
//	Distribution.Probability,
//	Decide                      conformity rules (JCGM 106:2012)
//
// Nothing here is specific to angles: the units are the model's.
package uncertainty
