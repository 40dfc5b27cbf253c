package quantity

import "math"

// The physical types. The comment gives the coherent unit of the float64.
type (
	Length       float64 // m
	Area         float64 // m²
	Volume       float64 // m³
	Mass         float64 // kg
	Angle        float64 // rad
	Ratio        float64 // 1
	Voltage      float64 // V
	Current      float64 // A
	Power        float64 // W
	Energy       float64 // J
	Charge       float64 // C
	Resistance   float64 // Ω
	Irradiance   float64 // W/m²
	Irradiation  float64 // J/m²
	Speed        float64 // m/s
	Pressure     float64 // Pa
	Force        float64 // N
	HeatTransfer float64 // W/(m²·K)
	HeatCapacity float64 // J/(m²·K), per area of a plate
	PerKelvin    float64 // 1/K, a relative temperature coefficient or a thermal expansion
)

// Units, by quantity.
const (
	Metre      Length = 1
	Millimetre Length = 1e-3
	Centimetre Length = 1e-2
	Kilometre  Length = 1e3
	Inch       Length = 0.0254 // exact, international inch of 1959
	Foot       Length = 0.3048
	Mile       Length = 1609.344

	SquareMetre      Area = 1
	SquareMillimetre Area = 1e-6
	SquareCentimetre Area = 1e-4
	SquareInch       Area = 0.0254 * 0.0254
	SquareFoot       Area = 0.3048 * 0.3048

	CubicMetre Volume = 1
	Litre      Volume = 1e-3
	Millilitre Volume = 1e-6

	Kilogram Mass = 1
	Gram     Mass = 1e-3
	Pound    Mass = 0.45359237 // exact, avoirdupois

	Radian Angle = 1
	Degree Angle = math.Pi / 180

	One     Ratio = 1
	Percent Ratio = 0.01

	Volt      Voltage = 1
	Millivolt Voltage = 1e-3

	Ampere      Current = 1
	Milliampere Current = 1e-3

	Watt     Power = 1
	Kilowatt Power = 1e3

	Joule        Energy = 1
	WattHour     Energy = 3600
	KilowattHour Energy = 3.6e6

	Coulomb    Charge = 1
	AmpereHour Charge = 3600

	Ohm      Resistance = 1
	Milliohm Resistance = 1e-3

	WattPerSquareMetre Irradiance = 1

	JoulePerSquareMetre        Irradiation = 1
	KilowattHourPerSquareMetre Irradiation = 3.6e6

	MetrePerSecond   Speed = 1
	KilometrePerHour Speed = 1 / 3.6
	MilePerHour      Speed = 0.44704 // exact
	Knot             Speed = 1852.0 / 3600

	Pascal      Pressure = 1
	Hectopascal Pressure = 100
	Kilopascal  Pressure = 1e3

	Newton Force = 1

	WattPerSquareMetreKelvin  HeatTransfer = 1
	JoulePerSquareMetreKelvin HeatCapacity = 1

	PerOneKelvin     PerKelvin = 1
	PercentPerKelvin PerKelvin = 0.01
	PerMillionKelvin PerKelvin = 1e-6
)

// Accessors, by unit.
func (l Length) Metres() float64      { return float64(l) }
func (l Length) Millimetres() float64 { return float64(l) * 1e3 }
func (l Length) Kilometres() float64  { return float64(l) * 1e-3 }

func (a Area) SquareMetres() float64      { return float64(a) }
func (a Area) SquareMillimetres() float64 { return float64(a) * 1e6 }

func (v Volume) CubicMetres() float64 { return float64(v) }
func (v Volume) Millilitres() float64 { return float64(v) * 1e6 }

func (m Mass) Kilograms() float64 { return float64(m) }

func (a Angle) Radians() float64 { return float64(a) }
func (a Angle) Degrees() float64 { return float64(a) * 180 / math.Pi }

func (r Ratio) Float() float64   { return float64(r) }
func (r Ratio) Percent() float64 { return float64(r) * 100 }

func (v Voltage) Volts() float64      { return float64(v) }
func (i Current) Amperes() float64    { return float64(i) }
func (p Power) Watts() float64        { return float64(p) }
func (e Energy) Joules() float64      { return float64(e) }
func (e Energy) WattHours() float64   { return float64(e) / 3600 }
func (q Charge) AmpereHours() float64 { return float64(q) / 3600 }
func (r Resistance) Ohms() float64    { return float64(r) }

func (g Irradiance) WattsPerSquareMetre() float64   { return float64(g) }
func (h Irradiation) JoulesPerSquareMetre() float64 { return float64(h) }
func (h Irradiation) KilowattHoursPerSquareMetre() float64 {
	return float64(h) / 3.6e6
}

func (v Speed) MetresPerSecond() float64   { return float64(v) }
func (v Speed) KilometresPerHour() float64 { return float64(v) * 3.6 }

func (p Pressure) Pascals() float64      { return float64(p) }
func (p Pressure) Hectopascals() float64 { return float64(p) / 100 }

func (f Force) Newtons() float64 { return float64(f) }

func (h HeatTransfer) WattsPerSquareMetreKelvin() float64 { return float64(h) }

func (k PerKelvin) PerKelvin() float64        { return float64(k) }
func (k PerKelvin) PercentPerKelvin() float64 { return float64(k) * 100 }
