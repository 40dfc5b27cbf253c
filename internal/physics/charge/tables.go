package charge

import (
	"noonmark/internal/base/quantity"
)

// Chemistry is a kind of battery. The order is that of the build's.
type Chemistry int

const (
	LFP         Chemistry = iota // lithium iron phosphate
	NMC                          // lithium nickel manganese cobalt
	AGM                          // lead, glass mat or gel
	chemistries = int(AGM) + 1
)

// span is a charge limit from a cell temperature on: of the capacity in an hour, up to a charge.
type span struct {
	from float64 // °C
	rate float64 // 1/h
	upto float64 // charge above which nothing is taken
}

// material is what the chemistry gives.
type material struct {
	spans   []span    // by temperature
	taper   float64   // h: near full the current falls as room over this
	coldest float64   // °C, below which nothing can be drawn
	warmest float64   // °C, above which nothing can be drawn
	cold    []float64 // share of the capacity that can be drawn, at cold's own temperatures
	coldAt  []float64 // °C
	rest    []float64 // rest voltage over nominal, at restAt
	restAt  []float64 // charge
	rise    float64   // relative rise of the voltage for a charge of the capacity in an hour
	most    float64   // highest charging voltage over nominal
	density float64   // kg/kWh
}

// materials by chemistry.
//
// Charge limits of LFP: the lower of a telecom pack's manual and a practitioner's cell table at each
// temperature (trade handbook C2). NMC: the common guideline of reduced current below 10 °C and above
// 45 °C (IEC 62133-2:2017, annex A), figures from memory. AGM: makers' usual 0.25 of the capacity,
// temperature-compensated between -20 and 50 °C, from memory.
//
// Capacity in the cold: LFP 0.85 at 0 °C, 0.70 at -20 °C (handbook C2); NMC and AGM from memory. Rest
// voltages: handbook C4 over 12.8 V and 12 V; NMC from memory over 3.65 V a cell. Taper and rise: our
// own estimates, for 2 to 4 h of absorption of lead and a quarter of an hour of LFP.
var materials = [chemistries]material{
	LFP: {
		spans: []span{{-273.15, 0, 1}, {0, 0.1, 0.8}, {5, 0.1, 1}, {10, 0.2, 1}, {25, 0.5, 1}, {45, 0.2, 1}, {50, 0.1, 1}, {55, 0, 1}},
		taper: 0.25, coldest: -20, warmest: 60,
		cold: []float64{0.55, 0.70, 0.85, 0.95, 1}, coldAt: []float64{-30, -20, 0, 10, 25},
		rest:   []float64{10.5 / 12.8, 12.5 / 12.8, 12.975 / 12.8, 13.175 / 12.8, 13.25 / 12.8, 13.35 / 12.8, 13.55 / 12.8},
		restAt: []float64{0, 0.10, 0.25, 0.50, 0.75, 0.90, 1},
		rise:   0.10, most: 14.4 / 12.8, density: 8,
	},
	NMC: {
		spans: []span{{-273.15, 0, 1}, {0, 0.25, 1}, {10, 0.5, 1}, {45, 0.25, 1}, {60, 0, 1}},
		taper: 0.35, coldest: -20, warmest: 60,
		cold: []float64{0.45, 0.60, 0.80, 0.92, 1}, coldAt: []float64{-30, -20, 0, 10, 25},
		rest:   []float64{3.0 / 3.65, 3.45 / 3.65, 3.56 / 3.65, 3.67 / 3.65, 3.90 / 3.65, 4.06 / 3.65, 4.18 / 3.65},
		restAt: []float64{0, 0.10, 0.25, 0.50, 0.75, 0.90, 1},
		rise:   0.10, most: 4.2 / 3.65, density: 5.5,
	},
	AGM: {
		spans: []span{{-273.15, 0, 1}, {-20, 0.1, 1}, {0, 0.25, 1}, {50, 0, 1}},
		taper: 1, coldest: -40, warmest: 60,
		cold: []float64{0.35, 0.55, 0.80, 0.90, 1}, coldAt: []float64{-40, -20, 0, 10, 25},
		rest:   []float64{11.9 / 12, 12.0 / 12, 12.2 / 12, 12.4 / 12, 12.6 / 12, 12.7 / 12},
		restAt: []float64{0, 0.25, 0.50, 0.75, 0.90, 1},
		rise:   0.50, most: 14.4 / 12, density: 31,
	},
}

func (c Chemistry) material() *material {
	if c < 0 || int(c) >= chemistries {
		panic("charge: unknown chemistry")
	}
	return &materials[c]
}

// along interpolates y over x, rising; it stays at the ends.
func along(x, y []float64, v float64) float64 {
	if v <= x[0] {
		return y[0]
	}
	for i := 1; i < len(x); i++ {
		if v <= x[i] {
			return y[i-1] + (v-x[i-1])/(x[i]-x[i-1])*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

// limit returns the charge limit at a cell temperature, 1/h, for a charge.
func (m *material) limit(celsius, charge float64) float64 {
	i := 0
	for i+1 < len(m.spans) && celsius >= m.spans[i+1].from {
		i++
	}
	if charge >= m.spans[i].upto {
		return 0
	}
	return m.spans[i].rate
}

// ChargeRate returns the current that a chemistry takes at a cell temperature, as a share of the
// capacity in an hour (0.2 is 0.2C), when charge of it is full. No lithium is charged below 0 °C.
// Source: see materials; trade handbook C2 for LFP.
func ChargeRate(c Chemistry, cell quantity.Temperature, charge quantity.Ratio) quantity.Ratio {
	return quantity.Ratio(c.material().limit(cell.Celsius(), charge.Float()))
}

// CapacityShare returns the share of the capacity that can be drawn at a cell temperature. Source: see
// materials. Accuracy 10 % of the capacity.
func CapacityShare(c Chemistry, cell quantity.Temperature) quantity.Ratio {
	m := c.material()
	return quantity.Ratio(along(m.coldAt, m.cold, cell.Celsius()))
}

// RestVoltage returns the voltage of a battery of the given nominal voltage after hours of rest at a
// charge of 0..1, held to that range. A reading says little of the charge of LFP: under 0.2 V on 12.8 V
// lie between 40 and 80 %. Source: trade handbook C4; NMC from memory.
func RestVoltage(c Chemistry, nominal quantity.Voltage, charge quantity.Ratio) quantity.Voltage {
	m := c.material()
	return quantity.Voltage(nominal.Volts() * along(m.restAt, m.rest, charge.Float()))
}

// ChargingVoltage returns the highest voltage a battery of the given nominal voltage is charged to: 14.4 V
// for LFP of 12.8 V and lead of 12 V, 4.2 V a cell for NMC. Common practice, no source.
func ChargingVoltage(c Chemistry, nominal quantity.Voltage) quantity.Voltage {
	return quantity.Voltage(nominal.Volts() * c.material().most)
}

// clamp holds x to lo..hi.
func clamp(x, lo, hi float64) float64 { return min(hi, max(lo, x)) }
