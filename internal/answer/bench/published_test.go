package bench

import (
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/testkit"
)

// mono is an invented glass module of 36 crystalline cells.
func mono() *build.ModuleType {
	return &build.ModuleType{Name: "glass", Technology: build.MonoPERC, Pmax: 100 * quantity.Watt, Voc: 22.1 * quantity.Volt, Isc: 5.85 * quantity.Ampere,
		Vmp: 18.4 * quantity.Volt, Imp: 5.435 * quantity.Ampere, PmaxCoefficient: -0.37 * quantity.PercentPerKelvin,
		VocCoefficient: -0.30 * quantity.PercentPerKelvin, IscCoefficient: 0.05 * quantity.PercentPerKelvin, LowLight: 97 * quantity.Percent,
		Length: 1 * quantity.Metre, Width: 0.54 * quantity.Metre, Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 2}, Front: build.FloatGlass}
}

// What a meter reads of open volts in weak light and in heat, for 36 crystalline cells.
//
// Source: common practice of testers, no source: half the sun still shows about 97 % of the label's
// open volts, a fifth about 92 %, and a sound module at 60 °C about 90 %.
func TestOpenVolts(t *testing.T) {
	m := mono()
	params, err := forecast.Fit(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ g, celsius, want float64 }{{500, 25, 0.97}, {200, 25, 0.92}, {1000, 60, 0.90}} {
		st := params.At(quantity.Irradiance(c.g), quantity.Celsius(c.celsius))
		got := st.Open().Volts() / m.Voc.Volts()
		testkit.Published(t, got, testkit.Check{What: "open volts over label, ratio", Source: cite.Source{Title: "testers' rule", Standing: cite.CommonPractice},
			Want: c.want, Tol: 0.02, Why: "the rule is a round figure for all crystalline modules"})
	}
}

// A level module at a clear noon gives at most about three quarters of its label.
//
// Source: common practice in the recreational-vehicle trade, no source: 75 % of rating is the most
// commonly seen in good conditions; 50 to 70 % is realistic afloat.
func TestNoonShare(t *testing.T) {
	r, err := AtNoon(Noon{Module: mono(), Attachment: build.Bonded, Latitude: 40 * quantity.Degree,
		Day: time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC), Air: quantity.Celsius(25), Wind: 2 * quantity.MetrePerSecond})
	if err != nil {
		t.Fatal(err)
	}
	testkit.Published(t, r.Fraction.Expected, testkit.Check{What: "share of label at a clear June noon, bonded, ratio",
		Source: cite.Source{Title: "trade rule", Standing: cite.CommonPractice}, Want: 0.75, Tol: 0.06, Why: "season and air are not stated in the rule"})
}
