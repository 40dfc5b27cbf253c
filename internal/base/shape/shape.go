// Package shape holds points, polygons, planes and directions.
//
// The world frame is east, north, up. The vehicle frame of a build is x from the front edge
// rearwards, y from the left to the right as one faces forward, z up: right-handed.
package shape

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Direction is a unit vector in the world frame.
type Direction struct{ East, North, Up float64 }

// Toward returns the direction at the given azimuth (clockwise from north) and elevation.
func Toward(azimuth, elevation quantity.Angle) Direction {
	a, e := azimuth.Radians(), elevation.Radians()
	c := math.Cos(e)
	return Direction{East: c * math.Sin(a), North: c * math.Cos(a), Up: math.Sin(e)}
}

// Dot returns the cosine of the angle between d and e.
func (d Direction) Dot(e Direction) float64 { return d.East*e.East + d.North*e.North + d.Up*e.Up }

// Facing is the attitude of a plane: its tilt from the horizontal and the azimuth its upper face
// looks to. At tilt 0 the azimuth is without effect.
type Facing struct{ Tilt, Azimuth quantity.Angle }

// Normal returns the direction at right angles to the plane, upwards at tilt 0.
func (f Facing) Normal() Direction { return Toward(f.Azimuth, math.Pi/2*quantity.Radian-f.Tilt) }
