package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// value adapts a parser to a plain number in the coherent unit.
func value[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(s string) (float64, error) { v, err := parse(s); return float64(v), err }
}

// parsers are all of them, by name; a temperature in kelvin, a time in seconds.
var parsers = map[string]func(string) (float64, error){
	"length": value(ParseLength), "area": value(ParseArea), "volume": value(ParseVolume), "mass": value(ParseMass), "angle": value(ParseAngle),
	"ratio": value(ParseRatio), "voltage": value(ParseVoltage), "current": value(ParseCurrent), "power": value(ParsePower), "energy": value(ParseEnergy),
	"charge": value(ParseCharge), "resistance": value(ParseResistance), "irradiance": value(ParseIrradiance), "irradiation": value(ParseIrradiation),
	"speed": value(ParseSpeed), "pressure": value(ParsePressure), "force": value(ParseForce), "difference": value(ParseTempDiff),
	"transfer": value(ParseHeatTransfer), "expansion": value(ParsePerKelvin), "line": value(ParseLineForce),
	"temperature": func(s string) (float64, error) { t, err := ParseTemperature(s); return t.Kelvin(), err },
	"duration":    func(s string) (float64, error) { d, err := ParseDuration(s); return d.Seconds(), err },
	"coefficient": func(s string) (float64, error) { c, err := ParseCoefficient(s); return c.value, err },
	"lenient":     value(Lenient.Length),
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		what, text string
		want       float64
	}{
		{"length", "41 in", 1.0414}, {"length", "41.5 in", 1.0541}, {"length", "41 1/2 in", 1.0541}, {"length", "41-1/2 in", 1.0541}, {"length", "41½″", 1.0541},
		{"length", `5' 6"`, 1.6764}, {"length", "5′6″", 1.6764}, {"length", "5' 6 1/2\"", 1.6891}, {"length", "5'6", 1.6764}, {"length", "3 ft 5 in", 1.0414},
		{"length", "3ft5in", 1.0414}, {"length", "3ft2in", 0.9652}, {"length", "5 feet 6 inches", 1.6764}, {"length", "5' 6''", 1.6764}, {"length", "1.9m", 1.9},
		{"length", "1041 mm", 1.041}, {"length", "1041\u00a0mm", 1.041}, {"length", "1 041 mm", 1.041}, {"length", "1\u202f041.5 mm", 1.0415}, {"length", "-20 mm", -0.02},
		{"length", "−20 mm", -0.02}, {"length", "1e3 mm", 1}, {"length", "1 m 20 cm", 1.2}, {"length", "1/2 in", 0.0127}, {"length", ".5 m", 0.5}, {"length", "5. m", 5},
		{"length", "12 Inches", 0.3048}, {"length", "12 in.", 0.3048}, {"length", "60 μm", 60e-6}, {"length", "2.5×10^-3 m", 2.5e-3}, {"length", "0 mm", 0}, {"length", "3 Metres", 3},
		{"area", "4 mm²", 4e-6}, {"area", "4mm2", 4e-6}, {"area", "4 mm^2", 4e-6}, {"area", "4 sq mm", 4e-6}, {"area", "4 sq. mm", 4e-6}, {"area", "0.6 m²", 0.6},
		{"area", "100 cm²", 0.01}, {"area", "10 ft²", 0.9290304}, {"area", "10 in2", 10 * 0.00064516},
		{"line", "20 N/cm", 2000}, {"line", "0.5 N/mm", 500}, {"line", "28 N/25mm", 1120}, {"line", "38 mN/m", 0.038}, {"line", "1 lbf/in", 175.126835246477},
		{"volume", "310 ml", 310e-6}, {"volume", "1 L", 1e-3}, {"mass", "6.2 lb", 2.812272694}, {"mass", "2.6 kg", 2.6}, {"mass", "6 lb 4 oz", 6.25 * 0.45359237}, {"mass", "120 g", 0.12},
		{"angle", "90°", math.Pi / 2}, {"angle", "90 º", math.Pi / 2}, {"angle", "90 deg", math.Pi / 2}, {"angle", "0.5 rad", 0.5}, {"angle", `30° 30' 36"`, 30.51 * math.Pi / 180}, {"angle", "-5°3'", -5.05 * math.Pi / 180},
		{"ratio", "80 %", 0.8}, {"ratio", "80%", 0.8}, {"ratio", "0.8", 0.8}, {"ratio", "-3 percent", -0.03}, {"ratio", "3 per cent", 0.03}, {"ratio", "1/2", 0.5},
		{"voltage", "21.9 V", 21.9}, {"voltage", "12v", 12}, {"voltage", "12 volts", 12}, {"voltage", "500 mV", 0.5}, {"current", "5.1 A", 5.1}, {"current", "900 mA", 0.9}, {"current", "3 Amps", 3},
		{"power", "110 W", 110}, {"power", "0.11 kW", 110}, {"power", "240 Wh/day", 10}, {"power", "240 Wh per day", 10}, {"power", "85 Wp", 85},
		{"energy", "1280 Wh", 4.608e6}, {"energy", "1.28 kWh", 4.608e6}, {"energy", "100 Ah at 12.8 V", 4.608e6}, {"energy", "100Ah@12.8V", 4.608e6}, {"energy", "100 Ah × 12.8 V", 4.608e6},
		{"energy", "12.8 V 100 Ah", 4.608e6}, {"energy", "12.8 V, 100 Ah", 4.608e6}, {"energy", "400 Wh/day", 1.44e6}, {"energy", "1 280 Wh", 4.608e6}, {"energy", "2 MJ", 2e6},
		{"charge", "100 Ah", 3.6e5}, {"charge", "100 amp hours", 3.6e5}, {"charge", "5000 mAh", 1.8e4}, {"resistance", "12 mΩ", 0.012}, {"resistance", "12 m\u2126", 0.012}, {"resistance", "3 ohm", 3}, {"resistance", "2 MΩ", 2e6},
		{"irradiance", "800 W/m²", 800}, {"irradiance", "800 W/m2", 800}, {"irradiance", "800 W·m⁻²", 800}, {"irradiance", "800 W per m2", 800}, {"irradiance", "100 mW/cm²", 1000},
		{"irradiation", "5.2 kWh/m²", 1.872e7}, {"irradiation", "18.72 MJ/m2", 1.872e7}, {"irradiation", "5.2 kWh/m²/day", 1.872e7},
		{"speed", "90 km/h", 25}, {"speed", "90 kph", 25}, {"speed", "55 mph", 24.5872}, {"speed", "2 m/s", 2}, {"speed", "10 kn", 5.144444444444445}, {"speed", "2 m s-1", 2},
		{"pressure", "1013.25 hPa", 101325}, {"pressure", "1013.25 mbar", 101325}, {"pressure", "0.8 MPa", 8e5}, {"pressure", "1.2 N/mm²", 1.2e6}, {"force", "250 N", 250},
		{"temperature", "25 °C", 298.15}, {"temperature", "25 C", 298.15}, {"temperature", "25 deg C", 298.15}, {"temperature", "25 degrees Celsius", 298.15}, {"temperature", "25℃", 298.15},
		{"temperature", "104 °F", 313.15}, {"temperature", "104F", 313.15}, {"temperature", "−40 °F", 233.15}, {"temperature", "298.15 K", 298.15}, {"temperature", "- 5 °C", 268.15},
		{"difference", "10 K", 10}, {"difference", "18 °F", 10}, {"difference", "10 °C", 10}, {"duration", "10 min", 600}, {"duration", "2 h 30 min", 9000}, {"duration", "2h30min", 9000}, {"duration", "3 days", 259200},
		{"transfer", "16 W/(m²·K)", 16}, {"transfer", "16 W/m²K", 16}, {"transfer", "16 W m-2 K-1", 16}, {"transfer", "16 W/(m2 K)", 16},
		{"expansion", "23 ppm/K", 23e-6}, {"expansion", "23e-6 /K", 23e-6}, {"expansion", "23e-6 1/K", 23e-6}, {"expansion", "23×10⁻⁶ 1/K", 23e-6}, {"expansion", "23 x 10^-6 /°C", 23e-6}, {"expansion", "23 µm/(m·K)", 23e-6}, {"expansion", "-0.36 %/K", -0.0036},
		{"coefficient", "-0.36 %/K", -0.0036}, {"coefficient", "-0.36%/°C", -0.0036}, {"coefficient", "-0.2 %/°F", -0.0036}, {"coefficient", "-62 mV/K", -0.062}, {"coefficient", "-0.062 V/°C", -0.062},
		{"coefficient", "+2.1 mA/°C", 0.0021}, {"coefficient", "-10 mV/°F", -0.018}, {"coefficient", "-0.36 % per deg C", -0.0036}, {"coefficient", "-0.36 %·K⁻¹", -0.0036}, {"coefficient", "-0.36 %/deg. C", -0.0036}, {"coefficient", "-3600 ppm/K", -0.0036}, {"coefficient", "-0.0036 1/K", -0.0036}, {"coefficient", "0.002 A/K", 0.002},
		{"lenient", "1,5 m", 1.5}, {"lenient", "0,125 m", 0.125}, {"lenient", "1.280,5 mm", 1.2805}, {"lenient", "1,280.5 mm", 1.2805}, {"lenient", "1,280,500 mm", 1280.5}, {"lenient", "1.5 m", 1.5},
	} {
		got, err := parsers[c.what](c.text)
		if err != nil || !(math.Abs(got-c.want) <= 1e-12*math.Abs(c.want)) {
			t.Errorf("%s %q: got %.12g, %v; want %.12g", c.what, c.text, got, err, c.want)
		}
	}
}

