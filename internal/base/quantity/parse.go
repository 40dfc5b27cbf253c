package quantity

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// ParseLength reads a length: "1.9 m", "41.5 in", "41 1/2 in", "5' 6\"", "3 ft 5 in".
func ParseLength(text string) (Length, error) { return Strict.Length(text) }

// ParseArea reads an area, or the size of a conductor: "4 mm²", "AWG 10", "10 AWG", "2/0 AWG".
func ParseArea(text string) (Area, error) { return Strict.Area(text) }

// ParseVolume reads a volume: "310 ml".
func ParseVolume(text string) (Volume, error) { return Strict.Volume(text) }

// ParseMass reads a mass: "2.6 kg", "6.2 lb", "6 lb 3 oz".
func ParseMass(text string) (Mass, error) { return Strict.Mass(text) }

// ParseAngle reads an angle: "12°", "12 deg", "0.2 rad", "38° 30'".
func ParseAngle(text string) (Angle, error) { return Strict.Angle(text) }

// ParseRatio reads a ratio: "80 %", "0.8". A bare number above 1 is queried; it bounds nothing else.
func ParseRatio(text string) (Ratio, error) { return Strict.Ratio(text) }

// ParseVoltage reads a voltage: "21.9 V".
func ParseVoltage(text string) (Voltage, error) { return Strict.Voltage(text) }

// ParseCurrent reads a current: "5.1 A", "900 mA".
func ParseCurrent(text string) (Current, error) { return Strict.Current(text) }

// ParsePower reads a power: "110 W", and as a mean of a day "240 Wh/day".
func ParsePower(text string) (Power, error) { return Strict.Power(text) }

// ParseEnergy reads an energy: "1280 Wh", "1.28 kWh", "100 Ah at 12.8 V". "Wh/day" is the energy of
// one day.
func ParseEnergy(text string) (Energy, error) { return Strict.Energy(text) }

// ParseCharge reads a charge: "100 Ah".
func ParseCharge(text string) (Charge, error) { return Strict.Charge(text) }

// ParseResistance reads a resistance: "12 mΩ".
func ParseResistance(text string) (Resistance, error) { return Strict.Resistance(text) }

// ParseIrradiance reads an irradiance: "800 W/m²".
func ParseIrradiance(text string) (Irradiance, error) { return Strict.Irradiance(text) }

// ParseIrradiation reads an irradiation: "5.2 kWh/m²".
func ParseIrradiation(text string) (Irradiation, error) { return Strict.Irradiation(text) }

// ParseSpeed reads a speed: "90 km/h", "55 mph", "2 m/s", "10 kn".
func ParseSpeed(text string) (Speed, error) { return Strict.Speed(text) }

// ParsePressure reads a pressure: "1013 hPa".
func ParsePressure(text string) (Pressure, error) { return Strict.Pressure(text) }

// ParseForce reads a force: "250 N".
func ParseForce(text string) (Force, error) { return Strict.Force(text) }

// ParseTemperature reads a temperature: "25 °C", "104 °F", "298 K". Below absolute zero is a fault.
func ParseTemperature(text string) (Temperature, error) { return Strict.Temperature(text) }

// ParseTempDiff reads a difference of temperatures: "10 K", "18 °F" (a difference: 10 K).
func ParseTempDiff(text string) (TempDiff, error) { return Strict.TempDiff(text) }

// ParseHeatTransfer reads a heat-transfer coefficient: "16 W/(m²·K)".
func ParseHeatTransfer(text string) (HeatTransfer, error) { return Strict.HeatTransfer(text) }

// ParsePerKelvin reads a thermal expansion or a relative coefficient: "23 ppm/K", "23e-6 /K",
// "-0.36 %/K".
func ParsePerKelvin(text string) (PerKelvin, error) { return Strict.PerKelvin(text) }

// ParseDuration reads a span of time: "2 h", "10 min", "2 h 30 min", "3 d". Months are queried.
func ParseDuration(text string) (time.Duration, error) { return Strict.Duration(text) }

// ParseCoefficient reads a temperature coefficient: "-0.36 %/K", "-0.2 %/°F", "-62 mV/K", "+2.1 mA/°C".
func ParseCoefficient(text string) (Coefficient, error) { return Strict.Coefficient(text) }

// Length reads as ParseLength does, in the manner m; so do the methods below.
func (m Manner) Length(text string) (Length, error) {
	v, err := lengths.read(text, m)
	return Length(v), err
}

