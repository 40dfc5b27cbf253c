// Package place knows where things are: coordinates as typed, towns by name, great circles, and the
// time zone of a point, all offline.
//
// The Earth is a sphere of 6371.0088 km here: distances are within 0.6 %.
package place
