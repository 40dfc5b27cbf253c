// Package track holds a record against what the build should have given: logged power, battery volts and
// state of charge, or daily yields, day by day against the expectation, corrected for the weather where light
// was logged, by clear days where power was, and by the usual weather of the month where neither was.
//
// A record has holes: power is not bridged beyond a few sample periods, and what ran in a gap is unknown,
// with its bound. A counter that falls was reset: what ran between is lost. Days are local.
//
// Left out: what a load took while the battery was full (it is part of the yield), and snow.
package track
