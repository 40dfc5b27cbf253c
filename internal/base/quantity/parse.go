package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// ParseError says why a text is no quantity.
type ParseError struct {
	Found  string // the text as written
	Want   string // what is wanted, one clause
	Likely string // the value most likely meant; may be empty
}

// Error returns the fault in one line.
func (e *ParseError) Error() string {
	s := fmt.Sprintf("%q: %s", e.Found, e.Want)
	if e.Likely != "" {
		s += "; most likely " + e.Likely
	}
	return s
}

// most is the largest magnitude read, in any unit: beyond it is a slip of the keyboard.
const most = 1e12

// longest is the longest text read.
const longest = 80

// tidy brings the many ways of typing a sign to one: minus, micro, ohm, degree, spaces, squares.
func tidy(s string) string {
	s = strings.Map(func(r rune) rune {
		switch r {
		case '−', '–':
			return '-'
		case '\u03bc': // mu for micro
			return 'µ'
		case '\u2126': // the ohm sign
			return '\u03a9'
		case 'º', '˚':
			return '°'
		case '\u00a0', '\u202f', '\u2009', '\t':
			return ' '
		case '′', '’':
			return '\''
		case '″', '”', '“':
			return '"'
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// split divides a text into its number and its unit. A decimal comma, thousands marks and fractions
// are told apart from numbers.
func split(text, example string) (value float64, unit string, err error) {
	fail := func(want, likely string) (float64, string, error) {
		return 0, "", &ParseError{Found: text, Want: want, Likely: likely}
	}
	if len(text) > longest {
		return 0, "", &ParseError{Found: text[:20] + "…", Want: "a number and a unit, such as " + example}
	}
	s := tidy(text)
	end := 0
	for end < len(s) && strings.IndexByte("0123456789.,+-eE", s[end]) >= 0 {
		if (s[end] == 'e' || s[end] == 'E') && !(end+1 < len(s) && strings.IndexByte("0123456789+-", s[end+1]) >= 0) {
			break
		}
		end++
	}
	number, unit := s[:end], strings.TrimSpace(s[end:])
	if number == "" {
		return fail("a number and a unit, such as "+example, "")
	}
	if strings.Contains(number, ",") {
		point := strings.Replace(number, ",", ".", 1)
		if _, err := strconv.ParseFloat(point, 64); err == nil {
			return fail("a decimal point, not a comma", strings.TrimSpace(point+" "+unit))
		}
		return fail("a number without thousands marks", "")
	}
	v, perr := strconv.ParseFloat(number, 64)
	if perr != nil || math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > most {
		return fail("a number of ordinary size and a unit, such as "+example, "")
	}
	if strings.HasPrefix(unit, "1/") || strings.Contains(unit, "/") && unit[0] >= '0' && unit[0] <= '9' {
		var frac string
		frac, unit, _ = strings.Cut(unit, " ")
		top, bottom, _ := strings.Cut(frac, "/")
		a, e1 := strconv.ParseFloat(top, 64)
		b, e2 := strconv.ParseFloat(bottom, 64)
		if e1 != nil || e2 != nil || b <= 0 || a < 0 || a >= b {
			return fail("a fraction such as 41 1/2 in", "")
		}
		v += math.Copysign(a/b, v)
	}
	return v, unit, nil
}

// unitTable is the spellings of a quantity's units and their size in the coherent unit.
type unitTable struct {
	example string
	noun    string
	sizes   map[string]float64
	ask     map[string]string // spellings that mean something else: what to ask
}

// read parses a text by the table. Case counts where two units differ by it, else it does not.
func (u *unitTable) read(text string) (float64, error) {
	v, unit, err := split(text, u.example)
	if err != nil {
		return 0, err
	}
	if unit == "" {
		return 0, &ParseError{Found: text, Want: "a unit after the number, such as " + u.example}
	}
	unit = strings.Join(strings.Fields(unit), " ")
	if size, ok := u.sizes[unit]; ok {
		return v * size, nil
	}
	if why, ok := u.ask[strings.ToLower(unit)]; ok {
		want, likely, _ := strings.Cut(why, "|")
		if likely != "" {
			likely = fmt.Sprintf("%s %s", trim(v), likely)
		}
		return 0, &ParseError{Found: text, Want: want, Likely: likely}
	}
	for name, size := range u.sizes {
		if strings.EqualFold(name, unit) && !ambiguous[strings.ToLower(unit)] {
			return v * size, nil
		}
	}
	return 0, &ParseError{Found: text, Want: fmt.Sprintf("a %s, such as %s", u.noun, u.example)}
}

// ambiguous are units whose case tells them apart: milli from mega.
var ambiguous = map[string]bool{"mw": true, "mwh": true, "mpa": true, "mohm": true}

// trim prints a number shortly.
func trim(v float64) string { return strconv.FormatFloat(v, 'g', 10, 64) }

var (
	lengthUnits = unitTable{example: "41 in or 1041 mm", noun: "length", sizes: map[string]float64{
		"m": 1, "metre": 1, "metres": 1, "meter": 1, "meters": 1, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "in": 0.0254, "inch": 0.0254,
		"inches": 0.0254, `"`: 0.0254, "ft": 0.3048, "foot": 0.3048, "feet": 0.3048, "'": 0.3048, "mi": 1609.344, "mile": 1609.344, "miles": 1609.344, "yd": 0.9144}}
	areaUnits = unitTable{example: "4 mm², AWG 10 or 0.6 m²", noun: "area", sizes: map[string]float64{
		"mm²": 1e-6, "mm2": 1e-6, "mm^2": 1e-6, "sq mm": 1e-6, "cm²": 1e-4, "cm2": 1e-4, "m²": 1, "m2": 1, "m^2": 1, "in²": 0.0254 * 0.0254,
		"in2": 0.0254 * 0.0254, "sq in": 0.0254 * 0.0254, "ft²": 0.3048 * 0.3048, "ft2": 0.3048 * 0.3048, "sq ft": 0.3048 * 0.3048},
		ask: map[string]string{"mm": "mm² of copper, since mm alone may be the outside diameter of the cable (4 mm across holds about 1.8 mm²)|mm² if copper area is meant"}}
	massUnits = unitTable{example: "2.6 kg or 6.2 lb", noun: "mass", sizes: map[string]float64{
		"kg": 1, "g": 1e-3, "lb": 0.45359237, "lbs": 0.45359237, "pound": 0.45359237, "pounds": 0.45359237, "oz": 0.028349523125, "t": 1000}}
	angleUnits = unitTable{example: "30° or 30 deg", noun: "angle", sizes: map[string]float64{
		"°": math.Pi / 180, "deg": math.Pi / 180, "degree": math.Pi / 180, "degrees": math.Pi / 180, "rad": 1}}
	voltageUnits = unitTable{example: "12.8 V", noun: "voltage", sizes: map[string]float64{"V": 1, "mV": 1e-3, "kV": 1e3, "volt": 1, "volts": 1, "Vdc": 1}}
	currentUnits = unitTable{example: "5.1 A", noun: "current", sizes: map[string]float64{"A": 1, "mA": 1e-3, "amp": 1, "amps": 1, "ampere": 1, "amperes": 1},
		ask: map[string]string{"amps per hour": "amperes, or ampere-hours for a charge|A", "a/h": "amperes, or ampere-hours (Ah) for a charge|A", "ah": "amperes; ampere-hours are a charge"}}
	powerUnits = unitTable{example: "110 W", noun: "power", sizes: map[string]float64{"W": 1, "kW": 1e3, "mW": 1e-3, "MW": 1e6, "Wp": 1, "kWp": 1e3, "watt": 1, "watts": 1, "hp": 745.6998715822702},
		ask: map[string]string{"w/h": "watts; watts per hour mean nothing here|W", "kw/h": "kilowatts; per hour means nothing here|kW", "kw/hr": "kilowatts; per hour means nothing here|kW", "w/hr": "watts; per hour means nothing here|W", "wh": "watts; watt-hours are an energy"}}
	energyUnits = unitTable{example: "1280 Wh, or 100 Ah at 12.8 V", noun: "energy", sizes: map[string]float64{"Wh": 3600, "kWh": 3.6e6, "MWh": 3.6e9, "J": 1, "kJ": 1e3, "MJ": 1e6, "Wh/day": 3600, "kWh/day": 3.6e6},
		ask: map[string]string{"w/h": "watt-hours|Wh", "w/hr": "watt-hours|Wh", "watt/hour": "watt-hours|Wh", "kw/h": "kilowatt-hours|kWh", "kw/hr": "kilowatt-hours|kWh", "w": "watt-hours; watts are a power",
			"ah": "watt-hours, or say at which voltage: 100 Ah at 12.8 V"}}
	chargeUnits      = unitTable{example: "100 Ah", noun: "charge", sizes: map[string]float64{"Ah": 3600, "mAh": 3.6, "C": 1}, ask: map[string]string{"a/h": "ampere-hours|Ah", "amps per hour": "ampere-hours|Ah"}}
	resistanceUnits  = unitTable{example: "12 mΩ", noun: "resistance", sizes: map[string]float64{"Ω": 1, "ohm": 1, "ohms": 1, "mΩ": 1e-3, "mohm": 1e-3, "kΩ": 1e3, "MΩ": 1e6, "Mohm": 1e6}}
	irradianceUnits  = unitTable{example: "800 W/m²", noun: "irradiance", sizes: map[string]float64{"W/m²": 1, "W/m2": 1, "W/m^2": 1, "kW/m²": 1e3, "kW/m2": 1e3}}
	irradiationUnits = unitTable{example: "5.2 kWh/m²", noun: "irradiation", sizes: map[string]float64{"kWh/m²": 3.6e6, "kWh/m2": 3.6e6, "Wh/m²": 3600, "Wh/m2": 3600, "MJ/m²": 1e6, "MJ/m2": 1e6}}
	speedUnits       = unitTable{example: "90 km/h or 55 mph", noun: "speed", sizes: map[string]float64{"m/s": 1, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": 0.44704, "kn": 1852.0 / 3600, "kt": 1852.0 / 3600, "knots": 1852.0 / 3600}}
	pressureUnits    = unitTable{example: "1013 hPa", noun: "pressure", sizes: map[string]float64{"Pa": 1, "hPa": 100, "kPa": 1e3, "MPa": 1e6, "mbar": 100, "mb": 100, "bar": 1e5, "psi": 6894.757293168}}
	timeUnits        = unitTable{example: "2 h or 10 min", noun: "time", sizes: map[string]float64{"s": 1, "sec": 1, "min": 60, "h": 3600, "hour": 3600, "hours": 3600, "d": 86400, "day": 86400, "days": 86400}}
	heatUnits        = unitTable{example: "16 W/(m²·K)", noun: "heat-transfer coefficient", sizes: map[string]float64{"W/(m²·K)": 1, "W/m²K": 1, "W/m2K": 1, "W/(m²K)": 1, "W/(m2 K)": 1}}
)

// ParseLength reads a length: "1.9 m", "41.5 in", "41 1/2 in", "5' 6\"", "3 ft 5 in".
func ParseLength(text string) (Length, error) {
	s := tidy(text)
	for _, foot := range []string{"'", "ft", "feet", "foot"} {
		a, b, ok := strings.Cut(s, foot)
		b = strings.TrimSpace(b)
		if !ok || b == "" || strings.HasPrefix(b, "²") || len(text) > longest {
			continue
		}
		feet, err1 := lengthUnits.read(a + " ft")
		if strings.HasSuffix(b, "''") {
			b = strings.TrimSuffix(b, "''") + `"`
		}
		if last := b[len(b)-1]; last >= '0' && last <= '9' {
			b += " in"
		}
		inches, err2 := lengthUnits.read(b)
		if err1 != nil || err2 != nil || inches < 0 || inches >= 12*0.0254 {
			return 0, &ParseError{Found: text, Want: `feet and inches, such as 5' 6" or 3 ft 5 in`}
		}
		return Length(feet + math.Copysign(inches, feet)), nil
	}
	v, err := lengthUnits.read(text)
	return Length(v), err
}

// ParseArea reads an area, or the size of a conductor: "4 mm²", "AWG 10", "10 AWG", "2/0 AWG".
func ParseArea(text string) (Area, error) {
	s := strings.ToUpper(tidy(text))
	if strings.Contains(s, "AWG") || strings.Contains(s, "B&S") || strings.HasSuffix(s, " GA") {
		n := strings.TrimSpace(strings.NewReplacer("AWG", "", "B&S", "", "#", "", " GA", "").Replace(s))
		gauge, ok := gauges[n]
		if !ok {
			i, err := strconv.Atoi(n)
			if err != nil || i < 0 || i > 40 {
				return 0, &ParseError{Found: text, Want: "a gauge from 4/0 to 40, such as AWG 10"}
			}
			gauge = i
		}
		// d = 0.127 mm · 92^((36-n)/39). Source: ASTM B258, exact by definition.
		d := 0.127 * math.Pow(92, float64(36-gauge)/39)
		return Area(math.Pi / 4 * d * d * 1e-6), nil
	}
	v, err := areaUnits.read(text)
	return Area(v), err
}

// gauges are the sizes above gauge 1, by their names.
var gauges = map[string]int{"0": 0, "1/0": 0, "00": -1, "2/0": -1, "000": -2, "3/0": -2, "0000": -3, "4/0": -3}

// ParseMass reads a mass: "2.6 kg", "6.2 lb".
func ParseMass(text string) (Mass, error) { v, err := massUnits.read(text); return Mass(v), err }

// ParseAngle reads an angle: "12°", "12 deg", "0.2 rad".
func ParseAngle(text string) (Angle, error) { v, err := angleUnits.read(text); return Angle(v), err }

// ParseVoltage reads a voltage: "21.9 V".
func ParseVoltage(text string) (Voltage, error) {
	v, err := voltageUnits.read(text)
	return Voltage(v), err
}

// ParseCurrent reads a current: "5.1 A", "900 mA".
func ParseCurrent(text string) (Current, error) {
	v, err := currentUnits.read(text)
	return Current(v), err
}

// ParsePower reads a power: "110 W".
func ParsePower(text string) (Power, error) { v, err := powerUnits.read(text); return Power(v), err }

// ParseEnergy reads an energy: "1280 Wh", "1.28 kWh", "100 Ah at 12.8 V".
func ParseEnergy(text string) (Energy, error) {
	if a, b, ok := strings.Cut(tidy(text), " at "); ok && len(text) <= longest {
		q, err := ParseCharge(a)
		if err != nil {
			return 0, err
		}
		u, err := ParseVoltage(b)
		if err != nil {
			return 0, err
		}
		return Energy(q.Coulombs() * u.Volts()), nil
	}
	v, err := energyUnits.read(text)
	return Energy(v), err
}

// ParseCharge reads a charge: "100 Ah".
func ParseCharge(text string) (Charge, error) {
	v, err := chargeUnits.read(text)
	return Charge(v), err
}

// ParseResistance reads a resistance: "12 mΩ".
func ParseResistance(text string) (Resistance, error) {
	v, err := resistanceUnits.read(text)
	return Resistance(v), err
}

// ParseIrradiance reads an irradiance: "800 W/m²".
func ParseIrradiance(text string) (Irradiance, error) {
	v, err := irradianceUnits.read(text)
	return Irradiance(v), err
}

// ParseIrradiation reads an irradiation: "5.2 kWh/m²".
func ParseIrradiation(text string) (Irradiation, error) {
	v, err := irradiationUnits.read(text)
	return Irradiation(v), err
}

// ParseSpeed reads a speed: "90 km/h", "55 mph", "2 m/s".
func ParseSpeed(text string) (Speed, error) { v, err := speedUnits.read(text); return Speed(v), err }

// ParsePressure reads a pressure: "1013 hPa".
func ParsePressure(text string) (Pressure, error) {
	v, err := pressureUnits.read(text)
	return Pressure(v), err
}

// ParseHeatTransfer reads a heat-transfer coefficient: "16 W/(m²·K)".
func ParseHeatTransfer(text string) (HeatTransfer, error) {
	v, err := heatUnits.read(text)
	return HeatTransfer(v), err
}

// ParseDuration reads a time span: "2 h", "10 min", "3 d".
func ParseDuration(text string) (time.Duration, error) {
	v, err := timeUnits.read(text)
	if err == nil && math.Abs(v) > 3.2e9 {
		err = &ParseError{Found: text, Want: "a span of less than a century"}
	}
	if err != nil {
		return 0, err
	}
	return time.Duration(v * float64(time.Second)), nil
}

// ParseRatio reads a ratio: "80 %", "0.8". It does not bound it.
func ParseRatio(text string) (Ratio, error) {
	v, unit, err := split(text, "80 % or 0.8")
	if err != nil {
		return 0, err
	}
	switch strings.ToLower(unit) {
	case "":
		if math.Abs(v) > 1 {
			return 0, &ParseError{Found: text, Want: "0 to 1, or a per cent sign", Likely: trim(v) + " %"}
		}
		return Ratio(v), nil
	case "%", "percent", "per cent":
		return Ratio(v / 100), nil
	}
	return 0, &ParseError{Found: text, Want: "a ratio, such as 80 % or 0.8"}
}

// kelvinUnit names the unit of a temperature: C, F or K; "" when it is none.
func kelvinUnit(unit string) string {
	u := strings.ToUpper(strings.NewReplacer("°", "", " ", "", "deg", "", "Deg", "", "DEG", "").Replace(unit))
	switch u {
	case "C", "CELSIUS":
		return "C"
	case "F", "FAHRENHEIT":
		return "F"
	case "K", "KELVIN":
		return "K"
	}
	return ""
}

// ParseTemperature reads a temperature: "25 °C", "104 °F", "298 K". Below absolute zero is a fault.
func ParseTemperature(text string) (Temperature, error) {
	v, unit, err := split(text, "25 °C or 77 °F")
	if err != nil {
		return Temperature{}, err
	}
	var t Temperature
	switch kelvinUnit(unit) {
	case "C":
		t = Celsius(v)
	case "F":
		t = Fahrenheit(v)
	case "K":
		t = Kelvin(v)
	default:
		return t, &ParseError{Found: text, Want: "a temperature with its scale, such as 25 °C or 77 °F"}
	}
	if t.kelvin < 0 {
		return Temperature{}, &ParseError{Found: text, Want: "a temperature above absolute zero"}
	}
	return t, nil
}

// ParseTempDiff reads a difference of temperatures: "10 K", "18 °F" (a difference: 10 K).
func ParseTempDiff(text string) (TempDiff, error) {
	v, unit, err := split(text, "10 K")
	if err != nil {
		return 0, err
	}
	switch kelvinUnit(unit) {
	case "C", "K":
		return TempDiff(v), nil
	case "F":
		return TempDiff(v / 1.8), nil
	}
	return 0, &ParseError{Found: text, Want: "a difference of temperatures, such as 10 K or 18 °F"}
}

// Coefficient is a temperature coefficient as a label has it: relative, or in the unit of its quantity.
type Coefficient struct {
	value    float64 // 1/K, or coherent unit per K
	absolute bool
}

// Per returns the relative coefficient k.
func Per(k PerKelvin) Coefficient { return Coefficient{value: float64(k)} }

// Relative returns the coefficient relative to a reference in the coherent unit, the label's volts,
// amperes or watts at 25 °C. It panics on an absolute coefficient with a reference that is not above 0.
func (c Coefficient) Relative(reference float64) PerKelvin {
	if !c.absolute {
		return PerKelvin(c.value)
	}
	if !(reference > 0) {
		panic("quantity: coefficient without a reference")
	}
	return PerKelvin(c.value / reference)
}

// ParseCoefficient reads a temperature coefficient: "-0.36 %/K", "-0.2 %/°F", "-62 mV/K", "+2.1 mA/°C".
func ParseCoefficient(text string) (Coefficient, error) {
	v, unit, err := split(text, "-0.36 %/K")
	if err != nil {
		return Coefficient{}, err
	}
	top, bottom, ok := strings.Cut(strings.ReplaceAll(unit, " ", ""), "/")
	scale := map[string]float64{"C": 1, "K": 1, "F": 1.8}[kelvinUnit(bottom)]
	size, known := map[string]Coefficient{"%": {0.01, false}, "ppm": {1e-6, false}, "mV": {1e-3, true}, "V": {1, true}, "mA": {1e-3, true},
		"A": {1, true}, "W": {1, true}, "mW": {1e-3, true}}[top]
	if !ok || scale == 0 || !known {
		likely := ""
		if unit == "%" {
			likely = trim(v) + " %/K"
		}
		return Coefficient{}, &ParseError{Found: text, Want: "a coefficient per degree, such as -0.36 %/K, -62 mV/K or -0.2 %/°F", Likely: likely}
	}
	return Coefficient{value: v * size.value * scale, absolute: size.absolute}, nil
}
