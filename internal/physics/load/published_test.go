package load

import (
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

func handbook(what string) cite.Source {
	return cite.Source{Title: what, Where: "trade handbook, D1 and D2"}
}

func memory(s cite.Source) cite.Source { s.Standing = cite.FromMemory; return s }

func fridgeDay(air float64) float64 {
	return FridgePower(DayAt25C, quantity.Celsius(air), 0, 0).Watts() * 24
}

// Source: a fridge seller's table by air temperature (trade handbook D1): 21 °C 300-400 Wh, 29 °C 400-600, 38 °C 600-900 a day.
func TestFridgeFit(t *testing.T) {
	src := handbook("fridge seller's ambient table")
	for _, c := range []struct{ air, low, high float64 }{{21, 300, 400}, {29, 400, 600}, {38, 600, 900}} {
		testkit.Published(t, fridgeDay(c.air), testkit.Check{What: "fridge's day, Wh", Source: src, Want: (c.low + c.high) / 2, Tol: (c.high - c.low) / 2, Why: "the table gives a range"})
	}
}

// Source: an owner's article, 90 litres at 40 °C, 60 W at about half duty, 720 Wh; a boat's fridge and freezer at
// 27-35 °C, 1.36 A, 390 Wh (trade handbook D1).
func TestFridgeElsewhere(t *testing.T) {
	testkit.Published(t, fridgeDay(40), testkit.Check{What: "fridge's day in a heat wave, Wh", Source: handbook("owner article, 90 l at 40 °C"), Want: 720, Tol: 180,
		Why: "duty is 'about' 50 %, and the box is twice the fit's"})
	testkit.Published(t, fridgeDay(31), testkit.Check{What: "boat fridge and freezer's day, kept shut, Wh", Source: handbook("trawler mailing list battery test"), Want: 390, Tol: 190,
		Why: "the fit has doors opened and warm food in it: a quarter to a half more"})
}

// Source: Moran & Shapiro, Fundamentals of Engineering Thermodynamics, ex. 5.2 (from memory): freezer at -5 °C in a room of
// 22 °C, largest coefficient of performance 9.9; closed boxes of 75-165 Wh a day at 25 °C (trade handbook, corrections).
func TestBox(t *testing.T) {
	ideal := Box{LeakPerKelvin: 1 * quantity.Watt, Inside: quantity.Celsius(-5), CarnotShare: 1}
	testkit.Published(t, ideal.Performance(quantity.Celsius(22)).Float(), testkit.Check{What: "coefficient of performance of an ideal machine, -5 to 22 °C",
		Source: memory(cite.Source{Title: "Moran & Shapiro, Fundamentals of Engineering Thermodynamics", Where: "ex. 5.2"}), Want: 9.9, Tol: 0.05})
	testkit.Published(t, StandardBox.Power(quantity.Celsius(25)).Watts()*24, testkit.Check{What: "day of a closed box at 25 °C, Wh",
		Source: cite.Source{Title: "trade handbook", Where: "corrections, fridge", Standing: cite.FromMemory}, Want: 120, Tol: 45, Why: "75 to 165 Wh"})
	testkit.Published(t, StandardBox.Performance(quantity.Celsius(32)).Float(), testkit.Check{What: "coefficient of performance of a small compressor at 32 °C",
		Source: memory(handbook("trade handbook")), Want: 1.5, Tol: 0.3, Why: "1.2 to 1.8"})
}

// Source: a coach owner's energy audit, and a breathing aid's measured night (trade handbook D2): amperes and watts against the
// day's watt-hours they print.
func TestDays(t *testing.T) {
	audit := handbook("coach owner's energy audit")
	for _, c := range []struct {
		what              string
		watts, hours, day float64
		tol               float64
	}{{"phantom loads, 14 W all day", 14, 24, 340, 5}, {"breathing aid without heat, 11 W for 8 h", 11, 8, 88, 0.5}, {"microwave, 840 W for 5 min", 840, 5.0 / 60, 70, 0.5},
		{"water pump, 72 W for 15 min", 72, 0.25, 18, 0.5}} {
		got := Use{Power: quantity.Power(c.watts), Daily: time.Duration(c.hours * float64(time.Hour)), From: 22}.Profile().Day().WattHours()
		testkit.Published(t, got, testkit.Check{What: "day of " + c.what + ", Wh", Source: audit, Want: c.day, Tol: c.tol})
	}
	idle := Steady(NewInverter(20*quantity.Watt, 1500*quantity.Watt, 92*quantity.Percent).Input(0)).Day().WattHours()
	testkit.Published(t, idle, testkit.Check{What: "day of an idle inverter of 20 W, Wh", Source: handbook("idle-drain guides with owner measurements"), Want: 480, Tol: 0.5})
}

// Source: a kettle of 1 litre from 15 to 100 °C (water 4186 J/(kg·K), any textbook), 87 % at the kettle, over an inverter of
// 90 %: 126 Wh at the battery (trade handbook D2); inverters at 5 % load 60-75 %, best 90-94 % at 30-60 % load (D3, from memory).
func TestInverter(t *testing.T) {
	heat := 1.0 * 4186 * (100 - 15) / 3600 / 0.87 // Wh at the plug
	const watts = 1500.0
	// Efficiency 0.90 at half of 3000 W is that at the kettle's 1500 W.
	in := NewInverter(20*quantity.Watt, 3000*quantity.Watt, 90*quantity.Percent).Input(watts * quantity.Watt).Watts()
	testkit.Published(t, heat*in/watts, testkit.Check{What: "kettle of 1 litre through an inverter, Wh at the battery", Source: handbook("heat of water, kettle of 87 %, inverter of 90 %"), Want: 126, Tol: 1,
		Why: "three rounded factors"})
	// Idle of a 1.5 kW class unit, 20 W: handbook C6.
	i := NewInverter(20*quantity.Watt, 1500*quantity.Watt, 92*quantity.Percent)
	d3 := cite.Source{Title: "trade handbook", Where: "D3", Standing: cite.FromMemory}
	testkit.Published(t, i.Efficiency(75*quantity.Watt).Float(), testkit.Check{What: "inverter's efficiency at 5 % load", Source: d3, Want: 0.675, Tol: 0.11,
		Why: "0.60 to 0.75 printed; an idle draw of 20 W alone allows 0.79 at most"})
	best, at := 0.0, 0.0
	for w := 15.0; w <= 1500; w += 15 {
		if e := i.Efficiency(quantity.Power(w)).Float(); e > best {
			best, at = e, w/1500
		}
	}
	testkit.Published(t, best, testkit.Check{What: "inverter's best efficiency", Source: d3, Want: 0.92, Tol: 0.02, Why: "0.90 to 0.94"})
	testkit.Published(t, at, testkit.Check{What: "load of the best efficiency", Source: d3, Want: 0.45, Tol: 0.30, Why: "0.30 to 0.60 printed; the peak is flat"})
}
