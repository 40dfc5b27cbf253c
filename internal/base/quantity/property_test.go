package quantity

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Texts as people type them, and what they are.
func TestParse(t *testing.T) {
	near := func(what string, got, want float64, err error) {
		t.Helper()
		if err != nil || math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("%s: got %v, %v, want %v", what, got, err, want)
		}
	}
	for text, want := range map[string]float64{"1.9 m": 1.9, "41.5 in": 1.0541, `5' 6"`: 1.6764, "3 ft 5 in": 1.0414, "41 1/2 in": 1.0541, "90cm": 0.9, "1041 mm": 1.041, `41"`: 1.0414, "12 ft": 3.6576} {
		v, err := ParseLength(text)
		near(text, v.Metres(), want, err)
	}
	for text, want := range map[string]float64{"4 mm²": 4, "4 mm2": 4, "AWG 10": 5.2612, "10 AWG": 5.2612, "2/0 AWG": 67.431, "AWG 0": 53.475} {
		v, err := ParseArea(text)
		if err != nil || math.Abs(v.SquareMillimetres()-want) > 5e-4*want {
			t.Errorf("%s: got %v mm², %v, want %v", text, v.SquareMillimetres(), err, want)
		}
	}
	for text, want := range map[string]float64{"1280 Wh": 1280, "1.28 kWh": 1280, "100 Ah at 12.8 V": 1280} {
		v, err := ParseEnergy(text)
		near(text, v.WattHours(), want, err)
	}
	for text, want := range map[string]float64{"25 °C": 25, "77 °F": 25, "298.15 K": 25, "-40 F": -40, "25 deg C": 25, "−5 °C": -5} {
		v, err := ParseTemperature(text)
		near(text, v.Celsius(), want, err)
	}
	for text, want := range map[string]float64{"-0.36 %/K": -0.0036, "-0.2 %/°F": -0.0036, "-0.36 %/°C": -0.0036} {
		c, err := ParseCoefficient(text)
		near(text, c.Relative(0).PerKelvin(), want, err)
	}
	c, err := ParseCoefficient("-66 mV/K")
	near("-66 mV/K of 22 V", c.Relative(22).PerKelvin(), -0.003, err)
	d, err := ParseTempDiff("18 °F")
	near("18 °F apart", d.Kelvins(), 10, err)
	r, err := ParseRatio("80 %")
	near("80 %", r.Float(), 0.8, err)
	v, err := ParseSpeed("60 mph")
	near("60 mph", v.KilometresPerHour(), 96.56064, err)
	p, err := ParsePower("0.11 kW")
	near("0.11 kW", p.Watts(), 110, err)
}

// Texts that are refused, each with what is wanted and, where one can tell, what was meant.
func TestRefuse(t *testing.T) {
	length := func(s string) error { _, err := ParseLength(s); return err }
	power := func(s string) error { _, err := ParsePower(s); return err }
	energy := func(s string) error { _, err := ParseEnergy(s); return err }
	area := func(s string) error { _, err := ParseArea(s); return err }
	temperature := func(s string) error { _, err := ParseTemperature(s); return err }
	ratio := func(s string) error { _, err := ParseRatio(s); return err }
	coefficient := func(s string) error { _, err := ParseCoefficient(s); return err }
	for _, c := range []struct {
		f            func(string) error
		text, likely string
	}{
		{length, "41.5", ""}, {length, "1,5 m", "1.5 m"}, {length, "1.000,5 m", "1000.5 m"}, {length, "41.5 inn", ""}, {length, "NaN m", ""}, {length, "1e99 m", ""}, {length, "", ""},
		{power, "60 W/h", "60 W"}, {power, "0.5 kW/hr", "0.5 kW"}, {energy, "50 W/h", "50 Wh"}, {energy, "100 Ah", ""}, {energy, "50 W", ""},
		{area, "4 mm", "4 mm²"}, {area, "AWG 99", ""}, {temperature, "25", "25 °C"}, {temperature, "-300 °C", ""},
		{ratio, "80", "80 %"}, {coefficient, "-0.36 %", "-0.36 %/K"},
	} {
		err := c.f(c.text)
		var pe *ParseError
		if !errors.As(err, &pe) {
			t.Errorf("%q: got %v, want a ParseError", c.text, err)
			continue
		}
		if pe.Want == "" || pe.Likely != c.likely {
			t.Errorf("%q: wants %q, most likely %q; expected most likely %q", c.text, pe.Want, pe.Likely, c.likely)
		}
	}
}

// What is printed reads back.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		l, err := ParseLength(Length(x).String())
		if err != nil || math.Abs(l.Metres()-x) > 1e-9*math.Max(1e-3, math.Abs(x)) {
			t.Fatalf("%v m prints %v, reads %v, %v", x, Length(x), l, err)
		}
		e, err := ParseEnergy(Energy(x).String())
		if err != nil || math.Abs(e.Joules()-x) > 1e-9*math.Max(1, math.Abs(x)) {
			t.Fatalf("%v J prints %v, reads %v, %v", x, Energy(x), e, err)
		}
		k, err := ParseCoefficient(PerKelvin(x * 1e-8).String())
		if err != nil || math.Abs(k.Relative(0).PerKelvin()-x*1e-8) > 1e-9*math.Abs(x*1e-8)+1e-18 {
			t.Fatalf("%v prints %v, %v", x, PerKelvin(x*1e-8), err)
		}
	})
}