// Area reads an area or the size of a conductor.
func (m Manner) Area(text string) (Area, error) {
	if n, ok := gaugeName(text); ok {
		g, known := gauges[n]
		if !known {
			i, err := strconv.Atoi(n)
			if err != nil || i < 0 || i > 40 {
				return 0, &ParseError{Found: text, Want: "a gauge from 4/0 to 40, such as AWG 10"}
			}
			g = i
		}
		return Gauge(g), nil
	}
	v, err := areas.read(text, m)
	return Area(v), err
}

// Gauge returns the area of a round conductor of American wire gauge n: 10 is AWG 10, 0 is 1/0, -1
// is 2/0, -3 is 4/0. It panics below -3 and above 40.
// Source: ASTM B258, d = 0.127 mm · 92^((36-n)/39), exact by definition; stranded conductors of the
// same gauge hold as much metal within 2 %.
func Gauge(n int) Area {
	if n < -3 || n > 40 {
		panic("quantity: gauge out of 4/0 to 40")
	}
	d := 0.127e-3 * math.Pow(92, float64(36-n)/39)
	return Area(math.Pi / 4 * d * d)
}

// gauges are the sizes above gauge 1, by their names.
var gauges = map[string]int{"0": 0, "1/0": 0, "00": -1, "2/0": -1, "000": -2, "3/0": -2, "0000": -3, "4/0": -3}

// gaugeName returns the name of a gauge, "10" of "AWG 10"; ok is false when a text names none. A bare
// "2/0" or "00" can mean nothing else.
func gaugeName(text string) (name string, ok bool) {
	if len(text) > longest {
		return "", false
	}
	s := strings.ToUpper(tidy(text))
	for _, mark := range []string{"AWG", "B&S", "GAUGE", "GA"} {
		if before, after, found := strings.Cut(s, mark); found {
			return strings.Trim(before+after, " #."), true
		}
	}
	if g, known := gauges[s]; known && len(s) > 1 && g <= 0 {
		return s, true
	}
	return "", false
}

// Volume reads a volume.
func (m Manner) Volume(text string) (Volume, error) {
	v, err := volumes.read(text, m)
	return Volume(v), err
}

// Mass reads a mass.
func (m Manner) Mass(text string) (Mass, error) {
	v, err := masses.read(text, m)
	return Mass(v), err
}

// Angle reads an angle.
func (m Manner) Angle(text string) (Angle, error) {
	v, err := angles.read(text, m)
	return Angle(v), err
}

// Voltage reads a voltage.
func (m Manner) Voltage(text string) (Voltage, error) {
	v, err := voltages.read(text, m)
	return Voltage(v), err
}

// Current reads a current.
func (m Manner) Current(text string) (Current, error) {
	v, err := currents.read(text, m)
	return Current(v), err
}

// Power reads a power.
func (m Manner) Power(text string) (Power, error) {
	v, err := powers.read(text, m)
	return Power(v), err
}

// Energy reads an energy, or a charge with its voltage.
func (m Manner) Energy(text string) (Energy, error) {
	terms, err := scan(text, energies.example, m)
	if err != nil {
		return 0, err
	}
	c := &scanner{text: text, manner: m}
	if len(terms) == 2 {
		q, u := terms[0], terms[1]
		if _, ok := voltages.size(q.unit); ok {
			q, u = u, q
		}
		ah, okQ := charges.size(q.unit)
		volt, okU := voltages.size(u.unit)
		if !okQ || !okU {
			return 0, c.fail("an energy, such as "+energies.example, "")
		}
		e := q.value * ah * u.value * volt
		if !(math.Abs(e) <= largest) {
			return 0, c.fail("a number of ordinary size and a unit, such as "+energies.example, "")
		}
		return Energy(e), nil
	}
	v, err := energies.value(c, terms)
	return Energy(v), err
}

// Charge reads a charge.
func (m Manner) Charge(text string) (Charge, error) {
	v, err := charges.read(text, m)
	return Charge(v), err
}

// Resistance reads a resistance.
func (m Manner) Resistance(text string) (Resistance, error) {
	v, err := resistances.read(text, m)
	return Resistance(v), err
}

// Irradiance reads an irradiance.
func (m Manner) Irradiance(text string) (Irradiance, error) {
	v, err := irradiances.read(text, m)
	return Irradiance(v), err
}

