package quantity

import (
	"math"
	"slices"
	"strings"
)

// unit is a size in the coherent unit and its spellings, as plain gives them, divided by spaces.
type unit struct {
	size  float64
	names string
}

// question is a spelling that does not mean what the field holds: what to ask, and the unit most
// likely meant.
type question struct{ names, want, likely string }

// dimension is a quantity as it is read.
type dimension struct {
	noun    string // with its article
	example string
	units   []unit
	ask     []question
}

// perHour are spellings of "per hour".
var perHour = []string{"/h", "/hr", "/hrs", "/hour", "/hours"}

// Exact: international inch, foot, mile, pound (1959), knot by the nautical mile of 1852 m.
// Source: NIST SP 811 (2008), appendix B.
var (
	lengths = &dimension{"a length", "41 in or 1041 mm", []unit{
		{1, "m metre metres meter meters"}, {1e-3, "mm millimetre millimetres millimeter millimeters"}, {1e-2, "cm"}, {1e-6, "µm um micron microns"}, {1e3, "km"},
		{0.0254, `in inch inches "`}, {0.3048, "ft foot feet '"}, {0.9144, "yd yard yards"}, {1609.344, "mi mile miles"}, {2.54e-5, "mil mils"}}, nil}
	areas = &dimension{"an area", "4 mm², AWG 10 or 0.6 m²", []unit{
		{1, "m2 sqm squaremetres squaremeters"}, {1e-6, "mm2 sqmm qmm"}, {1e-4, "cm2 sqcm"}, {0.0254 * 0.0254, "in2 sqin"}, {0.3048 * 0.3048, "ft2 sqft"},
		{math.Pi / 4 * 2.54e-5 * 2.54e-5, "cmil circularmils"}, {1e3 * math.Pi / 4 * 2.54e-5 * 2.54e-5, "kcmil MCM"}},
		[]question{{"mm", "mm² of copper, or the gauge: mm alone may be the outside diameter of the cable (4 mm across its sheath holds about 1.8 mm²)", "mm²"},
			{"m", "an area in m² or mm²", "m²"}}}
	volumes = &dimension{"a volume", "310 ml", []unit{{1, "m3"}, {1e-3, "l L litre litres liter liters"}, {1e-6, "ml mL cm3 cc"}, {2.95735295625e-5, "floz"}}, nil}
	masses  = &dimension{"a mass", "2.6 kg or 6.2 lb", []unit{
		{1, "kg kilo kilos"}, {1e-3, "g gram grams"}, {0.45359237, "lb lbs pound pounds"}, {0.45359237 / 16, "oz ounce ounces"}, {1000, "t tonne tonnes"}}, nil}
	angles = &dimension{"an angle", "30° or 30 deg", []unit{
		{math.Pi / 180, "° deg degs degree degrees"}, {math.Pi / 180 / 60, "' arcmin"}, {math.Pi / 180 / 3600, `" arcsec`}, {1, "rad radians"}}, nil}
	voltages = &dimension{"a voltage", "12.8 V", []unit{{1, "V volt volts Vdc VDC"}, {1e-3, "mV"}, {1e3, "kV"}}, nil}
	currents = &dimension{"a current", "5.1 A", []unit{{1, "A amp amps ampere amperes Adc ADC"}, {1e-3, "mA"}, {1e-6, "µA uA"}, {1e3, "kA"}},
		[]question{{"Ah amphours amp-hours", "a current in amperes; ampere-hours are a charge", ""}}}
	powers = &dimension{"a power", "110 W", []unit{
		{1, "W watt watts Wp VA"}, {1e3, "kW kWp kilowatt kilowatts kVA"}, {1e-3, "mW"}, {1e6, "MW"}, {745.69987158227, "hp"},
		{3600.0 / 86400, "Wh/day Wh/d"}, {3.6e6 / 86400, "kWh/day kWh/d"}},
		[]question{{"Wh kWh watthours watt-hours", "a power in watts; watt-hours are an energy", ""}}}
	energies = &dimension{"an energy", "1280 Wh, or 100 Ah at 12.8 V", []unit{
		{3600, "Wh watthour watthours watt-hour watt-hours Wh/day Wh/d"}, {3.6e6, "kWh kilowatthours kilowatt-hours kWh/day kWh/d"}, {3.6e9, "MWh"}, {3.6, "mWh"},
		{1, "J joule joules Ws"}, {1e3, "kJ"}, {1e6, "MJ"}},
		[]question{{"Ah amphours amp-hours mAh", "an energy in Wh, or the voltage beside the ampere-hours, such as 100 Ah at 12.8 V", ""},
			{"W kW watts", "an energy in watt-hours; watts are a power", ""}}}
	charges = &dimension{"a charge", "100 Ah", []unit{{3600, "Ah amphours amp-hours amphour amp-hour amperehours ampere-hours"}, {3.6, "mAh"}, {1, "C coulomb coulombs As"}},
		[]question{{"A amps", "a charge in ampere-hours; amperes are a current", ""}, {"Wh kWh", "a charge in ampere-hours; watt-hours are an energy", ""}}}
	resistances  = &dimension{"a resistance", "12 mΩ", []unit{{1, "\u03a9 ohm ohms"}, {1e-3, "m\u03a9 mohm milliohm milliohms"}, {1e-6, "µ\u03a9"}, {1e3, "k\u03a9 kohm"}, {1e6, "M\u03a9 Mohm"}}, nil}
	irradiances  = &dimension{"an irradiance", "800 W/m²", []unit{{1, "W/m2 Wm-2"}, {1e3, "kW/m2 kWm-2"}, {10, "mW/cm2"}}, []question{{"W", "an irradiance in W/m²", "W/m²"}}}
	irradiations = &dimension{"an irradiation", "5.2 kWh/m²", []unit{{3.6e6, "kWh/m2 kWh/m2/day kWh/m2/d kWhm-2"}, {3600, "Wh/m2 Wh/m2/day Wh/m2/d Whm-2"},
		{1e6, "MJ/m2 MJ/m2/day MJ/m2/d MJm-2"}, {1, "J/m2"}}, nil}
	speeds = &dimension{"a speed", "90 km/h or 55 mph", []unit{
		{1, "m/s ms-1 m/sec"}, {1 / 3.6, "km/h kmh kph kmph km/hr"}, {0.44704, "mph MPH mi/h mi/hr"}, {1852.0 / 3600, "kn kt kts knot knots"}, {0.3048, "ft/s"}}, nil}
	pressures = &dimension{"a pressure", "1013 hPa", []unit{
		{1, "Pa N/m2"}, {100, "hPa mbar mb"}, {1e3, "kPa"}, {1e6, "MPa N/mm2"}, {1e5, "bar"}, {6894.757293168, "psi"}, {3386.389, "inHg"}, {133.322387415, "mmHg"}}, nil}
	forces        = &dimension{"a force", "250 N", []unit{{1, "N newton newtons"}, {1e3, "kN"}, {10, "daN"}, {9.80665, "kgf"}, {4.4482216152605, "lbf"}}, nil}
	durations     = &dimension{"a time", "2 h or 10 min", []unit{{1, "s sec secs second seconds"}, {60, "min mins minute minutes"}, {3600, "h hr hrs hour hours"}, {86400, "d day days"}, {7 * 86400, "wk week weeks"}}, []question{{"m", "min for minutes", "min"}, {"month months mo year years yr y", "days or weeks, since months and years differ in length", ""}}}
	heatTransfers = &dimension{"a heat-transfer coefficient", "16 W/(m²·K)", []unit{
		{1, "W/m2K W/m2/K W/m2°C W/m2C W/m2/°C Wm-2K-1"}, {5.678263341113488, "BTU/hft2°F BTU/hrft2°F Btu/hft2°F"}}, nil}
	expansions = &dimension{"a change per kelvin", "23 ppm/K or -0.36 %/K", []unit{
		{1, "/K /°C /C K-1 /degC"}, {1e-6, "ppm/K ppm/°C ppm/C ppm/degC µm/mK um/mK µm/m/K µm/m°C µm/m/°C"}, {0.01, "%/K %/°C %/C %/degC %K-1"},
		{1.8e-6, "ppm/°F µin/in°F µin/in/°F"}, {1.8, "/°F /F"}, {0.018, "%/°F %/F %/degF"}}, nil}
)

