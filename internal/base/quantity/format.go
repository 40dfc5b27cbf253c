package quantity

import "strconv"

// short prints a number with at most digits significant digits and no trailing zeros.
func short(v float64, digits int) string { return strconv.FormatFloat(v, 'g', digits, 64) }

// number prints v with at most 10 significant digits, without an exponent where that is readable.
func number(v float64) string {
	s := short(v, 10)
	if f, err := strconv.ParseFloat(s, 64); err == nil && f != 0 && (f >= 1e-4 || f <= -1e-4) && f < 1e10 && f > -1e10 {
		return strconv.FormatFloat(f, 'f', -1, 64)
	}
	return s
}

// String prints a length in metres, under one metre in millimetres.
func (l Length) String() string {
	if m := float64(l); m > -1 && m < 1 {
		return number(m*1e3) + " mm"
	}
	return number(float64(l)) + " m"
}

// String prints an area in m², under a hundredth of one in mm².
func (a Area) String() string {
	if a > -0.01*SquareMetre && a < 0.01*SquareMetre {
		return number(a.SquareMillimetres()) + " mm²"
	}
	return number(float64(a)) + " m²"
}

func (m Mass) String() string        { return number(float64(m)) + " kg" }
func (a Angle) String() string       { return number(a.Degrees()) + "°" }
func (r Ratio) String() string       { return number(r.Percent()) + " %" }
func (v Voltage) String() string     { return number(float64(v)) + " V" }
func (i Current) String() string     { return number(float64(i)) + " A" }
func (p Power) String() string       { return number(float64(p)) + " W" }
func (e Energy) String() string      { return number(e.WattHours()) + " Wh" }
func (q Charge) String() string      { return number(q.AmpereHours()) + " Ah" }
func (r Resistance) String() string  { return number(float64(r)) + " Ω" }
func (g Irradiance) String() string  { return number(float64(g)) + " W/m²" }
func (h Irradiation) String() string { return number(h.KilowattHoursPerSquareMetre()) + " kWh/m²" }
func (v Speed) String() string       { return number(v.KilometresPerHour()) + " km/h" }
func (p Pressure) String() string    { return number(p.Hectopascals()) + " hPa" }
func (k PerKelvin) String() string   { return number(k.PercentPerKelvin()) + " %/K" }
func (t Temperature) String() string { return number(t.Celsius()) + " °C" }
func (d TempDiff) String() string    { return number(float64(d)) + " K" }
