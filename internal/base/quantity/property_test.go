package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Every printed value reads back within the ten digits that are printed, in both systems.
func TestPrintedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-9.99, 9.99).Draw(t, "mantissa") * math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, "power")))
		if math.Abs(x) < 1e-12 {
			x = 0
		}
		s := Style{System: System(rapid.IntRange(0, 1).Draw(t, "system"))}
		for text, back := range map[string]func(string) (float64, error){
			Length(x).Text(s): value(ParseLength), Area(x).Text(s): value(ParseArea), Volume(x).Text(s): value(ParseVolume), Mass(x).Text(s): value(ParseMass), Angle(x).Text(s): value(ParseAngle),
			Ratio(x).Text(s): value(ParseRatio), Voltage(x).Text(s): value(ParseVoltage), Current(x).Text(s): value(ParseCurrent), Power(x).Text(s): value(ParsePower), Energy(x).Text(s): value(ParseEnergy),
			Charge(x).Text(s): value(ParseCharge), Resistance(x).Text(s): value(ParseResistance), Irradiance(x).Text(s): value(ParseIrradiance), Irradiation(x).Text(s): value(ParseIrradiation),
			Speed(x).Text(s): value(ParseSpeed), Pressure(x).Text(s): value(ParsePressure), Force(x).Text(s): value(ParseForce), TempDiff(x).Text(s): value(ParseTempDiff),
			HeatTransfer(x).Text(s): value(ParseHeatTransfer), PerKelvin(x).Text(s): value(ParsePerKelvin),
		} {
			got, err := back(text)
			if err != nil || math.Abs(got-x) > 1e-9*math.Abs(x) {
				t.Fatalf("%q: got %.12g, want %.12g: %v", text, got, x, err)
			}
		}
		k := Kelvin(math.Abs(x))
		if got, err := ParseTemperature(k.Text(s)); err != nil || math.Abs(got.Kelvin()-k.Kelvin()) > 1e-9*(math.Abs(x)+500) {
			t.Fatalf("%q: got %v, want %v: %v", k.Text(s), got, k, err)
		}
	})
}

// A difference of two temperatures added to the second is the first.
func TestTemperatureDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := Celsius(rapid.Float64Range(-90, 120).Draw(t, "a")), Celsius(rapid.Float64Range(-90, 120).Draw(t, "b"))
		if got := b.Add(a.Sub(b)); math.Abs(got.Kelvin()-a.Kelvin()) > 1e-12*400 {
			t.Fatalf("got %v, want %v", got, a)
		}
		if f := Fahrenheit(a.Fahrenheit()); math.Abs(f.Kelvin()-a.Kelvin()) > 1e-11*400 {
			t.Fatalf("got %v, want %v", f, a)
		}
	})
}
