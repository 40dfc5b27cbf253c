package sky

import (
	"cmp"
	"math"
	"slices"

	"noonmark/internal/base/quantity"
)

// Surroundings is what stands around the vehicle.
type Surroundings int

const (
	Open        Surroundings = iota // plain, coast, bare lay-by
	Motorway                        // or open country road
	Suburb                          // village, tree-lined road
	Town                            // driving in mixed use
	Street                          // narrow street, urban parking
	TreesInLeaf                     // under them
	TreesBare
)

// Skyline is the chance that nothing stands before a point of the sky: logistic in its elevation,
// 1/(1+exp(-(e-H0)/S)), times a flat factor for a canopy overhead. SkylineOf and NewSkyline
// integrate the sky once; a literal does so at each call. The zero Skyline hides nothing.
type Skyline struct {
	H0, S        quantity.Angle // elevation at which half is clear; width of the passage
	through, sky float64        // flat factor; the share of an even sky on the horizontal
	made         bool
}

// NewSkyline returns the skyline of the given middle and width; width 0 is a sharp edge.
// It panics on values that are not finite or a negative width.
// Source: the aperture-matrix model of vehicle photovoltaics, Applied Sciences 10 (2020) 872, uses
// a logistic of the elevation; parameters published there were not found.
func NewSkyline(middle, width quantity.Angle) Skyline { return newSkyline(middle, width, 1) }

func newSkyline(middle, width quantity.Angle, through float64) Skyline {
	h0, s := middle.Radians(), width.Radians()
	if math.IsNaN(h0) || math.IsInf(h0, 0) || !(s >= 0) || math.IsInf(s, 0) {
		panic("sky: skyline is not finite")
	}
	l := Skyline{H0: middle, S: width, through: through, made: true}
	const steps = 1800
	for i := range steps {
		e := (float64(i) + 0.5) / steps * math.Pi / 2
		l.sky += logistic(e, h0, s) * math.Sin(2*e) * math.Pi / 2 / steps
	}
	l.sky = math.Min(1, l.sky) * through
	return l
}

func logistic(e, h0, s float64) float64 {
	if s == 0 {
		if e < h0 {
			return 0
		}
		return 1
	}
	return 1 / (1 + math.Exp(-(e-h0)/s))
}

// SkylineOf returns the preset of a kind of surroundings. It panics for one that is none.
// Width 6°; the middles of 28° and 44° reproduce published yearly ratios of roof to open
// irradiation (0.70 to 0.75 driving, 0.50 in urban parking); the others are our own estimate. The
// flat factors of trees, 0.15 (0.05 to 0.30) in leaf and 0.5 (0.35 to 0.65) bare, are from memory.
func SkylineOf(s Surroundings) Skyline {
	const width = 6 * quantity.Degree
	switch s {
	case Open:
		return newSkyline(5*quantity.Degree, width, 1)
	case Motorway:
		return newSkyline(12*quantity.Degree, width, 1)
	case Suburb:
		return newSkyline(20*quantity.Degree, width, 1)
	case Town:
		return newSkyline(28*quantity.Degree, width, 1)
	case Street:
		return newSkyline(44*quantity.Degree, width, 1)
	case TreesInLeaf:
		return newSkyline(-90*quantity.Degree, 0, 0.15)
	case TreesBare:
		return newSkyline(-90*quantity.Degree, 0, 0.5)
	}
	panic("sky: unknown surroundings")
}

// BeamShare returns the mean part of the beam that reaches a flat roof with the sun at elevation.
func (l Skyline) BeamShare(elevation quantity.Angle) quantity.Ratio {
	if !l.made {
		l.through = 1
	}
	return quantity.Ratio(logistic(elevation.Radians(), l.H0.Radians(), l.S.Radians()) * l.through)
}

// SkyShare returns the part of an even sky's light that reaches a flat roof.
func (l Skyline) SkyShare() quantity.Ratio {
	if !l.made {
		l = NewSkyline(l.H0, l.S)
	}
	return quantity.Ratio(l.sky)
}

// HorizonPoint is a point of a site's horizon.
type HorizonPoint struct{ Azimuth, Elevation quantity.Angle }

// Horizon is the horizon of a site, all round.
type Horizon struct {
	height [361]float64 // by degree of azimuth, radians
	sky    float64
}

// NewHorizon returns the horizon through the points, in straight lines of elevation over azimuth and
// closed through north; one point is a level ring, none is the open horizon at 0°. Elevations below 0
// count as 0, above 90° as 90°. Where two points share an azimuth, as at the corner of a house, the
// horizon steps there. It panics on a value that is not finite.
func NewHorizon(points []HorizonPoint) Horizon {
	var h Horizon
	type point struct{ a, e float64 }
	ps := make([]point, 0, len(points)+2)
	for _, p := range points {
		a, e := p.Azimuth.Degrees(), p.Elevation.Degrees()
		if math.IsNaN(a) || math.IsInf(a, 0) || math.IsNaN(e) {
			panic("sky: horizon is not finite")
		}
		a = math.Mod(math.Mod(a, 360)+360, 360)
		ps = append(ps, point{a, math.Max(0, math.Min(90, e)) * rad})
	}
	if len(ps) > 0 {
		slices.SortStableFunc(ps, func(p, q point) int { return cmp.Compare(p.a, q.a) })
		first, last := ps[0], ps[len(ps)-1]
		ps = append(ps, point{first.a + 360, first.e})
		ps = slices.Insert(ps, 0, point{last.a - 360, last.e})
		k := 0
		for i := range h.height {
			x := float64(i)
			for k+2 < len(ps) && ps[k+1].a <= x {
				k++
			}
			p, q := ps[k], ps[k+1]
			h.height[i] = p.e
			if q.a > p.a {
				h.height[i] += (x - p.a) / (q.a - p.a) * (q.e - p.e)
			}
		}
	}
	h.height[360] = h.height[0]
	for i := range 360 {
		c := math.Cos((h.height[i] + h.height[i+1]) / 2)
		h.sky += c * c / 360
	}
	return h
}

// disc is the sun's mean radius, radians: 959.63″ at 1 AU. Source: Meeus, 2nd ed., ch. 55.
const disc = 959.63 / 3600 * rad

// BeamShare returns the part of the sun's disc that stands above the horizon, with its centre at the
// given place as seen. The horizon is read by whole degrees, in straight lines between.
func (h *Horizon) BeamShare(azimuth, elevation quantity.Angle) quantity.Ratio {
	a := azimuth.Degrees()
	a -= 360 * math.Floor(a/360)
	if !(a >= 0 && a < 360) {
		a = 0
	}
	i := int(a)
	edge := h.height[i] + (a-float64(i))*(h.height[i+1]-h.height[i])
	x := (elevation.Radians() - edge) / disc
	switch {
	case !(x > -1):
		return 0
	case x >= 1:
		return quantity.One
	}
	return quantity.Ratio(0.5 + (math.Asin(x)+x*math.Sqrt(1-x*x))/math.Pi) // segment of a circle
}

// SkyShare returns the part of an even sky's light that reaches a flat roof: the mean of cos² of the
// horizon's elevation.
func (h *Horizon) SkyShare() quantity.Ratio { return quantity.Ratio(h.sky) }