// Gauges in every spelling.
func TestGauge(t *testing.T) {
	for text, n := range map[string]int{"AWG 10": 10, "10 AWG": 10, "10awg": 10, "AWG10": 10, "#10 AWG": 10, "10 ga": 10, "10 gauge": 10, "2/0 AWG": -1, "AWG 2/0": -1, "00": -1, "00 AWG": -1, "2/0": -1,
		"AWG 0": 0, "1/0": 0, "4/0 AWG": -3, "0000": -3} {
		if got, err := ParseArea(text); err != nil || got != Gauge(n) {
			t.Errorf("%q: got %v, %v; want gauge %d", text, got, err, n)
		}
	}
	for _, text := range []string{"AWG", "AWG 99", "AWG -2", "AWG 5/0", "AWG 10.5", "0", "3/1"} {
		if got, err := ParseArea(text); err == nil {
			t.Errorf("%q: read as %v", text, got)
		}
	}
}

// Each fault says what is wanted and, where there is one, the likely meaning.
func TestParseFaults(t *testing.T) {
	for _, c := range []struct{ what, text, want, likely string }{
		{"length", "41", "write", ""}, {"length", "", "a number and a unit", ""}, {"length", "wide", "a number and a unit", ""}, {"length", "1,5 m", "decimal point", "1.5 m"},
		{"length", "1,280 mm", "may be 1280 or 1.280", "1280 mm"}, {"length", "1.280,5 mm", "no marks between thousands", "1280.5 mm"}, {"lenient", "1,280 mm", "may be 1280 or 1.280", "1280 mm"},
		{"length", "NaN m", "a number", ""}, {"length", "inf m", "a number", ""}, {"length", "1e99 m", "ordinary size", ""}, {"length", "1e999 m", "ordinary size", ""}, {"length", "0x10 m", "unit", ""},
		{"length", "3-4 m", "", ""}, {"length", "3 - 4 m", "", ""}, {"length", "about 3 m", "a number", ""}, {"length", "1.2.3 m", "one number", ""}, {"length", "5' 14\"", "one value", ""}, {"length", "5.5 ft 3 in", "one value", ""},
		{"length", "12 V", "unit of a voltage", ""}, {"length", "12 Mm", "right case", "12 mm"}, {"length", "5² m", "", ""}, {"length", "1/0 m", "", ""}, {"length", "41 5/2 in", "fraction", ""},
		{"area", "4 mm", "outside diameter", "4 mm²"}, {"area", "4", "unit", ""}, {"ratio", "80", "per cent", "80 %"}, {"ratio", "80 W", "ratio", ""},
		{"power", "50 W/h", "already a rate", "50 W"}, {"power", "0.5 kW/hr", "already a rate", "0.5 kW"}, {"power", "50 watts per hour", "already a rate", "50 W"}, {"power", "500 Wh", "energy", ""},
		{"energy", "50 W/h", "already a rate", "50 Wh"}, {"energy", "0.7 kW/hr", "already a rate", "0.7 kWh"}, {"energy", "60 watt/hour", "already a rate", "60 Wh"}, {"energy", "100 Ah", "voltage", ""}, {"energy", "5 amps per hour", "already a rate", "5 Ah"},
		{"energy", "12 V at 24 V", "an energy", ""}, {"current", "5 amps per hour", "already a rate", "5 A"}, {"charge", "5 amps per hour", "already a rate", "5 Ah"}, {"current", "5 Ah", "charge", ""},
		{"power", "5 mw", "right case", "5 mW"}, {"voltage", "5 MV", "right case", "5 mV"}, {"temperature", "20", "scale", "20 °C"}, {"temperature", "20°", "scale", "20 °C"}, {"temperature", "104 degrees", "scale", "104 °F"}, {"temperature", "-300 °C", "absolute zero", ""},
		{"duration", "3 months", "days or weeks", ""}, {"duration", "1h30", "unit after each", ""}, {"duration", "5 m", "min", "5 min"}, {"coefficient", "-0.36 %", "per degree", "-0.36 %/K"}, {"coefficient", "-0.36", "per degree", ""}, {"coefficient", "-62 mV", "per degree", "-62 mV/K"},
		{"irradiance", "800 W", "W/m²", "800 W/m²"}, {"length", "12 m 12 m 12 m 12 m", "one value", ""}, {"length", strings.Repeat("9", 200), "a number and a unit", ""},
	} {
		got, err := parsers[c.what](c.text)
		var pe *ParseError
		switch {
		case !errors.As(err, &pe):
			t.Errorf("%s %q: read as %g", c.what, c.text, got)
		case c.text == "41" && c.what == "length":
			if !strings.Contains(pe.Want, "41 in or 1041 mm") {
				t.Errorf("%q: %v", c.text, pe)
			}
		case !strings.Contains(pe.Want, c.want) || pe.Likely != c.likely:
			t.Errorf("%s %q: says %q, likely %q; want %q, %q", c.what, c.text, pe.Want, pe.Likely, c.want, c.likely)
		}
	}
}

