// Package shade finds how much of each cell the things on a vehicle's roof shade, and how much of the
// sky they hide from it.
//
// Lengths are metres in the vehicle frame: x from the front edge rearwards, y from the left to the right,
// z up. Cells lie on the planes of surfaces; what casts shadows is convex bodies, an outline pulled up from
// its surface cut into convex pieces, or a lid with its walls. A shadow is the hull of what the body throws
// along the sun's rays on the plane, and a cell's lit part is its area outside all of them: exact for a sun
// that is a point. A Table holds the lit parts over the sky's directions, which belong to the vehicle, so
// that one table serves every heading, place and season.
//
// Left out: the sun's disc (half a degree, an edge blurred by 9 mm a metre away), light that obstacles
// throw back, light through an open fan or a mesh, the thickness of modules, and the ground hidden from a
// tilted plane.
package shade
