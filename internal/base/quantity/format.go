package quantity

import (
	"math"
	"strconv"
)

// System is a family of units to print in.
type System int

const (
	Metric System = iota
	Imperial
)

// Style is how a quantity prints. The zero value is metric with at most 10 significant digits.
type Style struct {
	System System
	Digits int // significant, at most; 0: 10
}

// number prints v with at most digits significant digits and no trailing zeros, without an exponent
// where that is readable. Digits outside 1 to 10 mean 10.
func number(v float64, digits int) string {
	if digits < 1 || digits > 10 {
		digits = 10
	}
	s := strconv.FormatFloat(v, 'g', digits, 64)
	f, err := strconv.ParseFloat(s, 64)
	switch a := math.Abs(f); {
	case err != nil:
		return s
	case a == 0:
		return "0"
	case a >= 1e-4 && a < 1e10:
		return strconv.FormatFloat(f, 'f', -1, 64)
	}
	return s
}

// part is a unit for values of at least from in the coherent unit.
type part struct {
	from, size float64
	unit       string
}

// pick prints v by the first part it reaches; the last part takes the rest.
func (s Style) pick(v float64, parts ...part) string {
	for _, p := range parts[:len(parts)-1] {
		if math.Abs(v) >= p.from {
			return number(v/p.size, s.Digits) + " " + p.unit
		}
	}
	last := parts[len(parts)-1]
	return number(v/last.size, s.Digits) + " " + last.unit
}

func (s Style) choose(v float64, metric, imperial []part) string {
	if s.System == Imperial {
		return s.pick(v, imperial...)
	}
	return s.pick(v, metric...)
}

// Text prints a length in metres, under one metre in millimetres, or in miles, feet above ten, and
// inches.
func (l Length) Text(s Style) string {
	return s.choose(float64(l), []part{{1e4, 1e3, "km"}, {1, 1, "m"}, {0, 1e-3, "mm"}}, []part{{1609.344, 1609.344, "mi"}, {3.048, 0.3048, "ft"}, {0, 0.0254, "in"}})
}

// Text prints an area in m², under a hundredth of one in mm², as conductors are sold everywhere but
// by gauge.
func (a Area) Text(s Style) string {
	return s.choose(float64(a), []part{{0.01, 1, "m²"}, {0, 1e-6, "mm²"}}, []part{{0.01, 0.3048 * 0.3048, "ft²"}, {0, 1e-6, "mm²"}})
}

// Text prints a volume in litres, under one in millilitres.
func (v Volume) Text(s Style) string {
	return s.choose(float64(v), []part{{1e-3, 1e-3, "l"}, {0, 1e-6, "ml"}}, []part{{0, 2.95735295625e-5, "fl oz"}})
}

// Text prints a mass in kilograms or pounds.
func (m Mass) Text(s Style) string {
	return s.choose(float64(m), []part{{0, 1, "kg"}}, []part{{0, 0.45359237, "lb"}})
}

// Text prints a speed in km/h or mph.
func (v Speed) Text(s Style) string {
	return s.choose(float64(v), []part{{0, 1 / 3.6, "km/h"}}, []part{{0, 0.44704, "mph"}})
}

// Text prints a temperature in °C or °F.
func (t Temperature) Text(s Style) string {
	if s.System == Imperial {
		return number(t.Fahrenheit(), s.Digits) + " °F"
	}
	return number(t.Celsius(), s.Digits) + " °C"
}

// Text prints a difference of temperatures in K or °F.
func (d TempDiff) Text(s Style) string {
	return s.choose(float64(d), []part{{0, 1, "K"}}, []part{{0, 1 / 1.8, "°F"}})
}

// Text prints a relative coefficient in %/K, a small one such as an expansion in ppm/K.
func (k PerKelvin) Text(s Style) string {
	if k != 0 && math.Abs(float64(k)) < 5e-5 {
		return s.choose(float64(k), []part{{0, 1e-6, "ppm/K"}}, []part{{0, 1.8e-6, "ppm/°F"}})
	}
	return s.choose(float64(k), []part{{0, 0.01, "%/K"}}, []part{{0, 0.018, "%/°F"}})
}

// The rest print in one unit everywhere.

func (a Angle) Text(s Style) string        { return number(a.Degrees(), s.Digits) + "°" }
func (r Ratio) Text(s Style) string        { return number(r.Percent(), s.Digits) + " %" }
func (v Voltage) Text(s Style) string      { return number(float64(v), s.Digits) + " V" }
func (i Current) Text(s Style) string      { return number(float64(i), s.Digits) + " A" }
func (p Power) Text(s Style) string        { return number(float64(p), s.Digits) + " W" }
func (e Energy) Text(s Style) string       { return number(e.WattHours(), s.Digits) + " Wh" }
func (q Charge) Text(s Style) string       { return number(q.AmpereHours(), s.Digits) + " Ah" }
func (g Irradiance) Text(s Style) string   { return number(float64(g), s.Digits) + " W/m²" }
func (p Pressure) Text(s Style) string     { return number(p.Hectopascals(), s.Digits) + " hPa" }
func (f Force) Text(s Style) string        { return number(float64(f), s.Digits) + " N" }
func (h HeatTransfer) Text(s Style) string { return number(float64(h), s.Digits) + " W/(m²·K)" }
func (h Irradiation) Text(s Style) string {
	return number(h.KilowattHoursPerSquareMetre(), s.Digits) + " kWh/m²"
}

// Text prints a resistance in ohms, under one in milliohms.
func (r Resistance) Text(s Style) string {
	return s.pick(float64(r), part{1, 1, "Ω"}, part{0, 1e-3, "mΩ"})
}

// String prints the quantity in the zero Style; so do those below.
func (l Length) String() string      { return l.Text(Style{}) }
func (a Area) String() string        { return a.Text(Style{}) }
func (v Volume) String() string      { return v.Text(Style{}) }
func (m Mass) String() string        { return m.Text(Style{}) }
func (a Angle) String() string       { return a.Text(Style{}) }
func (r Ratio) String() string       { return r.Text(Style{}) }
func (v Voltage) String() string     { return v.Text(Style{}) }
func (i Current) String() string     { return i.Text(Style{}) }
func (p Power) String() string       { return p.Text(Style{}) }
func (e Energy) String() string      { return e.Text(Style{}) }
func (r Resistance) String() string  { return r.Text(Style{}) }
func (g Irradiance) String() string  { return g.Text(Style{}) }
func (h Irradiation) String() string { return h.Text(Style{}) }
func (v Speed) String() string       { return v.Text(Style{}) }
func (p Pressure) String() string    { return p.Text(Style{}) }
func (f Force) String() string       { return f.Text(Style{}) }
func (k PerKelvin) String() string   { return k.Text(Style{}) }
func (t Temperature) String() string { return t.Text(Style{}) }
func (d TempDiff) String() string    { return d.Text(Style{}) }
