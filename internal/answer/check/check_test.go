package check

import (
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
)

// van is a build with one string of two modules, no trip: the rules that need none.
func van() *build.Build {
	label := build.ModuleType{Name: "glass", Technology: build.MonoPERC, Pmax: 175 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 9.15 * quantity.Ampere,
		Vmp: 20.2 * quantity.Volt, Imp: 8.66 * quantity.Ampere, PmaxCoefficient: -0.35 * quantity.PercentPerKelvin, VocCoefficient: -0.30 * quantity.PercentPerKelvin,
		IscCoefficient: 0.05 * quantity.PercentPerKelvin, LowLight: 97 * quantity.Percent, Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 2}}
	run := build.Run{Name: "array", Length: 4 * quantity.Metre, Area: 6 * quantity.SquareMillimetre, Temperature: quantity.Celsius(60)}
	return &build.Build{Types: []build.ModuleType{label}, Modules: []build.Module{{Name: "a"}, {Name: "b"}},
		Strings: []build.String{{Name: "pair", Modules: []int{0, 1}}},
		Chargers: []build.Charger{{Name: "roof", Strings: []int{0}, InputMax: 75 * quantity.Volt, RunMargin: 1 * quantity.Volt, StartMargin: 5 * quantity.Volt,
			ShortCircuitMax: 20 * quantity.Ampere, OutputCurrent: 20 * quantity.Ampere, InputCable: run}},
		Battery: build.Battery{Voltage: 12.8 * quantity.Volt, MaxChargeCurrent: 50 * quantity.Ampere}}
}

// Two modules of 24.3 V and -0.30 %/K at -20 °C give 55.16 V: the worked value of the coefficient
// method, and each verdict of the rule by the limit it is held against.
func TestColdVoltage(t *testing.T) {
	b := van()
	cold := coldVolts(b, &b.Strings[0], quantity.Celsius(-20))
	if cold < 55.155 || cold > 55.165 {
		t.Errorf("two in series at -20 °C: got %.3f V, want 55.16 V", cold)
	}
	e := Extremes{Low: quantity.Celsius(-20), LowBand: 15 * quantity.OneKelvin}
	edge := coldVolts(b, &b.Strings[0], e.Low.Add(-e.LowBand))
	for limit, want := range map[quantity.Voltage]Verdict{75 * quantity.Volt: Pass, 56 * quantity.Volt: Warn, 50 * quantity.Volt: Fail} {
		b.Chargers[0].InputMax = limit
		if f := coldVoltage(&b.Chargers[0], &b.Strings[0], cold, edge, e); f.Verdict != want {
			t.Errorf("limit %v: got %v, want %v", limit, f.Verdict, want)
		}
	}
}

// A run without a size is unknown, never a pass; a thin one fails.
func TestDrop(t *testing.T) {
	b := van()
	c := &b.Chargers[0]
	l := linesOf(b, c)[0]
	if f := dropOf(c.InputCable, l.amps, l.volts); f.Verdict != Pass {
		t.Errorf("6 mm², 4 m: %v, %v %%", f.Verdict, f.Value)
	}
	thin := c.InputCable
	thin.Area, thin.Length = 0.75*quantity.SquareMillimetre, 10*quantity.Metre
	if f := dropOf(thin, l.amps, l.volts); f.Verdict != Fail {
		t.Errorf("0.75 mm², 10 m: %v, %v %%", f.Verdict, f.Value)
	}
	thin.Area = 0
	if f := dropOf(thin, l.amps, l.volts); f.Verdict != Unknown {
		t.Errorf("no size: %v", f.Verdict)
	}
}

// A string whose hot working volts are under the battery's fails; one over it passes.
func TestHotVoltage(t *testing.T) {
	b := van()
	full := charge.ChargingVoltage(charge.LFP, b.Battery.Voltage).Volts()
	c, s := &b.Chargers[0], &b.Strings[0]
	if f := hotVoltage(b, c, s, full+0.5, 60, Extremes{}); f.Verdict != Fail {
		t.Errorf("half a volt over the battery, 1 V needed: %v", f.Verdict)
	}
	if f := hotVoltage(b, c, s, full+5, 60, Extremes{}); f.Verdict != Pass {
		t.Errorf("5 V over the battery: %v", f.Verdict)
	}
	if f := hotVoltage(b, c, s, full+5, full+2, Extremes{}); f.Verdict != Warn {
		t.Errorf("open volts too low to start in weak light: %v", f.Verdict)
	}
}