// everything is each dimension, to name the one a wrong unit belongs to.
var everything = []*dimension{lengths, areas, volumes, masses, voltages, currents, powers, energies, charges, resistances, irradiances, irradiations,
	speeds, pressures, forces, durations, heatTransfers, expansions, angles}

// has reports whether a list of spellings holds one.
func has(names, name string) bool {
	return name != "" && slices.Contains(strings.Fields(names), name)
}

// sameButCase reports whether a spelling differs from one of a list only in its case, where the case
// does not tell milli from mega.
func sameButCase(names, name string) bool {
	for _, n := range strings.Fields(names) {
		if strings.EqualFold(n, name) && (len(n) > 4 || (n[0] == 'm') == (name[0] == 'm') && (n[0] == 'M') == (name[0] == 'M')) {
			return true
		}
	}
	return false
}

// size returns the size of a spelling of a unit; ok is false when the dimension has none.
func (d *dimension) size(name string) (size float64, ok bool) {
	if name == "" {
		return 0, false
	}
	for _, u := range d.units {
		if has(u.names, name) {
			return u.size, true
		}
	}
	found, folds := 0, 0
	for _, u := range d.units {
		if sameButCase(u.names, name) {
			size = u.size
			found++
		}
		if strings.Contains(strings.ToLower(" "+u.names+" "), " "+strings.ToLower(name)+" ") {
			folds++ // mW and MW
		}
	}
	if found != 1 || folds != 1 {
		return 0, false
	}
	return size, true
}

