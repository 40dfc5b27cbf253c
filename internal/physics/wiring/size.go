package wiring

import (
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
)

// AWG returns the area of American wire gauge n; 0, -1, -2 and -3 stand for 1/0 to 4/0. It panics outside
// -3..40. Exact by definition. Source: ASTM B258-18: diameter 0.005 in × 92^((36-n)/39).
func AWG(n int) quantity.Area {
	if n < -3 || n > 40 {
		panic("wiring: gauge outside 4/0 to 40")
	}
	d := 0.127 * math.Pow(92, float64(36-n)/39) // mm
	return quantity.Area(math.Pi/4*d*d) * quantity.SquareMillimetre
}

// gaugeName returns the name of gauge n.
func gaugeName(n int) string {
	if n <= 0 {
		return fmt.Sprintf("AWG %d/0", 1-n)
	}
	return fmt.Sprintf("AWG %d", n)
}

// sameSize is the relative difference within which an area is taken for a standard size: half the last
// digit of "2.08 mm²".
const sameSize = 0.003

// gaugeOf returns the gauge whose area mm2 is.
func gaugeOf(mm2 float64) (n int, ok bool) {
	d := 2 * math.Sqrt(mm2/math.Pi)
	n = int(math.Round(36 - 39*math.Log(d/0.127)/math.Log(92)))
	if n < -3 || n > 40 {
		return 0, false
	}
	return n, math.Abs(mm2/AWG(n).SquareMillimetres()-1) <= sameSize
}

func isMetric(mm2 float64) bool {
	for _, m := range metric {
		if math.Abs(mm2/m-1) <= sameSize {
			return true
		}
	}
	return false
}

// Size is a standard size of conductor.
type Size struct {
	Area  quantity.Area
	Name  string // "2.5 mm²", "AWG 10"
	Gauge bool   // an American gauge
}

// gauges are the gauges in use, thinnest first.
var gauges = [...]int{20, 18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3}

// Sizes returns the standard sizes, by rising area: metric 0.5 to 95 mm² and gauges 20 to 4/0.
func Sizes() []Size {
	var out []Size
	g := 0
	for _, mm2 := range metric {
		for g < len(gauges) && AWG(gauges[g]).SquareMillimetres() < mm2 {
			out = append(out, gaugeSize(gauges[g]))
			g++
		}
		out = append(out, Size{Area: quantity.Area(mm2) * quantity.SquareMillimetre, Name: fmt.Sprintf("%g mm²", mm2)})
	}
	for ; g < len(gauges); g++ {
		out = append(out, gaugeSize(gauges[g]))
	}
	return out
}

func gaugeSize(n int) Size { return Size{Area: AWG(n), Name: gaugeName(n), Gauge: true} }

// NextSize returns the next size up from area: a gauge when area is a gauge, metric otherwise. It
// returns false beyond the largest.
func NextSize(area quantity.Area) (Size, bool) {
	mm2 := area.SquareMillimetres()
	gauge := false
	if mm2 > 0 {
		_, gauge = gaugeOf(mm2)
		gauge = gauge && !isMetric(mm2)
	}
	for _, s := range Sizes() {
		if s.Gauge == gauge && s.Area.SquareMillimetres() > mm2*(1+sameSize) {
			return s, true
		}
	}
	return Size{}, false
}
