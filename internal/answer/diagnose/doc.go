// Package diagnose finds what is wrong with an array that is there: each fault it knows is built into the
// array's own circuit, predicts what a meter would read, and is weighed against what was read.
//
// A fault has a kind, a place and a size; the size is integrated out over a range, and with it the light
// and the cells' temperature, which are known only so well. A reading may be wrong altogether with a small
// probability, so one slip does not decide. Beside the faults stand "healthy" and "none of these": the
// latter lets any reading be anything at a price. The next test is the one that tells most about the cause
// for its trouble and danger.
//
// Left out: two faults at once (the more visible one is named), faults that come and go, and what cannot be
// seen in a reading of its list.
package diagnose
