package wiring

import (
	"errors"
	"fmt"
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// ErrRange says that a table of current limits does not reach the size, rating or air asked for.
var ErrRange = errors.New("outside the table of current limits")

// Rule is whose table of current limits to use.
type Rule int

const (
	BoatLaw    Rule = iota // 33 CFR 183.425 table 5; below its least size, SmallCraft
	Building               // NEC table 310.16, copper, at most three conductors carrying current
	SmallCraft             // ISO 10133 table A.1, from memory
	SolarCable             // EN 50618 solar cable, from memory; its rating is 120 °C whatever is asked
)

// Lay is a conductor where it lies.
type Lay struct {
	Area    quantity.Area
	Rating  quantity.Temperature // of the insulation
	Ambient quantity.Temperature // air where it lies
	Bundle  int                  // current-carrying conductors bundled together; below 1 counts as 1
	Rule    Rule
}

// table is a rule's limits. Rows rise by area.
type table struct {
	source  cite.Source
	ratings []float64 // °C, one a column, rising
	air     float64   // °C the limits hold in
	area    []float64 // mm²
	limit   [][]float64
	bundle  func(n int) float64
}

// boatBundle is the share left in a bundle. Source: 33 CFR 183.425 and ABYC E-11, notes to the tables.
func boatBundle(n int) float64 {
	switch {
	case n <= 2:
		return 1
	case n == 3:
		return 0.70
	case n <= 6:
		return 0.60
	case n <= 24:
		return 0.50
	}
	return 0.40
}

// buildingBundle is the share left with more than three conductors. Source: NEC 2023, table
// 310.15(C)(1), from memory.
func buildingBundle(n int) float64 {
	switch {
	case n <= 3:
		return 1
	case n <= 6:
		return 0.80
	case n <= 9:
		return 0.70
	case n <= 20:
		return 0.50
	case n <= 30:
		return 0.45
	case n <= 40:
		return 0.40
	}
	return 0.35
}

func gaugeAreas(n ...int) []float64 {
	out := make([]float64, len(n))
	for i, g := range n {
		out[i] = AWG(g).SquareMillimetres()
	}
	return out
}

var boatLaw = table{
	source:  cite.Source{Title: "33 CFR 183.425", Where: "table 5"},
	ratings: []float64{60, 75, 80, 90, 105, 125, 200}, air: 30, bundle: boatBundle,
	area: gaugeAreas(18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3),
	limit: [][]float64{
		{10, 10, 15, 20, 20, 25, 25}, {15, 15, 20, 25, 25, 30, 35}, {20, 20, 25, 30, 35, 40, 45},
		{25, 25, 35, 40, 45, 50, 55}, {40, 40, 50, 55, 60, 70, 70}, {55, 65, 70, 70, 80, 90, 100},
		{80, 95, 100, 100, 120, 125, 135}, {105, 125, 130, 135, 160, 170, 180}, {120, 145, 150, 155, 180, 195, 210},
		{140, 170, 175, 180, 210, 225, 240}, {165, 195, 210, 210, 245, 265, 280}, {195, 230, 245, 245, 285, 305, 325},
		{225, 265, 285, 285, 330, 355, 370}, {260, 310, 330, 330, 385, 410, 430}, {300, 360, 385, 385, 445, 475, 510},
	},
}

// building: 2/0 and up from memory.
var building = table{
	source:  cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "table 310.16, copper"},
	ratings: []float64{60, 75, 90}, air: 30, bundle: buildingBundle,
	area: gaugeAreas(14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3),
	limit: [][]float64{
		{15, 20, 25}, {20, 25, 30}, {30, 35, 40}, {40, 50, 55}, {55, 65, 75}, {70, 85, 95}, {85, 100, 115},
		{95, 115, 130}, {110, 130, 145}, {125, 150, 170}, {145, 175, 195}, {165, 200, 225}, {195, 230, 260},
	},
}

// buildingRemembered is the least area of building's rows that are from memory, mm².
var buildingRemembered = AWG(-1).SquareMillimetres()

