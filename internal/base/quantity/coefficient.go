package quantity

import "strings"

// Coefficient is a temperature coefficient as a label has it: relative, or in the unit of its quantity.
type Coefficient struct {
	value float64 // 1/K, or coherent unit per K
	of    string  // "V", "A", "W"; empty: relative
}

// Per returns the relative coefficient k.
func Per(k PerKelvin) Coefficient { return Coefficient{value: float64(k)} }

// Of returns the symbol of the quantity an absolute coefficient belongs to: "V", "A" or "W"; it is
// empty for a relative one.
func (c Coefficient) Of() string { return c.of }

// Relative returns the coefficient relative to a reference in the coherent unit, the label's volts,
// amperes or watts at 25 °C. It panics on an absolute coefficient with a reference that is not above 0.
func (c Coefficient) Relative(reference float64) PerKelvin {
	if c.of == "" {
		return PerKelvin(c.value)
	}
	if !(reference > 0) {
		panic("quantity: coefficient without a reference")
	}
	return PerKelvin(c.value / reference)
}

// String prints a coefficient as -0.36 %/K or -62 mV/K.
func (c Coefficient) String() string {
	switch c.of {
	case "":
		return number(c.value*100, 0) + " %/K"
	case "W":
		return number(c.value, 0) + " W/K"
	}
	return number(c.value*1e3, 0) + " m" + c.of + "/K"
}

// coefficientUnits are what stands above the stroke of an absolute coefficient.
var coefficientUnits = []struct {
	name, of string
	size     float64
}{{"%", "", 0.01}, {"ppm", "", 1e-6}, {"", "", 1}, {"1", "", 1}, {"mV", "V", 1e-3}, {"V", "V", 1}, {"mA", "A", 1e-3}, {"µA", "A", 1e-6}, {"uA", "A", 1e-6}, {"A", "A", 1}, {"W", "W", 1}, {"mW", "W", 1e-3}}

// Coefficient reads a temperature coefficient.
func (m Manner) Coefficient(text string) (Coefficient, error) {
	t, c, err := m.one(text, "-0.36 %/K")
	if err != nil {
		return Coefficient{}, err
	}
	u := t.unit
	if top, ok := strings.CutSuffix(u, "K-1"); ok {
		u = top + "/K"
	}
	top, bottom, ok := strings.Cut(u, "/")
	scale := map[string]float64{"C": 1, "K": 1, "F": 1.8}[kelvinUnit(bottom)]
	if ok && scale > 0 {
		for _, k := range coefficientUnits {
			if k.name == top || len(top) > 0 && strings.EqualFold(k.name, top) && k.name[0] == top[0] {
				return Coefficient{value: t.value * k.size * scale, of: k.of}, nil
			}
		}
	}
	likely := ""
	switch u {
	case "%", "mV", "mA":
		likely = with(t, u+"/K")
	}
	return Coefficient{}, c.fail("a coefficient per degree, such as -0.36 %/K, -62 mV/K or -0.2 %/°F", likely)
}
