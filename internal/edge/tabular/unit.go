package tabular

import (
	"strings"
)

// unit is a unit a cell or header may carry: coherent value = value × size + zero.
type unit struct {
	name      string
	dimension Dimension
	size      float64
	zero      float64
}

// units are by spelling, in the case that tells milli from mega; a spelling that is not found so is looked
// for in any case.
var units = map[string]unit{}

func init() {
	add := func(d Dimension, size, zero float64, names string) {
		for n := range strings.SplitSeq(names, " ") {
			units[n] = unit{n, d, size, zero}
		}
	}
	add(Voltage, 1, 0, "V Volt Volts volt volts VDC Vdc")
	add(Voltage, 1e-3, 0, "mV millivolt millivolts")
	add(Voltage, 1e-2, 0, "cV")
	add(Voltage, 1e3, 0, "kV")
	add(Current, 1, 0, "A Amp Amps amp amps Ampere Amperes ampere amperes ADC Adc")
	add(Current, 1e-3, 0, "mA milliamp milliamps")
	add(Current, 1e-2, 0, "cA")
	add(Current, 1e-6, 0, "µA uA")
	add(Power, 1, 0, "W Watt Watts watt watts Wp")
	add(Power, 1e3, 0, "kW kWp")
	add(Power, 1e-3, 0, "mW")
	add(Irradiance, 1, 0, "W/m2 Wm-2 W/sqm W/qm Wm2")
	add(Irradiance, 1e3, 0, "kW/m2 kWm-2 kW/sqm kW/qm kWm2 suns")
	add(Irradiance, 10, 0, "mW/cm2 mWcm-2")
	add(Temperature, 1, 273.15, "°C ºC ℃ C degC deg.C Celsius celsius")
	add(Temperature, 5.0/9, 273.15-32*5.0/9, "°F ºF ℉ F degF deg.F Fahrenheit fahrenheit")
	add(Temperature, 1, 0, "K Kelvin kelvin °K")
	add(Angle, degree, 0, "° deg degree degrees Grad")
	add(Angle, 1, 0, "rad")
	add(Ratio, 0.01, 0, "% percent pct Prozent")
	add(Energy, 3600, 0, "Wh")
	add(Energy, 3.6e6, 0, "kWh")
	add(Energy, 1, 0, "J")
	add(Charge, 3600, 0, "Ah")
	add(Charge, 3.6, 0, "mAh")
	add(Span, 1, 0, "s sec secs second seconds Sekunden")
	add(Span, 60, 0, "min mins minute minutes Min Minuten")
	add(Span, 3600, 0, "h hr hrs hour hours Std Stunden")
}

// degree is a degree in radians.
const degree = 0.017453292519943295

// bareUnit is the unit of a column without one: what every instrument shows. A temperature has none: °C
// and °F both occur.
var bareUnit = map[Dimension]string{Voltage: "V", Current: "A", Power: "W", Irradiance: "W/m2", Angle: "°", Energy: "Wh", Charge: "Ah", Span: "min", Ratio: "%"}

// raised are the ways to write a square, and the spaces and dots in a unit.
var raised = strings.NewReplacer(" ", "", "²", "2", "^2", "2", "\u00a0", "", "·", "", "⁻2", "-2", "**2", "2")

// unitOf finds a unit by its spelling; nil when there is none.
func unitOf(text string) *unit {
	s := raised.Replace(strings.TrimSpace(text))
	s = strings.TrimSuffix(s, ".")
	if u, ok := units[s]; ok {
		return &u
	}
	if len(s) > 0 && strings.ContainsAny(s[:1], "0123456789.") { // "0.01 A", a register's step
		digits, rest := numeral(s)
		if v, _, ok := value(digits, pointMark); ok && v > 0 && rest != "" {
			if u := unitOf(rest); u != nil {
				u.name, u.size = text, u.size*v
				return u
			}
		}
		return nil
	}
	if len(s) == 0 || s[0] == 'M' { // MW is no mW
		return nil
	}
	for _, try := range []string{strings.ToLower(s), strings.ToUpper(s), strings.ToLower(s[:1]) + strings.ToUpper(s[1:])} {
		if u, ok := units[try]; ok && !(s[0] == 'm' && try[0] != 'm') {
			return &u
		}
	}
	return nil
}