var smallCraft = table{
	source:  cite.Source{Title: "ISO 10133:2012 (replaced by ISO 13297:2020)", Where: "table A.1", Standing: cite.FromMemory},
	ratings: []float64{60, 70, 85, 105, 125, 200}, air: 30, bundle: boatBundle,
	area: []float64{0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50},
	limit: [][]float64{
		{6, 10, 12, 16, 20, 25}, {8, 14, 18, 20, 25, 35}, {12, 18, 21, 25, 30, 40}, {17, 25, 30, 35, 40, 45},
		{22, 35, 40, 45, 50, 55}, {29, 45, 50, 60, 70, 75}, {40, 65, 70, 90, 100, 120}, {54, 90, 100, 130, 150, 170},
		{71, 120, 140, 170, 185, 200}, {87, 160, 185, 210, 225, 240}, {105, 210, 230, 270, 300, 325},
	},
}

// Solar cable: on a surface, and two side by side; 120 °C conductor in air of 60 °C.
var (
	solarCable = table{
		source:  cite.Source{Title: "EN 50618:2014", Where: "table A.3", Standing: cite.FromMemory},
		ratings: []float64{120}, air: 60, bundle: solarBundle,
		area:  []float64{2.5, 4, 6, 10, 16},
		limit: [][]float64{{39}, {52}, {67}, {93}, {125}},
	}
	solarPair = []float64{33, 44, 57, 79, 107}
)

// solarBundle is the share left beyond a pair, over the pair's own column: as boats, from three on.
func solarBundle(n int) float64 {
	if n <= 2 {
		return 1
	}
	return boatBundle(n)
}

// Ampacity returns the current a conductor may carry where it lies, by the lay's rule, and the rule's
// source.
//
// An area between sizes counts as the size below and a rating between columns as the column below, so
// nothing is interpolated upward. Air above the table's own takes the share sqrt((Tc-Ta)/(Tc-T0)), Tc
// the rating and T0 the table's air, which gives the law's factors for engine spaces within 0.006;
// cooler air earns nothing. A bundle takes its share. ErrRange is wrapped when the area or rating is
// below the table, or the air is as hot as the insulation allows. It panics at NaN and an unknown
// rule. Accuracy: these are rules, to be read in the edition in force.
func Ampacity(l Lay) (quantity.Current, cite.Source, error) {
	mm2, tc, ta := l.Area.SquareMillimetres(), l.Rating.Celsius(), l.Ambient.Celsius()
	if math.IsNaN(mm2) || math.IsNaN(tc) || math.IsNaN(ta) {
		panic("wiring: lay not a number")
	}
	t := l.table(mm2)
	if t == &solarCable {
		tc = t.ratings[0]
	}
	row, col := floor(t.area, mm2*(1+sameSize)), floor(t.ratings, tc+1e-6)
	if row < 0 {
		return 0, t.source, fmt.Errorf("%w: %.3g mm² is below %.3g mm², the least of %s", ErrRange, mm2, t.area[0], t.source.Title)
	}
	if col < 0 {
		return 0, t.source, fmt.Errorf("%w: insulation for %.4g °C, the table begins at %.4g °C (%s)", ErrRange, tc, t.ratings[0], t.source.Title)
	}
	tc = t.ratings[col]
	if ta >= tc {
		return 0, t.source, fmt.Errorf("%w: air of %.4g °C leaves nothing to insulation for %.4g °C", ErrRange, ta, tc)
	}
	amps := t.limit[row][col]
	if t == &solarCable && l.Bundle > 1 {
		amps = solarPair[row]
	}
	if ta > t.air {
		amps *= math.Sqrt((tc - ta) / (tc - t.air))
	}
	source := t.source
	if t == &building && t.area[row] >= buildingRemembered {
		source.Standing = cite.FromMemory
	}
	return quantity.Current(amps * t.bundle(l.Bundle)), source, nil
}

// table returns the table of the lay's rule.
func (l Lay) table(mm2 float64) *table {
	switch l.Rule {
	case BoatLaw:
		if mm2*(1+sameSize) < boatLaw.area[0] {
			return &smallCraft
		}
		return &boatLaw
	case Building:
		return &building
	case SmallCraft:
		return &smallCraft
	case SolarCable:
		return &solarCable
	}
	panic("wiring: unknown rule")
}

// floor returns the index of the largest of x, rising, that is not above v; -1 when none is.
func floor(x []float64, v float64) int {
	i := -1
	for i+1 < len(x) && x[i+1] <= v {
		i++
	}
	return i
}