// unknown says what to ask when a term's unit is none of the dimension's.
func (c *scanner) unknown(d *dimension, t term) error {
	if t.unit == "" {
		return c.fail("a unit after the number, such as "+d.example, "")
	}
	for _, q := range d.ask {
		if has(q.names, t.unit) || sameButCase(q.names, t.unit) {
			return c.fail(q.want, with(t, q.likely))
		}
	}
	for _, end := range perHour { // "W/h": a rate of a rate
		base, ok := strings.CutSuffix(strings.ToLower(t.unit), end)
		if !ok {
			continue
		}
		_, power := powers.size(base)
		_, current := currents.size(base)
		kilo := ""
		if strings.HasPrefix(base, "k") {
			kilo = "k"
		}
		switch {
		case power && (d == energies || d == charges):
			return c.fail("watt-hours (Wh) for an energy: watts are already a rate", with(t, kilo+"Wh"))
		case power:
			return c.fail("watts (W) for a power: watts are already a rate", with(t, kilo+"W"))
		case current && (d == charges || d == energies):
			return c.fail("ampere-hours (Ah) for a charge: amperes are already a rate", with(t, "Ah"))
		case current:
			return c.fail("amperes (A) for a current: amperes are already a rate", with(t, "A"))
		}
	}
	for _, u := range d.units { // milli written as mega, or the like
		for _, n := range strings.Fields(u.names) {
			if strings.EqualFold(n, t.unit) {
				return c.fail(d.noun+" with its unit in the right case, such as "+d.example, with(t, n))
			}
		}
	}
	for _, other := range everything {
		if _, ok := other.size(t.unit); ok && other != d {
			return c.fail(d.noun+", such as "+d.example+"; "+t.raw+" is a unit of "+other.noun, "")
		}
	}
	return c.fail(d.noun+", such as "+d.example, "")
}

// with prints a term's number with another unit.
func with(t term, unit string) string {
	if unit == "" {
		return ""
	}
	return t.digits + " " + unit
}

// largest is the largest magnitude in a coherent unit that is read.
const largest = 1e15

// read reads a text of a dimension: one value, or one of descending units ("5 ft 6 in").
func (d *dimension) read(text string, m Manner) (float64, error) {
	terms, err := scan(text, d.example, m)
	if err != nil {
		return 0, err
	}
	c := &scanner{text: text, manner: m}
	return d.value(c, terms)
}

func (d *dimension) value(c *scanner, terms []term) (float64, error) {
	sum, last, sign := 0.0, math.Inf(1), 1.0
	for i, t := range terms {
		size, ok := d.size(t.unit)
		if i > 0 && t.unit == "" && d == lengths && last == 0.3048 {
			size, ok = 0.0254, true // 5' 6
		}
		if i > 0 && t.unit == "" && !ok && i == len(terms)-1 && d == durations {
			return 0, c.fail("a unit after each number, such as 2 h 30 min", "")
		}
		if !ok {
			return 0, c.unknown(d, t)
		}
		v := t.value
		if i == 0 && math.Signbit(v) {
			sign = -1
			v = -v
		}
		if i > 0 && (math.Signbit(v) || size >= last || !(v*size < last) || !compound(d) || terms[i-1].value != math.Trunc(terms[i-1].value)) {
			return 0, c.fail("one value, such as "+d.example, "")
		}
		sum += v * size
		last = size
	}
	if !(sum <= largest) {
		return 0, c.fail("a number of ordinary size and a unit, such as "+d.example, "")
	}
	if sum == 0 {
		return 0, nil
	}
	return sign * sum, nil
}

// compound reports whether a quantity is written in several units.
func compound(d *dimension) bool {
	return d == lengths || d == masses || d == angles || d == durations
}