func TestCoefficientRelative(t *testing.T) {
	c, err := ParseCoefficient("-62 mV/K")
	if err != nil || c.Of() != "V" {
		t.Fatal(c, err)
	}
	if got, want := c.Relative(21.9).PerKelvin(), -0.062/21.9; got != want {
		t.Errorf("got %g 1/K, want %g", got, want)
	}
	if Per(-0.0036).Relative(0) != -0.0036 || c.String() != "-62 mV/K" || Per(-0.0036).String() != "-0.36 %/K" {
		t.Errorf("%v, %v", c, Per(-0.0036))
	}
	defer func() {
		if recover() == nil {
			t.Error("no panic without a reference")
		}
	}()
	c.Relative(0)
}

func TestPrint(t *testing.T) {
	us := Style{System: Imperial, Digits: 4}
	for _, c := range []struct{ got, want string }{
		{(2.5 * SquareMillimetre).String(), "2.5 mm²"}, {(812 * WattHour).String(), "812 Wh"}, {(-0.36 * PercentPerKelvin).String(), "-0.36 %/K"},
		{(41 * Inch).String(), "1.0414 m"}, {(41 * Millimetre).String(), "41 mm"}, {(12 * Kilometre).String(), "12 km"}, {(41.5 * Inch).Text(us), "41.5 in"},
		{(12 * Foot).Text(us), "12 ft"}, {Celsius(25).String(), "25 °C"}, {Fahrenheit(104).Text(us), "104 °F"}, {(10 * OneKelvin).Text(us), "18 °F"}, {(80 * Percent).String(), "80 %"},
		{(55 * MilePerHour).Text(us), "55 mph"}, {(12 * Milliohm).String(), "12 mΩ"}, {(23 * PerMillionKelvin).String(), "23 ppm/K"}, {(30 * Degree).String(), "30°"}, {(0.1 * Volt * 3).String(), "0.3 V"},
		{(1013.25 * Hectopascal).String(), "1013.25 hPa"}, {Voltage(math.Copysign(0, -1)).String(), "0 V"}, {(1.0 / 3 * Metre).Text(Style{Digits: 3}), "333 mm"}, {(310 * Millilitre).String(), "310 ml"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if d, err := ParseDuration("1.5 h"); err != nil || d != 90*time.Minute {
		t.Error(d, err)
	}
}
