package needs

import (
	"testing"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// The day's loads are largest first, and usable energy over the day's use is the nights without sun.
func TestOf(t *testing.T) {
	var lamp [24]quantity.Power
	lamp[20], lamp[21] = 10*quantity.Watt, 10*quantity.Watt
	b := &build.Build{
		Loads: []build.Load{{Name: "lamp", Watts: lamp}, {Name: "fridge", Kind: build.Fridge,
			Fridge: build.FridgeLoad{DayAt25C: 400 * quantity.WattHour, Running: 45 * quantity.Watt}}},
		Battery: build.Battery{Energy: 1000 * quantity.WattHour, Health: 1, LowestCharge: 20 * quantity.Percent, HighestCharge: 1, DischargeEfficiency: 1},
	}
	a := &forecast.Answer{Demand: 800 * quantity.WattHour, Days: []forecast.Day{
		{AirLow: quantity.Celsius(20), AirHigh: quantity.Celsius(30)}, {AirLow: quantity.Celsius(18), AirHigh: quantity.Celsius(32)}}}
	n := Of(b, a)
	if n.Loads[0].Name != "fridge" || n.Loads[1].Name != "lamp" {
		t.Errorf("order %v, want the fridge first", n.Loads)
	}
	if got := n.Loads[0].Energy.WattHours(); got < 395 || got > 405 {
		t.Errorf("a fridge of 400 Wh at 25 °C, mean air 25 °C: got %.1f Wh", got)
	}
	if got := n.Loads[1].Energy.WattHours(); got < 19.999 || got > 20.001 {
		t.Errorf("10 W for two hours: got %.3f Wh", got)
	}
	if n.Nights < 1.999 || n.Nights > 2.001 {
		t.Errorf("800 Wh usable at 400 Wh a day: got %.3f nights, want 2", n.Nights)
	}
	if n.AirLow.Celsius() != 18 || n.AirHigh.Celsius() != 32 {
		t.Errorf("air %v to %v, want 18 to 32 °C", n.AirLow, n.AirHigh)
	}
}