// Irradiation reads an irradiation.
func (m Manner) Irradiation(text string) (Irradiation, error) {
	v, err := irradiations.read(text, m)
	return Irradiation(v), err
}

// Speed reads a speed.
func (m Manner) Speed(text string) (Speed, error) {
	v, err := speeds.read(text, m)
	return Speed(v), err
}

// Pressure reads a pressure.
func (m Manner) Pressure(text string) (Pressure, error) {
	v, err := pressures.read(text, m)
	return Pressure(v), err
}

// Force reads a force.
func (m Manner) Force(text string) (Force, error) {
	v, err := forces.read(text, m)
	return Force(v), err
}

// HeatTransfer reads a heat-transfer coefficient.
func (m Manner) HeatTransfer(text string) (HeatTransfer, error) {
	v, err := heatTransfers.read(text, m)
	return HeatTransfer(v), err
}

// PerKelvin reads a thermal expansion or a relative coefficient.
func (m Manner) PerKelvin(text string) (PerKelvin, error) {
	v, err := expansions.read(text, m)
	return PerKelvin(v), err
}

// Duration reads a span of time, at most a century.
func (m Manner) Duration(text string) (time.Duration, error) {
	v, err := durations.read(text, m)
	if err == nil && math.Abs(v) > 3.2e9 {
		err = &ParseError{Found: text, Want: "a span of less than a century"}
	}
	if err != nil {
		return 0, err
	}
	return time.Duration(math.Round(v * float64(time.Second))), nil
}

// one reads a text of one term.
func (m Manner) one(text, example string) (term, *scanner, error) {
	c := &scanner{text: text, manner: m, example: example}
	terms, err := scan(text, example, m)
	if err == nil && len(terms) > 1 {
		err = c.fail("one value, such as "+example, "")
	}
	if err != nil {
		return term{}, c, err
	}
	return terms[0], c, nil
}

// Ratio reads a ratio.
func (m Manner) Ratio(text string) (Ratio, error) {
	t, c, err := m.one(text, "80 % or 0.8")
	if err != nil {
		return 0, err
	}
	switch strings.ToLower(t.unit) {
	case "":
		if math.Abs(t.value) > 1 {
			return 0, c.fail("0 to 1, or a per cent sign", with(t, "%"))
		}
		return Ratio(t.value), nil
	case "%", "percent", "/cent", "pct", "pc":
		return Ratio(t.value / 100), nil
	}
	return 0, c.fail("a ratio, such as 80 % or 0.8", "")
}

// kelvinUnit names the scale of a temperature: C, F or K; "" when it is none.
func kelvinUnit(unit string) string {
	u := strings.ToUpper(strings.ReplaceAll(unit, "°", ""))
	for _, degrees := range []string{"DEGREES", "DEGREE", "DEG"} {
		u = strings.TrimPrefix(u, degrees)
	}
	switch u {
	case "C", "CELSIUS", "CENTIGRADE":
		return "C"
	case "F", "FAHRENHEIT":
		return "F"
	case "K", "KELVIN", "KELVINS":
		return "K"
	}
	return ""
}

// Temperature reads a temperature.
func (m Manner) Temperature(text string) (Temperature, error) {
	const example = "25 °C or 77 °F"
	d, c, err := m.one(text, example)
	if err != nil {
		return Temperature{}, err
	}
	var t Temperature
	switch kelvinUnit(d.unit) {
	case "C":
		t = Celsius(d.value)
	case "F":
		t = Fahrenheit(d.value)
	case "K":
		t = Kelvin(d.value)
	default:
		likely := ""
		if _, degrees := angles.size(d.unit); degrees || d.unit == "" {
			likely = with(d, "°C")
			if d.value > 60 {
				likely = with(d, "°F")
			}
		}
		return t, c.fail("a temperature with its scale, such as "+example, likely)
	}
	if t.kelvin < 0 {
		return Temperature{}, c.fail("a temperature above absolute zero", "")
	}
	return t, nil
}

// TempDiff reads a difference of temperatures.
func (m Manner) TempDiff(text string) (TempDiff, error) {
	d, c, err := m.one(text, "10 K or 18 °F")
	if err != nil {
		return 0, err
	}
	switch kelvinUnit(d.unit) {
	case "C", "K":
		return TempDiff(d.value), nil
	case "F":
		return TempDiff(d.value / 1.8), nil
	}
	return 0, c.fail("a difference of temperatures, such as 10 K or 18 °F", "")
}
