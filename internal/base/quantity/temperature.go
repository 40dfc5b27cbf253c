package quantity

// zeroCelsius is 0 °C in kelvin, exact. Source: SI Brochure, 9th ed. (2019), section 2.3.1.
const zeroCelsius = 273.15

// Temperature is a point on the thermodynamic scale. The zero value is absolute zero.
type Temperature struct{ kelvin float64 }

// TempDiff is a difference of temperatures, in kelvin.
type TempDiff float64

// OneKelvin is the unit of a difference.
const OneKelvin TempDiff = 1

// Celsius returns the temperature of t degrees Celsius.
func Celsius(t float64) Temperature { return Temperature{t + zeroCelsius} }

// Kelvin returns the temperature of t kelvin.
func Kelvin(t float64) Temperature { return Temperature{t} }

// Fahrenheit returns the temperature of t degrees Fahrenheit.
func Fahrenheit(t float64) Temperature { return Celsius((t - 32) / 1.8) }

// Celsius returns the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return t.kelvin - zeroCelsius }

// Kelvin returns the temperature in kelvin.
func (t Temperature) Kelvin() float64 { return t.kelvin }

// Fahrenheit returns the temperature in degrees Fahrenheit.
func (t Temperature) Fahrenheit() float64 { return t.Celsius()*1.8 + 32 }

// Sub returns t - u.
func (t Temperature) Sub(u Temperature) TempDiff { return TempDiff(t.kelvin - u.kelvin) }

// Add returns t + d.
func (t Temperature) Add(d TempDiff) Temperature { return Temperature{t.kelvin + float64(d)} }

// Before reports whether t is colder than u.
func (t Temperature) Before(u Temperature) bool { return t.kelvin < u.kelvin }

// Kelvins returns the difference in kelvin.
func (d TempDiff) Kelvins() float64 { return float64(d) }
